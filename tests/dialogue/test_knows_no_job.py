"""The conversation knows how to talk. What is talked about, the kinds of step know."""

from __future__ import annotations

import re
from pathlib import Path

import companion.dialogue

ROOM = Path(companion.dialogue.__file__).parent
ANOTHER_ROOMS_WORDS = re.compile(
    r"(?<![a-z])(radar|screw|plate|echo|aim|camera|reflector|windscreen|bumper|visit|odometer)",
    re.IGNORECASE,
)


def test_no_word_of_any_one_job_stands_in_the_dialogue():
    modules = sorted(ROOM.rglob("*.py"))
    assert len(modules) > 15
    found = {
        f"{module.name}:{number}: {line.strip()}"
        for module in modules
        for number, line in enumerate(module.read_text(encoding="utf-8").splitlines(), 1)
        if ANOTHER_ROOMS_WORDS.search(line)
    }
    assert found == set()


def test_the_words_would_be_found():
    for line in ("the aim", "final_aim(state)", "AimRound", "turn_screws", "beside the Radar's"):
        assert ANOTHER_ROOMS_WORDS.search(line), line
    assert not ANOTHER_ROOMS_WORDS.search("a template claims nothing")

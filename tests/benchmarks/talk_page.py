"""Every sentence that a job says, with how long it takes: `python -m tests.benchmarks.talk_page`.

Rendered by the companion's own voice, without the silence at the end. What holds figures is taken
from rehearsals; of sentences that differ in their figures alone the longest stands for all.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

from companion.dialogue.machine import begin
from companion.dialogue.prefetch import texts_ahead
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.job.loader import JobPaths
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, choose_slips, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from tests.benchmarks.talk import FOLDER, kind_of_sentence, sentence_lengths

ROUTES = ("echo_levels", "tool_angle", "tool_turns")
LONGEST_S = 6.0
_MAY_BE_LONGER = ("opening", "result")
_BEGIN, _END = "<!-- sentences -->", "<!-- end of sentences -->"


def sentences(language: str, seeds: int = 2) -> dict[str, str]:
    """Every sentence with what it is for, as `talk` sorts them; "ahead" where none was heard."""
    said = assembly.language(language)
    loaded = assembly.load(JobPaths(), said)
    state = begin(loaded.plan, said)
    found = dict.fromkeys(texts_ahead(state), "ahead")
    for caution in loaded.plan.files.job.cautions:
        found[caution.say] = "opening"
    for seed in range(1, seeds + 1):
        for route in ROUTES:
            heard = _Heard()
            rehearsal = make_rehearsal(
                loaded,
                seed,
                slips=choose_slips(seed, 4),
                spread=HARDER,
                scenario=Scenario(answers={"aim_route": route}),
                language=said,
            )
            run_rehearsal(loaded, said, rehearsal, SilentVoice(), MemoryLog(), watcher=heard)
            found |= heard.said
    return found


class _Heard:
    def __init__(self) -> None:
        self.said: dict[str, str] = {}

    def fact(self, fact: Fact) -> None:
        if isinstance(fact, Said) and fact.text:
            self.said[fact.text] = kind_of_sentence(fact)


def too_long(lengths: Mapping[str, float], kinds: Mapping[str, str]) -> dict[str, float]:
    """The sentences that take longer than they may; cautions and result may take their time."""
    return {
        text: seconds
        for text, seconds in lengths.items()
        if seconds > LONGEST_S and kinds[text] not in _MAY_BE_LONGER
    }


def lengths_of(texts: Mapping[str, str], language: str) -> dict[str, float]:
    """Seconds of each sentence."""
    lengths = sentence_lengths(str(FOLDER), language)
    return {text: lengths.seconds(text) for text in texts}


def rows(language: str) -> Iterator[str]:
    """The lines of the table, the longest sentence first."""
    kinds = sentences(language)
    words = assembly.language(language).vocabulary.numbers.digits
    digits = re.compile(rf"\b({'|'.join(words)})\b", re.IGNORECASE)
    longest: dict[str, tuple[float, str]] = {}
    for text, seconds in lengths_of(kinds, language).items():
        shape = re.sub(r"(#\W*)+", "#", digits.sub("#", text))
        longest[shape] = max(longest.get(shape, (0.0, "")), (seconds, text))
    yield "| seconds | words | figures | sentence |"
    yield "| --- | --- | --- | --- |"
    for seconds, text in sorted(longest.values(), reverse=True):
        figures = len(digits.findall(text))
        yield f"| {seconds:.1f} | {len(text.split())} | {figures} | {text} |"


def main(page: Path) -> None:
    """Renew the list in the page."""
    told = [_BEGIN]
    for language, title in (("en", "English"), ("es", "Spanish")):
        told += ["", f"### {title}", "", *rows(language)]
    text = page.read_text(encoding="utf-8")
    before, _, rest = text.partition(_BEGIN)
    _, _, after = rest.partition(_END)
    page.write_text(before + "\n".join([*told, "", _END]) + after, encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "docs/talk.md"))

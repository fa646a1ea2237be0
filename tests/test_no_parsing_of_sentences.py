"""Nothing in the package reads a sentence that the package made.

Two judges. A whole rehearsal in which every sentence of the conversation is gibberish still ends as
it does in English, and the screen still draws the right pictures. And the rooms that render facts
have no tools to take sentences apart: what they import and call is looked through.
"""

from __future__ import annotations

import ast
import random
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import companion
from companion.dialogue import transaction
from companion.display.fold import Told, take
from companion.display.look import look
from companion.display.moment import Moment, Picture
from companion.facts.instructions import Instruction, MoveStand, TurnScrew
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.job.loader import EXAMPLES, JobPaths
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import (
    HARDER,
    Rehearsed,
    choose_slips,
    make_rehearsal,
    run_rehearsal,
)
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice

PACKAGE = Path(companion.__file__).parent
LETTERS = "bcdfghjklmnpqrstvwxz"
ROUTES = ("echo_levels", "tool_angle", "tool_turns")


class Gibberish:
    """Every sentence by a made-up one, the same for the same sentence: no word of it is English."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)
        self._known: dict[str, str] = {}

    def __call__(self, text: str) -> str:
        if not text:
            return text
        if text not in self._known:
            words = ("".join(self._random.choices(LETTERS, k=5)) for _ in range(4))
            self._known[text] = " ".join(words) + "."
        return self._known[text]


def in_gibberish(monkeypatch: pytest.MonkeyPatch, seed: int) -> Gibberish:
    """From here on the conversation says gibberish in place of every sentence, in all its parts."""
    gibberish = Gibberish(seed)
    ask, announce = transaction.Transaction.ask, transaction.Transaction.announce

    def ask_gibberish(self: Any, step_id: str, text: str, *rest: Any, **named: Any) -> None:
        for name in ("before", "reply", "short"):
            named[name] = gibberish(named.get(name, ""))
        if named.get("spoken") is not None:
            named["spoken"] = gibberish(named["spoken"])
        told = named.get("told")
        if told is not None and told.said_back is not None:
            said_back = replace(told.said_back, spoken=gibberish(told.said_back.spoken))
            named["told"] = replace(told, said_back=said_back)
        if told is not None and told.together:
            together = tuple(replace(t, spoken=gibberish(t.spoken)) for t in told.together)
            named["told"] = replace(told, together=together)
        ask(self, step_id, gibberish(text), *rest, **named)

    def announce_gibberish(self: Any, text: str, *rest: Any, **named: Any) -> None:
        announce(self, gibberish(text), *rest, **named)

    monkeypatch.setattr(transaction.Transaction, "ask", ask_gibberish)
    monkeypatch.setattr(transaction.Transaction, "announce", announce_gibberish)
    return gibberish


def rehearsed(
    seed: int, route: str, mount: str, *, slips: int = 0
) -> tuple[Rehearsed, list[Fact], list[tuple[Instruction | None, Moment]]]:
    """A whole job: how it ended, its facts, and what the screen showed at each prompt."""
    loaded = assembly.load(JobPaths(mount=EXAMPLES / mount))
    log = MemoryLog("a job")
    rehearsal = make_rehearsal(
        loaded,
        seed,
        slips=choose_slips(seed, slips),
        spread=HARDER,
        scenario=Scenario(answers={"aim_route": route}),
    )
    ended = run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    facts = [event.fact for event in log.events("a job")]
    told, moments = Told(), []
    for fact in facts:
        told = take(told, fact)
        if isinstance(fact, Said) and fact.prompt is not None:
            moments.append((fact.prompt.instruction, look(told)))
    return ended, facts, moments


@pytest.mark.parametrize("mount", ["mount.yaml", "mount_three_screws.yaml"])
@pytest.mark.parametrize("route", ROUTES)
def test_a_rehearsal_in_gibberish_ends_as_it_does_in_english(
    monkeypatch: pytest.MonkeyPatch, route: str, mount: str
) -> None:
    for seed in (1, 3):
        english, _, plain = rehearsed(seed, route, mount, slips=3)
        with monkeypatch.context() as patched:
            in_gibberish(patched, seed)
            strange, facts, moments = rehearsed(seed, route, mount, slips=3)
        said = [fact.text for fact in facts if isinstance(fact, Said)]
        assert not any(letter in text for text in said for letter in "aeiouy")
        assert strange.score == english.score
        assert strange.score.companion_said == "inside"
        # Whose word it is on the third route is the scan tool's, as rightly or wrongly as it reads.
        assert strange.score.truly_inside or route == "tool_turns"
        assert [pictures(moment) for _, moment in moments] == [
            pictures(moment) for _, moment in plain
        ]
        for instruction, moment in moments:
            if moment.condition == "doing":
                assert_drawn_as_told(instruction, moment)


def pictures(moment: Moment) -> tuple[str, Picture | None, str, str]:
    """All of the screen that is no sentence."""
    answer = moment.answer.state if moment.answer is not None else ""
    return moment.condition, moment.picture, answer, moment.step_title


def assert_drawn_as_told(instruction: Instruction | None, moment: Moment) -> None:
    picture: Any = moment.picture
    match instruction:
        case MoveStand(quantity, direction, amount, _):
            assert (picture.kind, picture.way) == (quantity, direction)
            assert picture.amount.startswith(f"{amount:f}")
        case TurnScrew():
            (now,) = (turn for turn in picture.turns if turn.state == "now")
            assert now.turns == instruction.clockwise_turns
        case _:
            assert picture is None or type(picture).__name__ == "Cautions" or moment.stages


def test_the_judge_itself_hears_a_sentence_that_is_read(monkeypatch: pytest.MonkeyPatch) -> None:
    """A technician who looks for an English word does not come through in gibberish."""
    from companion.simulation import technician

    answer = technician.Technician._answer

    def by_words(self: Any, said: Said, asks: Any) -> str | None:
        return answer(self, said, asks) if "done" in said.text or asks.answer != "done" else None

    monkeypatch.setattr(technician.Technician, "_answer", by_words)
    ended, _, _ = rehearsed(1, "tool_angle", "mount.yaml")
    assert ended.score.companion_said == "inside"
    in_gibberish(monkeypatch, 1)
    with pytest.raises(Exception, match="gave up"):
        rehearsed(1, "tool_angle", "mount.yaml")


# What renders facts: none of it may take texts apart. Each exception has its reason.
ROOMS = (
    *("display", "simulation", "report", "archive", "statistics", "browse"),
    *("commands/job_screen.py", "runtime/rehearsing.py"),
)
MAY_IMPORT_RE = {
    "archive/query.py": "what a person types into the search",
    "archive/listing.py": "a day that a person types",
    "browse/moments.py": "a day that a person types",
    "report/hearing.py": "levels in the words of records that had no figures for them yet",
}
TAKES_APART = {
    *("startswith", "endswith", "removeprefix", "removesuffix", "partition", "rpartition"),
    *("split", "rsplit", "find", "index", "rfind"),
}
SENTENCES = {"ask", "said", "text", "reply", "spoken", "why", "words"}
"""What facts call their sentences (`before` is theirs too, but also a script's list of acts)."""
MAY_TAKE_APART = {
    ("display/letters.py", "split"): "breaks lines at spaces, and reads its own table of shapes",
    ("display/page.py", "split"): "measures words to find the size that fits",
    ("simulation/sources.py", "split"): "counts the words of the technician to time his speech",
}


def modules() -> Iterator[tuple[str, ast.Module]]:
    for room in ROOMS:
        place = PACKAGE / room
        for path in sorted(place.rglob("*.py")) if place.is_dir() else [place]:
            yield path.relative_to(PACKAGE).as_posix(), ast.parse(path.read_text(encoding="utf-8"))


def test_no_regular_expressions_where_facts_are_rendered() -> None:
    found = {
        name
        for name, tree in modules()
        for node in ast.walk(tree)
        if (isinstance(node, ast.Import) and any(a.name in ("re", "regex") for a in node.names))
        or (isinstance(node, ast.ImportFrom) and node.module in ("re", "regex"))
    }
    assert found == set(MAY_IMPORT_RE)


def named(node: ast.AST) -> str:
    """The last name of an expression: `text` for `fact.text` and for `text.lower()`."""
    match node:
        case ast.Name(id=name):
            return name
        case ast.Attribute(attr=name):
            return name
        case ast.Call(func=ast.Attribute(value=inner)):
            return named(inner)
        case _:
            return ""


def test_no_sentence_of_a_fact_is_taken_apart() -> None:
    found = []
    for name, tree in modules():
        for node in ast.walk(tree):
            match node:
                case ast.Call(func=ast.Attribute(value=of, attr=call)) if call in TAKES_APART:
                    if named(of) in SENTENCES and (name, call) not in MAY_TAKE_APART:
                        found.append((name, node.lineno, call))
                case ast.Compare(ops=ops, comparators=[of, *_]):
                    searched = any(isinstance(op, ast.In | ast.NotIn) for op in ops)
                    if searched and named(of) in SENTENCES:
                        found.append((name, node.lineno, "in"))
                case _:
                    pass
    assert not found


def test_every_sentence_that_the_conversation_makes_has_a_written_form_of_its_own_values() -> None:
    """Figures on the screen come from the values: no number word is left where there is one."""
    _, facts, _ = rehearsed(3, "echo_levels", "mount.yaml")
    instructions = [
        fact
        for fact in facts
        if isinstance(fact, Said) and fact.prompt is not None and fact.prompt.instruction
    ]
    assert instructions
    for said in instructions:
        assert any(sign.isdigit() or sign in "¼½¾" for sign in said.in_writing.ask)
        assert not any(sign.isdigit() for sign in said.text)

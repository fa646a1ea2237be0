"""Every word and phrase of the grammars by itself: who is heard saying it, and who is not.

Each stands at a prompt where a job asks for it; what is no answer by itself ("hundred", "left")
stands in the shortest one that holds it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any

from companion.dialogue.transaction import ALWAYS
from companion.facts.meanings import COMMAND_NAMES
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation, NumberForm
from companion.language.grammar import StepGrammar
from companion.runtime import assembly
from companion.steps.question.model import Question
from tests.benchmarks.common import Results
from tests.spoken import DIRECTIONS

LEVELS = ("clean", "10")
PEOPLE = "people"
_NUMBERS = "word numbers"
_CARRIERS = ("two {}", "two {} five", "two and a {}", "{} turn", "{} of a turn")


@lru_cache(maxsize=1)
def word_prompts() -> dict[str, StepGrammar]:
    """The prompts of this table, by name."""
    grammar = assembly.language()
    questions = [s for s in assembly.load(JobPaths()).plan.steps if isinstance(s, Question)]
    asked = {choice: question.choices for question in questions for choice in question.choices}
    for choice in grammar.choice_ids():
        asked.setdefault(choice, (choice,))
    commands = Expectation(done=True, yes_no=True, commands=COMMAND_NAMES)
    ways = tuple(DIRECTIONS)
    return {
        "word done": grammar.for_step(Expectation(done=True, commands=ALWAYS)),
        "word yes_no": grammar.for_step(Expectation(yes_no=True, commands=ALWAYS)),
        "word commands": grammar.for_step(commands),
        _NUMBERS: grammar.for_step(Expectation(NumberForm("decimal", 4, 2), commands=ALWAYS)),
        "word directions": grammar.for_step(
            Expectation(NumberForm("whole", 2, directions=ways), commands=ALWAYS)
        ),
        "word turns": grammar.for_step(
            Expectation(NumberForm("quarters", 2, units=("turns",)), commands=ALWAYS)
        ),
        **{
            f"word {choice}": grammar.for_step(Expectation(choices=choices, commands=ALWAYS))
            for choice, choices in asked.items()
        },
    }


@lru_cache(maxsize=1)
def word_sayings() -> tuple[tuple[str, str], ...]:
    """Prompt and text of everything that is said, each text once."""
    found: dict[str, str] = {}
    for step, grammar in word_prompts().items():
        phrases = [p for p in grammar.phrases() if grammar.parse(p) is not None]
        single = [w for w in sorted(grammar.words()) if w not in phrases]
        carried = [_carried(grammar, word) for word in single if step in _CARRYING]
        for text in (*phrases, *(text for text in carried if text)):
            found.setdefault(text, step)
    return tuple((step, text) for text, step in found.items())


_CARRYING = (_NUMBERS, "word directions", "word turns")


def _carried(grammar: StepGrammar, word: str) -> str:
    texts = [carrier.format(word) for carrier in _CARRIERS]
    return next((text for text in texts if grammar.parse(text) is not None), "")


def by_word(answers: Iterable[Any], groups: Mapping[str, Sequence[str]]) -> Results:
    """For each text and group of voices: right, refused, wrong, n; and the same by `levels`."""
    group_of = {voice: group for group, voices in groups.items() for voice in voices}
    told: Results = {}
    for answer in answers:
        group = group_of.get(answer.speaker, PEOPLE)
        whole = told.setdefault(answer.said, {}).setdefault(group, {**_NONE, "levels": {}})
        for cell in (whole, whole["levels"].setdefault(answer.level, {**_NONE})):
            cell[answer.result] += 1
            cell["n"] += 1
    return told


_NONE = {"right": 0, "refused": 0, "wrong": 0, "n": 0}

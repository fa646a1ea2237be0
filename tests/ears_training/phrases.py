"""What is said in training: phrases of the real prompts, single words, and other words."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pocketsphinx

from companion.dialogue.asking import DONE, PAUSED, STOPPED, YES_NO
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation, NumberForm
from companion.language.meanings import COMMAND_NAMES
from companion.runtime import assembly
from companion.steps.checklist.model import Checklist
from companion.steps.instruction.model import Instruction
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from tests.expecting import confirmation_of, expectation_of
from tests.spoken import DIRECTIONS, UNITS

OTHER = "<other>"
"""Stands in the labels for any word that no prompt knows."""

HELD_OUT_WORDS = frozenset({"backward", "bird", "house", "learn", "tree", "visual", "wow"})
"""Other words that no training ever uses: what is refused of them was refused unseen."""

SPARE_WORDS = (
    "accept",
    "affirmative",
    "around",
    "ask",
    "axle",
    "bad",
    "because",
    "begin",
    "body",
    "both",
    "bounce",
    "camera",
    "cancel",
    "centimetre",
    "centimetres",
    "check",
    "close",
    "closed",
    "cold",
    "complete",
    "completed",
    "delete",
    "different",
    "digit",
    "digits",
    "distance",
    "fail",
    "false",
    "first",
    "floor",
    "front",
    "good",
    "ground",
    "head",
    "height",
    "help",
    "higher",
    "hold",
    "hot",
    "inch",
    "inches",
    "inside",
    "keyboard",
    "last",
    "later",
    "level",
    "lift",
    "listen",
    "lock",
    "locked",
    "loose",
    "loud",
    "lower",
    "mark",
    "minus",
    "missing",
    "more",
    "name",
    "neither",
    "next",
    "number",
    "okay",
    "open",
    "other",
    "outside",
    "pass",
    "pause",
    "pedal",
    "percent",
    "photo",
    "plus",
    "pressure",
    "read",
    "ready",
    "rear",
    "reject",
    "report",
    "roger",
    "same",
    "scan",
    "screen",
    "second",
    "settled",
    "show",
    "sign",
    "skip",
    "slow",
    "spell",
    "start",
    "status",
    "steady",
    "sure",
    "swapped",
    "test",
    "third",
    "tight",
    "time",
    "true",
    "tyre",
    "undo",
    "warm",
    "why",
)
"""Learned beside the bay's own, so that a prompt to come may use them without a new head."""

ACKNOWLEDGEMENTS = (
    *("done", "all done", "finished", "okay", "ready", "next", "complete", "yes", "no", "stop"),
    *("correct", "wrong", "continue", "wait", "repeat", "go back", "carry on", "negative"),
)
"""What a technician says most, by itself, and nearly all of it recorded by nobody."""

_LONGEST_SEQUENCE = 4


@dataclass(frozen=True)
class Said:
    """A text for a speaker and its label, word by word."""

    text: str
    label: tuple[str, ...]


def number_forms() -> tuple[NumberForm, ...]:
    """Wide forms that use every number rule, every direction and every unit."""
    directions = tuple(DIRECTIONS)
    return (
        NumberForm("whole", 1),
        NumberForm("whole", 3),
        NumberForm("whole", 3, digits_only=True),
        NumberForm("whole", 3, directions=directions, units=("mm",)),
        NumberForm("whole", 4, units=("mm",)),
        NumberForm("whole", 2, directions=directions, units=("mm",)),
        NumberForm("decimal", 2, 2, directions, ("deg",)),
        NumberForm("decimal", 2, 1, directions, ("mm_per_m",)),
        *(NumberForm("decimal", 2, 1, units=(u,)) for u in UNITS if u not in ("turns", "mm")),
        NumberForm("quarters", 2, directions=directions, units=("turns",)),
    )


def job_expectations() -> tuple[Expectation, ...]:
    """Every prompt of the shipped job, its read-backs, and the prompts outside its steps."""
    found: list[Expectation] = [DONE, YES_NO, PAUSED, STOPPED]
    for step in assembly.load(JobPaths()).plan.steps:
        if isinstance(step, Reading | Question | Instruction | Checklist):
            found += [expectation_of(step), expectation_of(step, digits_only=True)]
        if isinstance(step, Reading | Question):
            found.append(confirmation_of(step))
    choices = assembly.language().choice_ids()
    found += [Expectation(choices=(choice,)) for choice in choices]
    return tuple(dict.fromkeys(found))


def bay_words() -> tuple[str, ...]:
    """Every word of every prompt, sorted."""
    grammar = assembly.language()
    wide = [Expectation(f, done=True, yes_no=True, commands=COMMAND_NAMES) for f in number_forms()]
    words: set[str] = set()
    for expectation in (*job_expectations(), *wide):
        words |= grammar.for_step(expectation).words()
    return tuple(sorted(words))


def other_words() -> dict[str, set[str]]:
    """Plain words of the packaged pronouncing dictionary with the ways to say each.

    None is used by any prompt or any test.
    Words that sound like one of a prompt ("won", "ate") are left out: no ear tells them apart.
    """
    known, phones = frozenset({*bay_words(), *SPARE_WORDS}), _dictionary()
    taken = {said for word in known for said in phones.get(word, ())}
    return {
        word: ways
        for word, ways in sorted(phones.items())
        if word.isalpha() and 2 <= len(word) <= 9 and not ways & taken
        if word not in known and word not in HELD_OUT_WORDS
    }


def near_words(others: dict[str, set[str]]) -> tuple[str, ...]:
    """Those of the other words that differ from one of the bay's by a single sound."""
    known = frozenset(bay_words())
    near: set[str] = set()
    for word, ways in _dictionary().items():
        if word in known:
            near |= {form for way in ways for form in _with_a_gap(way)}
    return tuple(
        word
        for word, ways in others.items()
        if len(word) > 2 and any(not near.isdisjoint(_with_a_gap(way)) for way in ways)
    )


def _with_a_gap(way: str) -> set[str]:
    """The sounds with each one made free, and with one more allowed at each place."""
    sounds = way.split()
    if len(sounds) < 2:
        return set()
    free = {" ".join((*sounds[:n], "*", *sounds[n + 1 :])) for n in range(len(sounds))}
    return free | {" ".join((*sounds[:n], "*", *sounds[n:])) for n in range(len(sounds) + 1)}


@cache
def _dictionary() -> dict[str, set[str]]:
    path = Path(pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"))
    phones: dict[str, set[str]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        word, _, said = line.partition(" ")
        phones.setdefault(word.partition("(")[0], set()).add(said.strip())
    return phones


class PhraseMaker:
    """Random phrases with their labels; everything follows from the generator it is given."""

    def __init__(self) -> None:
        grammar = assembly.language()
        self._numbers = [grammar.for_step(Expectation(form)) for form in number_forms()]
        self._steps = [grammar.for_step(e) for e in job_expectations()]
        self._words = tuple(sorted({*bay_words(), *SPARE_WORDS}))
        self._known = frozenset(self._words)
        others = other_words()
        self._others = tuple(others)
        self._near = near_words(others)

    def one(self, generator: random.Random) -> Said:
        """A reading (a third of the time), an answer or command, single words, or other words."""
        kind = generator.choices(
            ("reading", "answer", "step", "word", "sequence", "other", "near", "mixed"),
            (33, 14, 12, 13, 8, 9, 7, 4),
        )[0]
        match kind:
            case "answer":
                return self._label(generator.choice(ACKNOWLEDGEMENTS))
            case "reading":
                return self._label(generator.choice(self._numbers).generate(generator)[0])
            case "step":
                return self._label(generator.choice(self._steps).generate(generator)[0])
            case "word":
                return self._label(generator.choice(self._words))
            case "sequence":
                # In any order: the order of the grammar must not be learned by heart.
                return self._label(" ".join(self._some(self._words, generator)))
            case "other":
                return self._label(" ".join(self._some(self._others, generator)))
            case "near":
                return self._label(generator.choice(self._near))
            case _:
                mixed = self._some(self._words, generator) + self._some(self._others, generator)
                generator.shuffle(mixed)
                return self._label(" ".join(mixed[:_LONGEST_SEQUENCE]))

    def _some(self, words: Sequence[str], generator: random.Random) -> list[str]:
        return generator.choices(words, k=generator.randint(1, _LONGEST_SEQUENCE))

    def _label(self, text: str) -> Said:
        return Said(text, tuple(w if w in self._known else OTHER for w in text.split()))

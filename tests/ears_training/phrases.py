"""What is said in training: phrases of the real prompts, single words, and other words."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pocketsphinx

from companion.dialogue.asking import DONE, PAUSED, STOPPED, YES_NO
from companion.facts.meanings import COMMAND_NAMES
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation, NumberForm
from companion.runtime import assembly
from companion.steps.checklist.model import Checklist
from companion.steps.instruction.model import Instruction
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from tests.ears_training.sayings import SAYINGS
from tests.expecting import confirmation_of, expectation_of
from tests.spoken import DIRECTIONS, UNITS

OTHER = "<other>"
"""Stands in the labels for any word that no prompt knows."""

HELD_OUT_WORDS = frozenset({"backward", "bird", "house", "learn", "tree", "visual", "wow"})
"""Other words that no training ever uses: what is refused of them was refused unseen."""

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


@cache
def job_expectations(language: str = "en") -> tuple[Expectation, ...]:
    """Every prompt of the shipped job, its read-backs, and the prompts outside its steps."""
    found: list[Expectation] = [DONE, YES_NO, PAUSED, STOPPED]
    for step in assembly.load(JobPaths(), assembly.language(language)).plan.steps:
        if isinstance(step, Reading | Question | Instruction | Checklist):
            found += [expectation_of(step), expectation_of(step, digits_only=True)]
        if isinstance(step, Reading | Question):
            found.append(confirmation_of(step))
    choices = assembly.language(language).choice_ids()
    found += [Expectation(choices=(choice,)) for choice in choices]
    return tuple(dict.fromkeys(found))


@cache
def bay_words(language: str = "en") -> tuple[str, ...]:
    """Every word of every prompt, sorted."""
    grammar = assembly.language(language)
    wide = [Expectation(f, done=True, yes_no=True, commands=COMMAND_NAMES) for f in number_forms()]
    words: set[str] = set()
    for expectation in (*job_expectations(language), *wide):
        words |= grammar.for_step(expectation).words()
    return tuple(sorted(words))


@cache
def known_words(language: str = "en") -> tuple[str, ...]:
    """Every word that the heads of a language know, sorted."""
    return tuple(sorted({*bay_words(language), *SAYINGS[language].words()}))


@cache
def whole_phrases(language: str = "en") -> tuple[str, ...]:
    """Every answer, choice and command of the grammars in full, and those to come, each once."""
    grammar = assembly.language(language)
    asked = [Expectation(done=True, yes_no=True, commands=COMMAND_NAMES)]
    asked += [Expectation(choices=(choice,)) for choice in grammar.choice_ids()]
    found = [phrase for each in asked for phrase in grammar.for_step(each).phrases()]
    coming = [phrase for phrase in SAYINGS[language].coming if "{n}" not in phrase]
    return tuple(dict.fromkeys((*found, *coming)))


def other_words() -> dict[str, set[str]]:
    """Plain words of the packaged pronouncing dictionary with the ways to say each.

    None is used by any prompt or any test.
    Words that sound like one of a prompt ("won", "ate") are left out: no ear tells them apart.
    """
    known, phones = frozenset(known_words()), _dictionary()
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


_KINDS = {
    "reading": 26,
    "phrase": 17,
    "answer": 8,
    "step": 6,
    "word": 15,
    "coming": 2,
    "sequence": 7,
    "other": 9,
    "near": 6,
    "mixed": 4,
}
"""How often each sort of phrase is drawn. Within `phrase` and `word` all are drawn alike, so that
none goes under: "end the job" did."""


class PhraseMaker:
    """Random phrases with their labels; everything follows from the generator it is given."""

    def __init__(self, language: str = "en") -> None:
        grammar = assembly.language(language)
        self._sayings = SAYINGS[language]
        self._numbers = [grammar.for_step(Expectation(form)) for form in number_forms()]
        self._steps = [grammar.for_step(e) for e in job_expectations(language)]
        self._phrases = whole_phrases(language)
        self._coming = [phrase for phrase in self._sayings.coming if "{n}" in phrase]
        self._words = tuple(w for w in known_words(language) if w not in self._sayings.same_sound)
        self._known = frozenset(known_words(language))
        others = other_words() if language == "en" else {}
        self._others = tuple(others) or tuple(
            word for word in dict.fromkeys(self._sayings.others) if word not in self._known
        )
        self._near = near_words(others) if others else self._others

    def one(self, generator: random.Random) -> Said:
        """A reading (a quarter of the time), a phrase, single words, or other words."""
        kind = generator.choices(tuple(_KINDS), tuple(_KINDS.values()))[0]
        match kind:
            case "answer":
                return self._label(generator.choice(self._sayings.often))
            case "reading":
                return self._label(self._number(generator))
            case "phrase":
                return self._label(generator.choice(self._phrases))
            case "coming":
                return self._label(generator.choice(self._coming).format(n=self._number(generator)))
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

    def _number(self, generator: random.Random) -> str:
        return generator.choice(self._numbers).generate(generator)[0]

    def _some(self, words: Sequence[str], generator: random.Random) -> list[str]:
        return generator.choices(words, k=generator.randint(1, _LONGEST_SEQUENCE))

    def _label(self, text: str) -> Said:
        words = text.split()
        spoken = " ".join(self._sayings.spoken_as.get(word, word) for word in words)
        return Said(spoken, tuple(word if word in self._known else OTHER for word in words))

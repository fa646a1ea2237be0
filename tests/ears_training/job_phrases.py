"""What whole jobs say, for training: as often as rehearsals say it, and what is heard worst."""

from __future__ import annotations

import random
from functools import cache

from companion.facts.meanings import Pair
from companion.language.expectation import Expectation, NumberForm
from companion.language.grammar import StepGrammar
from companion.runtime import assembly
from tests.benchmarks.ears_job_words import answers_of
from tests.benchmarks.rehearse import Job
from tests.ears_training.phrases import PhraseMaker, Said

_JOBS = ("front_radar", "forward_camera", "rear_corner_radar", "surround_mats")
_FIRST_SEED, _REHEARSED = 1001, 12
"""The list that is scored comes of the seeds from 1 to 30."""
_KINDS = {
    "pair": 30,
    "drawn pair": 12,
    "answer": 21,
    "short": 15,
    "tens": 5,
    "often": 3,
    "teens": 8,
    "slope": 3,
    "minutes": 3,
}
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"),
    *("eighteen", "nineteen"),
)
_ONES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_WAYS = ("left", "right", "up", "down", "in", "out", "towards", "away", "forwards", "backwards")
_TURNED = ("clockwise", "anticlockwise", "clockwise", "anticlockwise", "counterclockwise")
_SLOPES = ("millimetres per metre", "millimetres per metre", "millimetre per metre")
_HALVES = ("half", "half a turn", "half turn", "a half", "{} and a half", "{} and a half turns")


@cache
def rehearsed_answers() -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """Sort and text of all answers of the rehearsed jobs, and those of them that say two things."""
    answers = tuple(
        (sort, text)
        for name in _JOBS
        for seed in range(_FIRST_SEED, _FIRST_SEED + _REHEARSED)
        for sort, text, _ in answers_of(Job(seed, 1.25, None, name=name))
    )
    return answers, tuple(text for sort, text in answers if sort in ("pair", "confirmed"))


@cache
def _pair_grammars() -> tuple[StepGrammar, ...]:
    forms = (
        NumberForm("whole", 3, directions=("left", "right"), units=("mm",)),
        NumberForm("whole", 3, units=("mm",)),
        NumberForm("decimal", 2, 1, units=("db",)),
        NumberForm("decimal", 1, 2, directions=("in", "out"), units=("deg",)),
        NumberForm("decimal", 1, 1, directions=("in", "out"), units=("mm",)),
        NumberForm("whole", 3, directions=("up", "down"), units=("mm",)),
        NumberForm("whole", 3, digits_only=True),
    )
    return tuple(assembly.language().for_step(Expectation(form, pair=True)) for form in forms)


class JobPhraseMaker(PhraseMaker):
    """Answers of rehearsed jobs, two readings in one breath, and the short ones heard worst."""

    def one(self, generator: random.Random) -> Said:
        """One of them."""
        (kind,) = generator.choices(tuple(_KINDS), tuple(_KINDS.values()))
        return self._label(self._text(kind, generator))

    def _text(self, kind: str, generator: random.Random) -> str:
        answers, pairs = rehearsed_answers()
        match kind:
            case "pair":
                return generator.choice(pairs)
            case "drawn pair":
                return _drawn_pair(generator)
            case "answer":
                # Yes is said so often that it would leave nothing for the others.
                sort, text = generator.choice(answers)
                while sort == "yes" and generator.random() < _LESS_YES:
                    sort, text = generator.choice(answers)
                return text
            case "short":
                number = generator.choice((*_ONES, *_ONES, *_TENS))
                return generator.choice((f"{number} oh", *(f"{number} {way}" for way in _WAYS)))
            case "tens":
                tens, one = generator.choice(_TENS), generator.choice(_ONES)
                halves = generator.choice(_HALVES).format(one)
                return generator.choice((tens, tens, halves, f"{tens} {one}", f"one {tens}"))
            case "teens":
                return _teens(generator)
            case "slope":
                way = generator.choice(("away", "towards"))
                tenths = generator.choice((*_ONES, "zero"))
                slope = f"zero point {tenths} {generator.choice(_SLOPES)} {way}"
                return generator.choice((slope, slope, "tool angle"))
            case "minutes":
                return _minutes(generator)
            case _:
                return generator.choice(self._sayings.often)


_LESS_YES = 0.8


def _teens(generator: random.Random) -> str:
    """Teens by themselves, which a hearing of their tens or of their ones alone comes near to."""
    teen, one = generator.choice(_TEENS), generator.choice(_ONES)
    turned = generator.choice(_TURNED)
    return generator.choice(
        (
            *(teen, teen, teen, teen, "half", "half"),
            *(f"{teen} {generator.choice(_WAYS)}", f"{teen} millimetres", f"{one} {teen}"),
            *(f"{one} {turned}", f"half {turned}", f"{one} and a half {turned}"),
        )
    )


def _minutes(generator: random.Random) -> str:
    """Toe as a sheet gives it: minutes, or degrees and minutes."""
    count = generator.choice(
        (*_ONES, *_TEENS, *(f"{tens} {one}" for tens in _TENS[:4] for one in ("", *_ONES)))
    )
    way = generator.choice(("", " in", " out"))
    minutes = f"{count} minute{'s' if count != 'one' else ''}{way}"
    degrees = f"{generator.choice(('zero', 'zero', 'one'))} degrees {minutes}"
    text = generator.choice((minutes, minutes, degrees, "minutes"))
    return " ".join(text.split())


def _drawn_pair(generator: random.Random) -> str:
    grammar = generator.choice(_pair_grammars())
    while True:
        text, meaning = grammar.generate(generator)
        if isinstance(meaning, Pair):
            return text

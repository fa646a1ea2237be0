"""How the report says numbers, directions and answers: words for signs, uncertainty beside value.

All words come from the language; what is worked out here is how many decimals there are.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from companion.facts.ending import DriftNoticed
from companion.facts.figures import Quantity
from companion.facts.message import Arg
from companion.facts.opening import Opened
from companion.language.loader import REFERENCE
from companion.language.words import Words

MINUS = "\u2212"
COVERAGE_FACTOR = 2
"""Behind every "±", on paper, on the screen and in speech: U = k u, about 95 % of a normal one."""
_MOST_QUOTED = 800
"""Signs of one utterance that a line shows; the record has them all."""
_MOST_SURE, _LEAST_SURE = 0.999, 0.001
_UNITS_ENDED_WITH = ("deg", "mm", "db", "m")
_UNITS_BEFORE = {"degree": "deg", "degrees": "deg", "dB": "db", "volts": "volt"}
"""Units as older records name them."""


@dataclass(frozen=True)
class Name:
    """A result's title, and the words for its positive and negative direction (if it has any)."""

    title: str
    positive: str = ""
    negative: str = ""


class Wording:
    """Says figures and facts of one job in one language.

    `opened`: the job that is told of, whose file has the titles of its steps.
    """

    def __init__(self, words: Words, opened: Opened | None = None) -> None:
        self.words = words
        self._opened = opened or Opened()
        job = self._opened.job_told
        self._titles = {step.id: step.title for step in job.steps() if step.title}
        self._screws = self._opened.screw_names
        self._names: dict[str, Name] = {}

    def __call__(self, id_: str, **args: Arg) -> str:
        return self.words(id_, **args)

    def of(self, opened: Opened) -> Wording:
        """The same language, told of this job."""
        return Wording(self.words, opened)

    @property
    def not_recorded(self) -> str:
        """What stands where a record holds nothing."""
        return self("not-recorded")

    def yes_or_no(self, told: bool) -> str:
        """In words."""
        return self("yes" if told else "no")

    def quoted(self, words: str) -> str:
        """What somebody said or typed, in quotation marks; of long words their beginning alone."""
        shown = words if len(words) <= _MOST_QUOTED else f"{words[:_MOST_QUOTED]}…"
        return self("line-quoted", words=shown)

    # Names.

    def name_of(self, name: str) -> Name:
        """The known name, also of one with a place before it: "left_run_out_deg" is the left one's.

        Its title is "" where neither is known.
        """
        if name not in self._names:
            self._names[name] = self._name_of(name)
        return self._names[name]

    def _name_of(self, name: str) -> Name:
        if name in _quantities(self.words):
            return self._named(name)
        endings = [known for known in _quantities(self.words) if name.endswith(f"_{known}")]
        if not endings:
            return Name("")
        ending = max(endings, key=len)
        known = self._named(ending)
        place = self.words.named("where-", name.removesuffix(f"_{ending}"))
        title = self("title-at", title=known.title, place=place)
        return Name(title, known.positive, known.negative)

    def _named(self, name: str) -> Name:
        ways = (f"positive-{name}", f"negative-{name}")
        positive, negative = (self(way) if self.words.has(way) else "" for way in ways)
        return Name(self(f"quantity-{name}"), positive, negative)

    def title_of(self, name: str) -> str:
        """The title of a named result; an unknown one is its name without the unit."""
        known = self.name_of(name)
        if known.title:
            return known.title
        stem, _, ending = name.rpartition("_")
        spoken = stem if stem and ending in _UNITS_ENDED_WITH else name
        return spoken.replace("_", " ").strip().capitalize() or self("title-unknown")

    def drifted(self, drift: DriftNoticed) -> str:
        """What the watch over a bay noticed with a job."""
        what, since = self.title_of(drift.measure), drift.since_utc[:10]
        if drift.bay:
            return self("line-drift", what=what, where=drift.bay, since=since)
        return self("line-drift-here", what=what, since=since)

    def step(self, step_id: str) -> str:
        """A step's title; where the job's file has none, its name in the language."""
        return self._titles.get(step_id) or self.words.named("step-", step_id)

    def screw(self, screw_id: str) -> str:
        """How a screw is spoken of."""
        return self._screws.get(screw_id, screw_id).replace("_", " ")

    def ending(self, result: str) -> str:
        """How a job ended, in one or two words."""
        return self.words.named("ending-", result)

    def answer(self, answer: str) -> str:
        """A decision's answer."""
        return self.words.named("answer-", answer) if answer else self.not_recorded

    def refusal(self, reason: str) -> str:
        """Why nothing was taken; the record's own word where none stands here."""
        return self.words.named("refused-", reason)

    # Figures.

    def unit(self, unit: str) -> str:
        """The unit as it is written behind a number."""
        return self.words.unit(_UNITS_BEFORE.get(unit, unit))

    def number(self, value: float, decimals: int) -> str:
        """Fixed decimals, a true minus sign, and no minus before zero."""
        digits = f"{abs(value):.{decimals}f}"
        told = self.words.decimals(digits)
        return f"{MINUS}{told}" if value < 0 and float(digits) != 0 else told

    def with_unit(self, digits: str, unit: str) -> str:
        """Number and unit; the degree sign stands close, others after a gap."""
        sign = self.unit(unit)
        return digits + ("" if sign in ("", "°") else "\u00a0") + sign

    def amount(self, quantity: Quantity, name: str = "", decimals: int | None = None) -> str:
        """The value with a word for its direction ("0.42° left"), a sign only where no word is."""
        if quantity.value is None:
            return self.not_recorded
        places = decimals_for(quantity.u) if decimals is None else decimals
        known = self.name_of(name)
        value = abs(quantity.value) if known.positive else quantity.value
        told = self.with_unit(self.number(value, places), quantity.unit)
        return f"{told} {_direction(known, quantity.value, places)}".strip()

    def uncertainty(self, quantity: Quantity) -> str:
        """The standard uncertainty to two figures."""
        return self._uncertainty(quantity, 1)

    def expanded(self, quantity: Quantity) -> str:
        """The expanded uncertainty, U = k u, to two figures."""
        return self._uncertainty(quantity, COVERAGE_FACTOR)

    def _uncertainty(self, quantity: Quantity, factor: int) -> str:
        if quantity.u is None:
            return self.not_recorded
        places = decimals_for(factor * quantity.u)
        return self.with_unit(self.number(factor * quantity.u, places), quantity.unit)

    def amount_with_uncertainty(self, quantity: Quantity, name: str = "") -> str:
        """Value, expanded uncertainty, unit and direction in one: "0.420 ± 0.062° left"."""
        if quantity.value is None or quantity.u is None:
            return self.amount(quantity, name)
        places = decimals_for(COVERAGE_FACTOR * quantity.u)
        known = self.name_of(name)
        told = self.number(abs(quantity.value) if known.positive else quantity.value, places)
        direction = _direction(known, quantity.value, places)
        return f"{told} ±\u00a0{self.expanded(quantity)} {direction}".strip()

    def limits(self, low: float | None, high: float | None, unit: str, name: str = "") -> str:
        """The allowed band in words: "within 0.50°" when it lies evenly about zero."""
        places = max(_places(low), _places(high))

        def end(value: float) -> str:
            return self.with_unit(self.number(value, places), unit)

        if low is None and high is None:
            return self.not_recorded
        if low is None:
            return self("limits-at-most", high=end(high or 0.0))
        if high is None:
            return self("limits-at-least", low=end(low))
        if math.isclose(low, -high):
            return self("limits-within", high=end(abs(high)))
        ends = [self.amount(Quantity(value, None, unit), name, places) for value in (low, high)]
        return self("limits-from-to", low=ends[0], high=ends[1])

    def limits_about_zero(self, half_width: float | None, unit: str, name: str = "") -> str:
        """The band that lies evenly about zero, in words."""
        return self.limits(None if half_width is None else -half_width, half_width, unit, name)

    def percent(self, probability: float | None) -> str:
        """A probability in percent; never 0 or 100, which nobody can know."""
        if probability is None:
            return self.not_recorded
        if probability > _MOST_SURE:
            return self("percent-over", percent=self.number(100 * _MOST_SURE, 1))
        if probability < _LEAST_SURE:
            return self("percent-under", percent=self.number(100 * _LEAST_SURE, 1))
        return self("percent", percent=self.number(100 * probability, 1))

    def share(self, percent: float, decimals: int = 0) -> str:
        """A part of a whole that is given in percent."""
        return self("percent", percent=self.number(percent, decimals))

    def turns(self, turns: Fraction) -> str:
        """ "2¾ turns clockwise", "not turned"."""
        if turns == 0:
            return self("not-turned")
        way = "clockwise" if turns > 0 else "anticlockwise"
        return self("turned", turns=self.words.turns(turns), way=way)

    def joined(self, items: list[str], last: str = "and") -> str:
        """A list in a sentence: "a, b and c"."""
        lists = self.words.language.vocabulary.lists
        joined = lists.disjunction if last == "or" else lists.conjunction
        return self.words.language.speaker.say_list(items, joined)


@cache
def wording_in(code: str = REFERENCE) -> Wording:
    """The wording of a language, of no job in particular; English where there is no such one."""
    return Wording(Words(code))


def wording_of(opened: Opened, code: str = "") -> Wording:
    """The wording of a job: in the language that it was done in, unless another is asked for."""
    return wording_in(code or opened.language).of(opened)


def decimals_for(u: float | None, fallback: int = 2) -> int:
    """Decimals that show two figures of the uncertainty."""
    if u is None or u <= 0 or not math.isfinite(u):
        return fallback
    return min(6, max(0, 1 - math.floor(math.log10(u))))


def day(at_utc: str) -> str:
    """The day of a stamp."""
    return at_utc[:10]


def clock_time(at_utc: str) -> str:
    """Hours, minutes and seconds of a stamp."""
    return at_utc[11:19]


def spaced_hash(sha256: str) -> str:
    """A hash in groups of eight, to be compared by eye."""
    return " ".join(sha256[start : start + 8] for start in range(0, len(sha256), 8))


@cache
def _quantities(words: Words) -> tuple[str, ...]:
    """The names of results that a language has a title for."""
    return tuple(words.known("quantity-"))


def _direction(name: Name, value: float, places: int) -> str:
    """The word for the way that it points; none for what is zero as it is shown."""
    if not name.positive or float(f"{abs(value):.{places}f}") == 0:
        return ""
    return name.positive if value > 0 else name.negative


def _places(value: float | None) -> int:
    if value is None:
        return 0
    _, _, behind = f"{value:.4f}".rstrip("0").partition(".")
    return len(behind)

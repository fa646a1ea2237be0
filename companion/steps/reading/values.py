"""A reading's number: its sign, its uncertainty, and whether it can be right."""

from __future__ import annotations

import math
from decimal import Decimal

from companion.dialogue.state import TakenReading
from companion.facts.meanings import Number
from companion.facts.message import Amount
from companion.language.expectation import NumberForm
from companion.steps.reading.model import Reading
from companion.uncertainty.measured import resolution_u

_EXAMPLE_PART = Decimal("0.125")


def number_form(step: Reading, *, digits_only: bool = False) -> NumberForm:
    """How the words describe the number that this reading asks for."""
    return NumberForm(
        style=step.number.style,
        max_whole_digits=step.number.whole_digits,
        decimals=step.number.decimals,
        directions=step.number.directions,
        units=(step.unit,),
        digits_only=digits_only and step.number.style != "quarters",
    )


def reading_u(step: Reading) -> float:
    """Standard uncertainty of one reading: its resolution's and the rest, in its unit."""
    return math.hypot(resolution_u(step.resolution), step.doubt)


def as_taken(step: Reading, value: Decimal, amount: Amount, take: int) -> TakenReading:
    """One take of the reading with the parts of its uncertainty."""
    return TakenReading(value, amount, take, reading_u(step), step.resolution, step.scatters)


def signed(step: Reading, meaning: Number) -> Decimal:
    """The heard number with its sign: the first of the pair of directions counts as positive."""
    directions = step.number.directions
    negative = bool(directions) and meaning.direction == directions[1]
    return -meaning.value if negative else meaning.value


def is_plausible(step: Reading, meaning: Number) -> bool:
    """Whether the heard number lies in the range that the job file gives for it."""
    low, high = step.plausible
    return low <= signed(step, meaning) <= high


def example(step: Reading) -> Number:
    """A number that would not be doubted, near an end of the range: nobody shall take it for his.

    As plain as the number can be said: "250 mm", "0.1° in".
    """
    low, high = step.plausible
    finest = smallest_step(step)
    directions = step.number.directions
    way = max(low, high, key=abs) if directions else high
    at = Decimal(str(way)) * _EXAMPLE_PART
    if not directions:
        at = Decimal(str(low)) + Decimal(str(high - low)) * _EXAMPLE_PART
    size = max((abs(at) / finest).to_integral_value(), Decimal(1)) * finest
    direction = directions[0 if way > 0 else 1] if directions else None
    found = Number(size, direction, step.unit)
    if is_plausible(step, found):
        return found
    usual = Decimal(str(typical(step))) / finest
    size = abs(usual.to_integral_value()) * finest
    return Number(size, direction if size else None, step.unit)


def smallest_step(step: Reading) -> Decimal:
    """As finely as the number can be said."""
    match step.number.style:
        case "quarters":
            return Decimal("0.25")
        case "decimal":
            return Decimal(1).scaleb(-step.number.decimals)
        case "whole":
            return Decimal(1)


def typical(step: Reading) -> float:
    """What is read in a bay where all is right."""
    return step.typical if step.typical is not None else sum(step.plausible) / 2

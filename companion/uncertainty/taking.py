"""One reading with the parts of its doubt apart: what scatters, what repeats, what rounds.

A mean of many readings loses only what scatters. The scale's own error and the method's are the
same in every reading, and where the same digits come back the rounding is the same as well. What
is the same keeps its name from take to take, so it stays in a mean in full.
"""

from __future__ import annotations

import math

from companion.errors import MeasureError
from companion.uncertainty.measured import Measured, resolution_u

SCALE = "scale and method"
DIGITS = "digits"
UNSAID = "doubt"


def taken(
    name: str,
    value: float,
    take: int,
    *,
    resolution: float = 0.0,
    scatters: float = 0.0,
    stays: float = 0.0,
    unsaid: float = 0.0,
) -> Measured:
    """Take number `take` of the reading `name`, with its budget line by line.

    `resolution`: the scale's step; r / sqrt 12, the same error wherever the same digits come back.
    `scatters`, `stays`: standard uncertainties, in the reading's unit. `unsaid`: one of which it is
    not known whether it scatters; it is not averaged away, and two takes may differ by it.
    Raises MeasureError for what is not finite or below zero.
    """
    parts = (resolution, scatters, stays, unsaid)
    if not math.isfinite(value) or any(not (p >= 0.0 and math.isfinite(p)) for p in parts):
        raise MeasureError(
            f"reading {name}: found {value} with resolution {resolution}, scatter {scatters}, "
            f"scale and method {stays}; wanted: finite figures, none of the doubts below 0"
        )
    lines = (
        (line_of(name, take), scatters),
        (f"{name} {DIGITS} {value:.10g}", resolution_u(resolution)),
        (f"{name} {SCALE}", stays),
        (f"{name} {UNSAID}", unsaid),
    )
    kept = tuple((line, part) for line, part in lines if part > 0.0)
    # Who takes a reading back has to find what rests on it, also where it does not scatter.
    return Measured(value, kept if scatters > 0.0 or not kept else (*lines[:1], *kept))


def averages_away(name: str) -> bool:
    """Whether a budget line of this name is made smaller by reading again."""
    return " #" in name


def reading_of(line: str) -> str:
    """The reading that a budget line is one take's scatter of; nothing for any other line."""
    reading, mark, _ = line.partition(" #")
    return reading if mark else ""


def own_to_a_take(name: str) -> bool:
    """Whether two takes may differ by what stands in this budget line."""
    return averages_away(name) or f" {DIGITS} " in name or name.endswith(f" {UNSAID}")


def line_of(name: str, take: int) -> str:
    """The budget line of what scatters in one take of a reading."""
    return f"{name} #{take}"


def widened(result: Measured, factor: float) -> Measured:
    """The result with all that scatters made `factor` times as large; what repeats stays."""
    return Measured(
        result.value,
        tuple(
            (name, part * factor if averages_away(name) else part)
            for name, part in result.contributions
        ),
    )

"""What stands at a scale: the unit, and which way counts positive."""

from __future__ import annotations

from companion.report.wording import Wording


def unit_and_way(measure: str, wording: Wording) -> str:
    """The unit of a measure by its name, with the way of its positive values where it has one."""
    unit, positive = wording.unit(unit_of(measure)), wording.name_of(measure).positive
    return wording("scale-and-way", unit=unit, way=positive) if positive else unit


def unit_of(measure: str) -> str:
    """The id of a measure's unit, which its name ends with."""
    return measure.rpartition("_")[2]

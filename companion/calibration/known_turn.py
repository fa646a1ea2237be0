"""A known turn of the mirror bar, as a check of everything that reads the stand's turn."""

from __future__ import annotations

import math
from typing import NamedTuple

from companion.calibration.lever import beam_to_normal_deg
from companion.errors import MeasureError


class KnownTurn(NamedTuple):
    """`turn_seen_deg`, `known_turn_deg`: + = to the left (anticlockwise from above).

    `turn_error_deg`: seen less known. `sides_disagree_deg`: how much more the left beam saw than
    the right one; beyond its doubt a spot was misread, or something else was moved.
    """

    turn_seen_deg: float
    known_turn_deg: float
    turn_error_deg: float
    sides_disagree_deg: float


def known_turn(
    *,
    spot_left_mm: float,
    spot_right_mm: float,
    shimmed_left_mm: float,
    shimmed_right_mm: float,
    path_mm: float,
    shim_mm: float,
    base_mm: float,
) -> KnownTurn:
    """From the returned spots (+ = left) before and after a shim went behind the bar's left end.

    The bar turns about its right seat, `base_mm` away: sin(turn) = shim / base. What was out
    before (heads, toe, run-out) is out after, and drops out of the difference of each side.
    Raises MeasureError where the shim is not smaller than the base.
    """
    if not 0.0 < shim_mm < base_mm:
        raise MeasureError(
            f"known turn: found a shim of {shim_mm} mm on a base of {base_mm} mm; wanted is a shim "
            "above 0 and smaller than the base"
        )
    left, right = (
        beam_to_normal_deg(before, path_mm) - beam_to_normal_deg(after, path_mm)
        for before, after in ((spot_left_mm, shimmed_left_mm), (spot_right_mm, shimmed_right_mm))
    )
    seen, known = (left + right) / 2.0, math.degrees(math.asin(shim_mm / base_mm))
    return KnownTurn(seen, known, seen - known, left - right)

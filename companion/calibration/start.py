"""Where a target is put before it is measured: what the tapes will read there.

Each is the way back of the formula that judges the place afterwards (`target`, `mats`). Axes: x
ahead, y to the left, in mm.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from companion.errors import MeasureError


class CornerStart(NamedTuple):
    """The two rear wheels' tapes to the reflector, and the tape from the axle's middle to either
    end of its bar, where the bar is square to it."""

    left_tape_mm: float
    right_tape_mm: float
    bar_end_mm: float


def corner_start(
    *,
    track_mm: float,
    bar_mm: float,
    thrust_direction_deg: float,
    wanted_radius_mm: float,
    wanted_angle_deg: float,
    side: float,
) -> CornerStart:
    """What the tapes read where the reflector belongs; names as in `target.corner_place`."""
    _above_zero(track=track_mm, bar=bar_mm, radius=wanted_radius_mm)
    # From straight back towards the car's left, seen in the car's own axes.
    angle = math.radians(side * wanted_angle_deg - thrust_direction_deg)
    behind_mm = wanted_radius_mm * math.cos(angle)
    left_mm = wanted_radius_mm * math.sin(angle)
    return CornerStart(
        left_tape_mm=math.hypot(behind_mm, left_mm - track_mm / 2.0),
        right_tape_mm=math.hypot(behind_mm, left_mm + track_mm / 2.0),
        bar_end_mm=math.hypot(wanted_radius_mm, bar_mm / 2.0),
    )


class MatStart(NamedTuple):
    """From a wheel's mark to the mat's corner on its own side, and to the other corner."""

    tape_mm: float
    diagonal_mm: float


def mat_start(*, track_mm: float, mat_mm: float, wanted_mm: float) -> MatStart:
    """What the tapes to a mat read that lies square and in the middle; as in `mats.mat_place`."""
    _above_zero(track=track_mm, mat=mat_mm, distance=wanted_mm)
    return MatStart(
        tape_mm=math.hypot(wanted_mm, (mat_mm - track_mm) / 2.0),
        diagonal_mm=math.hypot(wanted_mm, (mat_mm + track_mm) / 2.0),
    )


class BoardStart(NamedTuple):
    """The front wheels' tapes to the board's middle, and its height over the floor below it."""

    left_tape_mm: float
    right_tape_mm: float
    height_mm: float


def board_start(
    *,
    track_mm: float,
    wheelbase_mm: float,
    wanted_ahead_mm: float,
    wanted_height_mm: float,
    spot_above_mm: float,
    thrust_direction_deg: float,
    floor_slope_up_deg: float,
) -> BoardStart:
    """What the tapes read with the board on the thrust line; names as in `target.board_place`."""
    _above_zero(track=track_mm, wheelbase=wheelbase_mm, distance=wanted_ahead_mm)
    height_mm = wanted_height_mm - spot_above_mm
    off_mm = wanted_ahead_mm - height_mm * math.sin(math.radians(floor_slope_up_deg))
    left_mm = (wheelbase_mm + off_mm) * math.tan(math.radians(thrust_direction_deg))
    return BoardStart(
        left_tape_mm=math.hypot(off_mm, left_mm - track_mm / 2.0),
        right_tape_mm=math.hypot(off_mm, left_mm + track_mm / 2.0),
        height_mm=height_mm,
    )


def _above_zero(**lengths: float) -> None:
    for name, value in lengths.items():
        if not value > 0.0:
            raise MeasureError(f"start: a {name} of {value} mm; wanted is more than 0")

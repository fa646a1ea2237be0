"""Where the stand stands and how it is turned, seen by the rear wheels' beams."""

from __future__ import annotations

import math
from typing import NamedTuple

from companion.calibration.lever import beam_to_normal_deg
from companion.errors import MeasureError


class StandTurn(NamedTuple):
    """`stand_turn_deg`: + = turned anticlockwise from above, against the thrust direction.

    `beam_disagreement_deg`: how far the two sides contradict the measured toe; beyond its doubt
    a spot was misread or the toe is not that of this car.
    """

    stand_turn_deg: float
    beam_disagreement_deg: float


def stand_turn(
    *,
    spot_left_mm: float,
    spot_right_mm: float,
    path_mm: float,
    run_out_left_deg: float,
    run_out_right_deg: float,
    total_toe_deg: float,
    heads_out_left_deg: float = 0.0,
    heads_apart_deg: float = 0.0,
) -> StandTurn:
    """Turn of the mirror bar from the two returned spots (+ = shifted left).

    A beam heading b meets a bar turned by t: half of atan(d / path) = b - t. Against the thrust
    direction the left beam heads -toe/2 plus its clamp's error, the right one +toe/2 plus its
    own; so toe drops out of the mean, and the difference must show it. `heads_out_left_deg`: the
    mean by which the laser heads head too far left of their clamps; `heads_apart_deg`: how much
    further the left one does than the right one.
    """
    left_deg = beam_to_normal_deg(spot_left_mm, path_mm)
    right_deg = beam_to_normal_deg(spot_right_mm, path_mm)
    expected_difference_deg = run_out_left_deg - run_out_right_deg - total_toe_deg + heads_apart_deg
    mean_deg = (run_out_left_deg - left_deg + run_out_right_deg - right_deg) / 2.0
    return StandTurn(
        stand_turn_deg=mean_deg + heads_out_left_deg,
        beam_disagreement_deg=left_deg - right_deg - expected_difference_deg,
    )


def arms_apart_change_mm(
    *, left_mm: float, right_mm: float, left_before_mm: float, right_before_mm: float
) -> float:
    """How much further apart the two beams meet the arm scales than they did before.

    Moving the stand sideways takes from one scale what it gives to the other; turning it by a
    degree or two, and a little more or less distance, change the sum by less than a millimetre.
    """
    return left_mm + right_mm - left_before_mm - right_before_mm


def stand_offset_left_mm(*, left_mm: float, right_mm: float) -> float:
    """Half the difference of the two arm readings: + = the stand sits left of the thrust line."""
    return (right_mm - left_mm) / 2.0


def stand_offset_without_run_out_mm(
    *,
    left_mm: float,
    right_mm: float,
    path_mm: float,
    run_out_left_deg: float,
    run_out_right_deg: float,
    sensor_left_mm: float = 0.0,
    heads_out_left_deg: float = 0.0,
) -> float:
    """As `stand_offset_left_mm`, with both spots put back by their clamp's heading error.

    A beam that heads c too far left lands path * tan(c) too far left: more on the left arm, less
    on the right. 0.02 degrees over 4.7 m is 1.6 mm, which the plain difference would carry.
    `sensor_left_mm`: where the sensor sits, left of the car's middle; the plate belongs before it.
    `heads_out_left_deg`: as in `stand_turn`, on top of either run-out.
    """
    if not path_mm > 0.0:
        raise MeasureError(f"stand sideways: path_mm is {path_mm}; wanted: more than 0")
    shift_left_mm = path_mm * math.tan(math.radians(run_out_left_deg + heads_out_left_deg))
    shift_right_mm = path_mm * math.tan(math.radians(run_out_right_deg + heads_out_left_deg))
    offset_mm = stand_offset_left_mm(
        left_mm=left_mm - shift_left_mm, right_mm=right_mm + shift_right_mm
    )
    return offset_mm - sensor_left_mm

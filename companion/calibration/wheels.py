"""Rear wheels: the wobble of a clamp on its wheel, and where the axle pushes the car.

Headings + = to the car's left; toe + = in.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from companion.errors import MeasureError


class RunOut(NamedTuple):
    """A clamp's wobble.

    `run_out_deg`: size of the first harmonic. `run_out_heading_deg`: how far the beam heads left
    of the wheel plane as the wheel stands now. `run_out_residual_mm`: what a wobble
    cannot explain (second harmonic); more than reading noise means a slip or a loose clamp.
    """

    run_out_deg: float
    run_out_heading_deg: float
    run_out_residual_mm: float


class AxleToe(NamedTuple):
    """`thrust_direction_deg`: + = to the left. `total_toe_deg`: + = in."""

    thrust_direction_deg: float
    total_toe_deg: float


class AxleToeMm(NamedTuple):
    """As `AxleToe`, from differences across a diameter: also the toes as angles.

    `toe_left_as_deg`, `toe_right_as_deg`: + = in. `thrust_direction_mm`: front-to-rear difference
    across that diameter, + = to the left.
    """

    thrust_direction_deg: float
    total_toe_deg: float
    toe_left_as_deg: float
    toe_right_as_deg: float
    thrust_direction_mm: float


def run_out(
    *,
    spot_0_mm: float,
    spot_90_mm: float,
    spot_180_mm: float,
    spot_270_mm: float,
    path_mm: float,
    grows_to_left: float,
    wheel_back_deg: float = 0.0,
) -> RunOut:
    """First harmonic of the spot over four quarter turns of the lifted wheel.

    Readings on that side's arm scale; `path_mm` emitter to scale; `grows_to_left` is 1 where a
    larger reading lies further left (left arm), -1 on the right arm. `wheel_back_deg`: how far past
    its first position the wheel stands when it is let down (meant: 0, but with a doubt, for a wheel
    is not put back exactly). Definition of the discrete Fourier series at four points.
    Raises MeasureError for another `grows_to_left` or no path.
    """
    if not path_mm > 0.0:
        raise MeasureError(f"run-out: path_mm is {path_mm}; wanted: more than 0")
    if grows_to_left not in (1.0, -1.0):
        raise MeasureError(f"run-out: grows_to_left is {grows_to_left}; wanted: 1 or -1")
    at_start_mm = (spot_0_mm - spot_180_mm) / 2.0
    at_quarter_mm = (spot_90_mm - spot_270_mm) / 2.0
    back = math.radians(wheel_back_deg)
    now_mm = at_start_mm * math.cos(back) + at_quarter_mm * math.sin(back)
    return RunOut(
        run_out_deg=math.degrees(math.atan(math.hypot(at_start_mm, at_quarter_mm) / path_mm)),
        run_out_heading_deg=math.degrees(math.atan(grows_to_left * now_mm / path_mm)),
        run_out_residual_mm=(spot_0_mm - spot_90_mm + spot_180_mm - spot_270_mm) / 4.0,
    )


def toe_from_angle(*, toe_left_deg: float, toe_right_deg: float) -> AxleToe:
    """Thrust direction (toe right - toe left) / 2 and total toe.

    Static toe angle as in ISO 8855:2011, 7.1.6 and 7.1.7 (toe-in positive): toe-in turns the left
    wheel right and the right wheel left, hence the order. Beware: the trade often writes the
    opposite sign with + = right.
    """
    return AxleToe(
        thrust_direction_deg=(toe_right_deg - toe_left_deg) / 2.0,
        total_toe_deg=toe_left_deg + toe_right_deg,
    )


def toe_deg_from_mm(toe_mm: float, diameter_mm: float) -> float:
    """asin(t / D): t the difference between the front and the rear edge, D between those edges.

    Against the wheel's centre instead of across it the angle would be twice this; ask which one
    was measured. Raises MeasureError unless |t| < D.
    """
    if not abs(toe_mm) < diameter_mm:
        raise MeasureError(
            f"toe: found {abs(toe_mm)} mm across {diameter_mm} mm; wanted: a difference far "
            "smaller than the diameter it was measured across"
        )
    return math.degrees(math.asin(toe_mm / diameter_mm))


def toe_from_mm(*, toe_left_mm: float, toe_right_mm: float, diameter_mm: float) -> AxleToeMm:
    """As `toe_from_angle`, from front-to-rear differences (+ = in) across a stated diameter."""
    left_deg = toe_deg_from_mm(toe_left_mm, diameter_mm)
    right_deg = toe_deg_from_mm(toe_right_mm, diameter_mm)
    axle = toe_from_angle(toe_left_deg=left_deg, toe_right_deg=right_deg)
    return AxleToeMm(
        thrust_direction_deg=axle.thrust_direction_deg,
        total_toe_deg=axle.total_toe_deg,
        toe_left_as_deg=left_deg,
        toe_right_as_deg=right_deg,
        thrust_direction_mm=diameter_mm * math.sin(math.radians(axle.thrust_direction_deg)),
    )

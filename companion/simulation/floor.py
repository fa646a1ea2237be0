"""The bay's floor: five spots with true heights; a right reading of it agrees with the survey."""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random

import numpy as np

from companion.job.setup_files import Bay, Range, Vehicle
from companion.simulation.errors import RehearsalError
from companion.simulation.vectors import (
    FORWARD,
    Matrix,
    Vector,
    cross,
    plane_normal,
    unit,
    vector,
)

RULE_NOISE_MM = 0.3
LINE_LASER_TILT_MM_PER_M = 0.05
_STANDARD_DEVIATIONS_OF_MARGIN = 3.3


@dataclass(frozen=True, slots=True)
class FloorHeights:
    """True heights over the gravity plane of the four wheel spots and the stand spot."""

    rear_left_mm: float
    rear_right_mm: float
    front_left_mm: float
    front_right_mm: float
    stand_mm: float


@dataclass(frozen=True, slots=True)
class FloorShape:
    """The same five heights in the terms of a survey (twist: (RL - RR - FL + FR) / 4)."""

    slope_up_deg: float
    side_slope_deg: float
    twist_mm: float
    stand_above_mm: float


def wheel_spots(heights: FloorHeights, vehicle: Vehicle) -> tuple[Vector, Vector, Vector, Vector]:
    """Rear left, rear right, front left, front right, with x from the front axle."""
    behind, rear, front = (
        -vehicle.wheelbase_mm,
        vehicle.rear_track_mm / 2.0,
        vehicle.front_track_mm / 2.0,
    )
    return (
        vector(behind, rear, heights.rear_left_mm),
        vector(behind, -rear, heights.rear_right_mm),
        vector(0.0, front, heights.front_left_mm),
        vector(0.0, -front, heights.front_right_mm),
    )


def car_axes(heights: FloorHeights, vehicle: Vehicle) -> Matrix:
    """The car's forward, left and up as columns: it stands on the plane nearest its four wheels."""
    up = plane_normal(wheel_spots(heights, vehicle))
    forward = unit(FORWARD - float(FORWARD @ up) * up)
    return np.column_stack((forward, cross(up, forward), up))


def heights_of(shape: FloorShape, vehicle: Vehicle, stand_ahead_mm: float) -> FloorHeights:
    """The floor with this shape; its mean height at the wheels is zero."""
    rise = math.tan(math.radians(shape.slope_up_deg))
    tilt = math.tan(math.radians(shape.side_slope_deg))
    middle_mm = -vehicle.wheelbase_mm / 2.0
    rear, front = vehicle.rear_track_mm / 2.0, vehicle.front_track_mm / 2.0
    return FloorHeights(
        rear_left_mm=rise * middle_mm + tilt * rear + shape.twist_mm,
        rear_right_mm=rise * middle_mm - tilt * rear - shape.twist_mm,
        front_left_mm=-rise * middle_mm + tilt * front - shape.twist_mm,
        front_right_mm=-rise * middle_mm - tilt * front + shape.twist_mm,
        stand_mm=rise * (stand_ahead_mm - middle_mm) + shape.stand_above_mm,
    )


def stand_spot_ahead_mm(vehicle: Vehicle, bay: Bay) -> float:
    """Where the stand belongs, ahead of the front axle: so that the plate has its distance."""
    return vehicle.sensor_ahead_of_front_axle_mm + bay.stand.plate_distance_mm


def draw_floor(random: Random, vehicle: Vehicle, bay: Bay) -> FloorHeights:
    """A floor inside its surveyed ranges, so far inside that reading noise hardly leaves them.

    Raises RehearsalError when a range is narrower than the noise of the rule and the line laser.
    """
    floor, ahead_mm = bay.floor, stand_spot_ahead_mm(vehicle, bay)
    rule_mm = math.hypot(RULE_NOISE_MM, floor.rule_resolution_mm / math.sqrt(12.0))
    laser = LINE_LASER_TILT_MM_PER_M / 1000.0
    slope = math.hypot(rule_mm / vehicle.wheelbase_mm, laser)
    side = math.hypot(rule_mm / min(vehicle.rear_track_mm, vehicle.front_track_mm), laser)
    reach_mm = ahead_mm + vehicle.wheelbase_mm / 2.0
    stand_mm = math.hypot(rule_mm * 1.12, reach_mm * rule_mm / vehicle.wheelbase_mm)
    shape = FloorShape(
        slope_up_deg=_inside(random, floor.slope_up_deg, math.degrees(slope), "slope_up_deg"),
        side_slope_deg=_inside(random, floor.side_slope_deg, math.degrees(side), "side_slope_deg"),
        twist_mm=_inside(random, floor.twist_mm, rule_mm / 2.0, "twist_mm"),
        stand_above_mm=_inside(random, floor.stand_spot_above_mm, stand_mm, "stand_spot_above_mm"),
    )
    return heights_of(shape, vehicle, ahead_mm)


def _inside(random: Random, surveyed: Range, noise: float, name: str) -> float:
    margin = _STANDARD_DEVIATIONS_OF_MARGIN * noise
    low, high = surveyed.low + margin, surveyed.high - margin
    if low > high:
        raise RehearsalError(
            f"bay file, floor.{name}: {surveyed.low:g} to {surveyed.high:g} is too narrow for a "
            f"reading noise of {noise:.3g}; wanted at least {2 * margin:.3g} from low to high"
        )
    return random.uniform(low, high)

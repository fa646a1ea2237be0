"""What the radar hears of itself in the plate: a flat plate is a mirror."""

from __future__ import annotations

import math

from companion.rehearsal.truth import TrueBeam
from companion.rehearsal.vectors import (
    FORWARD,
    LEFT,
    UP,
    Matrix,
    Vector,
    mirror_image,
    turn_about_y,
    turn_about_z,
)

_ONE_WAY_DB = 12.0
"""A Gaussian beam that is 3 dB down half a width from its middle: 3 = 12 (1/2)^2."""


def plate_normal(stand_axes: Matrix, lean_towards_deg: float, swing_left_deg: float) -> Vector:
    """The plate's unit normal, away from the car.

    The swinging frame turns about the stand's upright, + = left edge towards the car; the plate
    leans inside the frame, + = top towards the car.
    """
    return stand_axes @ (turn_about_z(swing_left_deg) @ (turn_about_y(-lean_towards_deg) @ FORWARD))


def echo_db(
    sensor: Vector,
    sensor_axes: Matrix,
    beam: TrueBeam,
    plate_centre: Vector,
    normal: Vector,
    nominal_distance_mm: float,
) -> float:
    """Level of the echo from the sensor's own image in the plate.

    `sensor_axes` are the sensor's forward (boresight), left and up. The beam's loss counts twice,
    out and back; the level falls with the square of the distance to the image.
    """
    to_image = mirror_image(sensor, plate_centre, normal) - sensor
    ahead = float(to_image @ (sensor_axes @ FORWARD))
    yaw_deg = math.degrees(math.atan2(float(to_image @ (sensor_axes @ LEFT)), ahead))
    elevation_deg = math.degrees(math.atan2(float(to_image @ (sensor_axes @ UP)), ahead))
    off_axis = (yaw_deg / beam.width_yaw_deg) ** 2 + (elevation_deg / beam.width_elevation_deg) ** 2
    path_mm = math.sqrt(float(to_image @ to_image))
    spreading_db = 20.0 * math.log10(path_mm / (2.0 * nominal_distance_mm))
    return beam.peak_db - 2.0 * _ONE_WAY_DB * off_axis - spreading_db

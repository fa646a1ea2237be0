"""What the radar hears of itself in the plate: physical optics, summed over the plate's face.

Every point of the face sends back what it gets, with the phase of its way there and back. A large
plate close by so becomes a mirror, a small one does not, and nobody had to say which.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from companion.simulation.truth import Face, TrueBeam
from companion.simulation.vectors import Matrix, Vector, turn_about_y, turn_about_z, vector

LIGHT_MM_PER_S = 299_792_458_000.0
WAVELENGTH_MM = LIGHT_MM_PER_S / 76.5e9
_WAVE_NUMBER = 2.0 * math.pi / WAVELENGTH_MM
_ONE_WAY_DB = 12.0
"""A Gaussian beam that is 3 dB down half a width from its middle: 3 = 12 (1/2)^2."""
# A Gauss-Legendre sum follows a phase that turns by about two radians between its places.
_RADIANS_A_PLACE = 1.6
_PLACES_TO_SPARE = 24
_MOST_PLACES = 600

Line = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Plate:
    """The plate as it stands: its centre, and its normal (away from the car), left and up."""

    centre: Vector
    axes: Matrix
    face: Face


def plate_axes(stand_axes: Matrix, lean_towards_deg: float, swing_left_deg: float) -> Matrix:
    """The plate's normal (away from the car), left and up as columns.

    The swinging frame turns about the stand's upright, + = left edge towards the car; the plate
    leans inside the frame, + = top towards the car.
    """
    return stand_axes @ (turn_about_z(swing_left_deg) @ turn_about_y(-lean_towards_deg))


def carried_by_hinges(
    stand_axes: Matrix, face: Face, lean_towards_deg: float, swing_left_deg: float
) -> Vector:
    """How far the plate's centre is carried by axes that do not go through it."""
    below, right = vector(0.0, 0.0, face.hinge_below_mm), vector(0.0, face.hinge_right_mm, 0.0)
    leaned = right + turn_about_y(-lean_towards_deg) @ below
    return stand_axes @ (turn_about_z(swing_left_deg) @ leaned - right - below)


def echo_db(
    sensor: Vector,
    sensor_axes: Matrix,
    beam: TrueBeam,
    plate: Plate,
    nominal_distance_mm: float,
) -> float:
    """Level of the plate's echo; `beam.peak_db` from an endless plate at the nominal distance.

    `sensor_axes` are the sensor's forward (boresight), left and up. The field that comes back is
    the sum over the face of gain x exp(2 j k r) / r^2 x the cosine at the face: the beam's field
    counts twice, out and back.
    """
    face, normal = plate.face, plate.axes[:, 0]
    from_plate = plate.axes.T @ (sensor - plate.centre)
    across, across_weights = _places(face.width_mm, from_plate[1], from_plate[0])
    upward, upward_weights = _places(face.height_mm, from_plate[2], from_plate[0])
    y, z = across[:, None], upward[None, :]
    bump = face.flatness_mm * (
        np.sin(math.pi * y / face.width_mm + face.wave_across)
        + np.sin(math.pi * z / face.height_mm + face.wave_upward)
    )
    # From the sensor to each point, along the sensor's own axes.
    start = sensor_axes.T @ (plate.centre - sensor)
    to_normal, to_left, to_up = (sensor_axes.T @ plate.axes).T
    ahead, left, up = (
        start[i] + y * to_left[i] + z * to_up[i] + bump * to_normal[i] for i in range(3)
    )
    flat = ahead * ahead + left * left
    way = np.sqrt(flat + up * up)
    yaw_deg = np.degrees(np.arctan2(left, ahead))
    elevation_deg = np.degrees(np.arctan2(up, np.sqrt(flat)))
    off_axis = (yaw_deg / beam.width_yaw_deg) ** 2 + (elevation_deg / beam.width_elevation_deg) ** 2
    # There and back the field is weakened as the power is one way.
    gain = np.exp(-_ONE_WAY_DB * math.log(10.0) / 10.0 * off_axis)
    towards = abs(float((plate.centre - sensor) @ normal)) / way
    field = gain * towards / (way * way) * np.exp(2j * _WAVE_NUMBER * way)
    summed = abs(complex(across_weights @ field @ upward_weights)) * _WAVE_NUMBER / math.pi
    return beam.peak_db + 20.0 * math.log10(max(summed, 1e-12) * nominal_distance_mm)


def _places(size_mm: float, sensor_mm: float, away_mm: float) -> tuple[Line, Line]:
    """Places from edge to edge, and their weights, close enough together for the phase there."""
    half = size_mm / 2.0
    furthest = math.hypot(half + abs(sensor_mm), away_mm)
    turned = 2.0 * _WAVE_NUMBER * (furthest - abs(away_mm))
    count = min(_MOST_PLACES, 8 * math.ceil((_PLACES_TO_SPARE + turned / _RADIANS_A_PLACE) / 8))
    nodes, weights = _legendre(count)
    return half * nodes, half * weights


@lru_cache(maxsize=64)
def _legendre(count: int) -> tuple[Line, Line]:
    return np.polynomial.legendre.leggauss(count)


def standing_wave_db(face: Face, detents: tuple[int, int], face_distance_mm: float) -> float:
    """What goes to and fro between plate and car once more adds, there and back once more."""
    if face.ripple_db == 0.0:
        return 0.0
    phase = face.ripple_phases[5 * detents[0] + detents[1]]
    return face.ripple_db * math.cos(2.0 * _WAVE_NUMBER * face_distance_mm + phase)

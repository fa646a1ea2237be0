"""The wheel lasers: from the clamp to the stand's arm scale, to its mirror bar and back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from companion.simulation.truth import Clamp, StandPose
from companion.simulation.vectors import (
    FORWARD,
    LEFT,
    UP,
    Matrix,
    Vector,
    cross,
    meets_plane,
    reflected,
    turn_about_x,
    turn_about_y,
    turn_about_z,
    unit,
    vector,
)

Side = Literal["left", "right"]


@dataclass(frozen=True, slots=True)
class Beam:
    """A laser beam: where it leaves its emitter, and its unit direction."""

    emitter: Vector
    direction: Vector


def stand_axes(stand: StandPose) -> Matrix:
    """The stand's own forward, left and up as columns, from its turn and its two tilts."""
    away_deg = math.degrees(math.atan(stand.top_away_mm_per_m / 1000.0))
    left_high_deg = math.degrees(math.atan(stand.left_high_mm_per_m / 1000.0))
    return turn_about_z(stand.turn_deg) @ turn_about_y(away_deg) @ turn_about_x(left_high_deg)


def stand_centre(stand: StandPose, floor_mm: float) -> Vector:
    """The plate's centre over the stand's foot; the mirror bar and the arms lie beside it."""
    return vector(stand.ahead_mm, stand.left_mm, floor_mm + stand.plate_height_mm)


def wheel_beam(
    emitter: Vector, axle: Vector, clamp: Clamp, wheel_turned_deg: float, head_left_deg: float = 0.0
) -> Beam:
    """The beam of a clamp on a wheel whose axle points to the car's left.

    The clamp's shaft leans from the axle; the lean goes round with the wheel. The laser hangs on
    the shaft, square to it but for `head_left_deg`, and is set level by its bubble at every stop.
    """
    forward = unit(cross(axle, UP))
    upward = cross(forward, axle)
    phase = math.radians(clamp.phase_deg + wheel_turned_deg)
    lean = math.sin(math.radians(clamp.wobble_deg))
    shaft = unit(axle + lean * (math.cos(phase) * forward + math.sin(phase) * upward))
    level = turn_about_z(head_left_deg) @ unit(cross(shaft, UP))
    rise = math.tan(math.radians(clamp.bubble_deg))
    return Beam(emitter, unit(level + rise * cross(level, shaft)))


def arm_reading_mm(beam: Beam, side: Side, centre: Vector, axes: Matrix) -> float:
    """Where the beam crosses that side's arm, counted outwards from the stand's centre."""
    crossing = meets_plane(beam.emitter, beam.direction, centre, axes @ FORWARD)
    to_left_mm = float((crossing - centre) @ (axes @ LEFT))
    return to_left_mm if side == "left" else -to_left_mm


def spot_shift_mm(beam: Beam, centre: Vector, axes: Matrix) -> float:
    """Where the beam comes back beside its emitter, + = to the left of it.

    The scale stands at the emitter, square to the outgoing beam and level.
    """
    normal = axes @ FORWARD
    on_bar = meets_plane(beam.emitter, beam.direction, centre, normal)
    back = reflected(beam.direction, normal)
    spot = meets_plane(on_bar, back, beam.emitter, beam.direction)
    along_scale = unit(cross(UP, beam.direction))
    return float((spot - beam.emitter) @ along_scale)

"""Rays, planes and rotations in three dimensions (x forward, y left, z up; millimetres)."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]
Matrix = npt.NDArray[np.float64]


def vector(x: float, y: float, z: float) -> Vector:
    """A point or direction: forward, left, up."""
    return np.array((x, y, z), dtype=np.float64)


FORWARD = vector(1.0, 0.0, 0.0)
LEFT = vector(0.0, 1.0, 0.0)
UP = vector(0.0, 0.0, 1.0)


def unit(along: Vector) -> Vector:
    """The vector of length 1 along a vector that is not zero."""
    return along / math.sqrt(float(along @ along))


def cross(a: Vector, b: Vector) -> Vector:
    """The cross product, written out: numpy's own is slow for single vectors."""
    ax, ay, az = a.tolist()
    bx, by, bz = b.tolist()
    return vector(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)


def turn_about_x(angle_deg: float) -> Matrix:
    """Lifts the left side for a positive angle."""
    c, s = _cos_sin(angle_deg)
    return np.array(((1.0, 0.0, 0.0), (0.0, c, -s), (0.0, s, c)))


def turn_about_y(angle_deg: float) -> Matrix:
    """Carries the top forwards for a positive angle."""
    c, s = _cos_sin(angle_deg)
    return np.array(((c, 0.0, s), (0.0, 1.0, 0.0), (-s, 0.0, c)))


def turn_about_z(angle_deg: float) -> Matrix:
    """Carries the front to the left for a positive angle."""
    c, s = _cos_sin(angle_deg)
    return np.array(((c, -s, 0.0), (s, c, 0.0), (0.0, 0.0, 1.0)))


def reflected(direction: Vector, normal: Vector) -> Vector:
    """A ray's direction after a flat mirror with this unit normal."""
    return direction - 2.0 * float(direction @ normal) * normal


def meets_plane(start: Vector, direction: Vector, on_plane: Vector, normal: Vector) -> Vector:
    """The point in which a ray's line meets a plane that it is not parallel to."""
    along = float((on_plane - start) @ normal) / float(direction @ normal)
    return start + along * direction


def plane_normal(points: Sequence[Vector]) -> Vector:
    """The upward unit normal of the plane that lies closest to the points (at least three).

    Closest in the sense of the squared distances square to the plane: the normal is the direction
    in which the points spread least.
    """
    cloud = np.array(points)
    _, _, directions = np.linalg.svd(cloud - cloud.mean(axis=0))
    normal: Vector = directions[2]
    return normal if normal[2] > 0 else -normal


def heading_deg(direction: Vector) -> float:
    """Angle from forward, + = to the left, seen from above."""
    return math.degrees(math.atan2(float(direction[1]), float(direction[0])))


def elevation_deg(direction: Vector) -> float:
    """Angle above the plane of x and y, + = up."""
    x, y, z = direction.tolist()
    return math.degrees(math.atan2(z, math.hypot(x, y)))


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    angle = math.radians(angle_deg)
    return math.cos(angle), math.sin(angle)

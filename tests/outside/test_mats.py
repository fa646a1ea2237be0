"""Mats squared to a body, against scikit-spatial and scipy: points and turns, no formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation  # type: ignore[import-untyped]
from skspatial.objects import Line, Point, Vector  # type: ignore[import-untyped]

from companion.calibration.mats import field_skew_deg, mat_place
from companion.errors import MeasureError

TRACK, MAT, WHEELBASE = 1550.0, 2400.0, 2700.0
PLACES = [
    (0.0, 0.0, 0.0),
    (45.0, -30.0, 0.0),
    (-60.0, 25.5, 1.7),
    (12.0, 61.0, -2.9),
]
"""(too far, too far left, turned to the left in degrees) of a mat."""


def corners(end: float, wanted_mm: float, place: tuple[float, float, float]) -> dict[str, Point]:
    """The corners of a mat's near edge from the middle of the axle next to it."""
    far, aside, turned = place
    middle = np.array([end * (wanted_mm + far), aside, 0.0])
    half = Rotation.from_euler("z", turned, degrees=True).apply([0.0, MAT / 2.0, 0.0])
    return {"left": Point(middle + half), "right": Point(middle - half)}


@pytest.mark.parametrize("end", [1.0, -1.0])
@pytest.mark.parametrize("place", PLACES)
def test_a_mat_is_found_where_it_lies(end: float, place: tuple[float, float, float]) -> None:
    """Distances of skspatial.objects.Point; the mat turned by scipy's Rotation."""
    marks = {"left": Point([0.0, TRACK / 2.0, 0.0]), "right": Point([0.0, -TRACK / 2.0, 0.0])}
    at = corners(end, 1000.0, place)
    found = mat_place(
        left_tape_mm=float(marks["left"].distance_point(at["left"])),
        left_diagonal_mm=float(marks["left"].distance_point(at["right"])),
        right_tape_mm=float(marks["right"].distance_point(at["right"])),
        right_diagonal_mm=float(marks["right"].distance_point(at["left"])),
        track_mm=TRACK,
        mat_mm=MAT,
        wanted_mm=1000.0,
        end=end,
    )
    told = (found.distance_error_mm, found.sideways_error_mm, found.turned_deg)
    assert told == pytest.approx(place, abs=1e-6)
    assert found.tapes_disagree_mm == pytest.approx(0.0, abs=1e-6)


def test_a_mat_along_a_line_that_scikit_spatial_draws() -> None:
    """The edge's line and the axle's: skspatial's Vector.angle_between gives the turn."""
    at = corners(1.0, 1000.0, (0.0, 0.0, 1.3))
    edge = Line.from_points(at["right"], at["left"])
    axle = Vector([0.0, 1.0, 0.0])
    marks = {"left": Point([0.0, TRACK / 2.0, 0.0]), "right": Point([0.0, -TRACK / 2.0, 0.0])}
    found = mat_place(
        left_tape_mm=math.dist(marks["left"], at["left"]),
        left_diagonal_mm=math.dist(marks["left"], at["right"]),
        right_tape_mm=math.dist(marks["right"], at["right"]),
        right_diagonal_mm=math.dist(marks["right"], at["left"]),
        track_mm=TRACK,
        mat_mm=MAT,
        wanted_mm=1000.0,
        end=1.0,
    )
    assert found.turned_deg == pytest.approx(math.degrees(edge.direction.angle_between(axle)))


@pytest.mark.parametrize("aside_mm", [-40.0, 0.0, 25.0])
def test_a_field_whose_front_lies_aside(aside_mm: float) -> None:
    """A parallelogram drawn with scikit-spatial: its long side against its mats' normal."""
    front, rear = corners(1.0, 1000.0, (0.0, aside_mm, 0.0)), corners(-1.0, 1100.0, (0, 0, 0))
    rear = {side: Point(point - np.array([WHEELBASE, 0.0, 0.0])) for side, point in rear.items()}
    along = Vector.from_points(rear["left"], front["left"])
    skew = math.degrees(Vector([1.0, 0.0]).angle_signed(Vector(along[:2])))
    length = float(along.norm())
    found = field_skew_deg(
        left_diagonal_mm=float(front["left"].distance_point(rear["right"])),
        right_diagonal_mm=float(front["right"].distance_point(rear["left"])),
        front_mm=1000.0,
        wheelbase_mm=WHEELBASE,
        rear_mm=1100.0 + (length - 4800.0),
        mat_mm=MAT,
    )
    assert found == pytest.approx(skew, abs=1e-9)


def test_a_rectangle_with_sides_3_and_4_has_diagonals_of_5() -> None:
    """Pythagoras. The carpenters' way to square a frame: equal diagonals. Maths."""
    told = {"front_mm": 1.0, "wheelbase_mm": 2.0, "rear_mm": 1.0, "mat_mm": 3.0}
    assert field_skew_deg(left_diagonal_mm=5.0, right_diagonal_mm=5.0, **told) == 0.0
    with pytest.raises(MeasureError, match="do not belong"):
        field_skew_deg(left_diagonal_mm=9.0, right_diagonal_mm=1.0, **told)

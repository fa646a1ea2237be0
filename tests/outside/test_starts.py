"""Where a target is put first, held against vectors, scipy's rotation and its root finder."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq  # type: ignore[import-untyped]
from scipy.spatial.transform import Rotation  # type: ignore[import-untyped]

from companion.calibration.start import board_start, corner_start, mat_start
from companion.errors import MeasureError
from tests.outside.corner import corner_at


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("thrust_deg", [-0.4, 0.0, 0.31])
def test_the_corners_tapes_are_those_to_a_place_turned_by_scipys_rotation(
    side: float, thrust_deg: float
) -> None:
    """scipy.spatial.transform.Rotation: 180 degrees is straight back, thrust turns all of it."""
    at = corner_at(side, thrust_deg)
    found = corner_start(
        track_mm=1550.0,
        bar_mm=800.0,
        thrust_direction_deg=thrust_deg,
        wanted_radius_mm=2800.0,
        wanted_angle_deg=38.0,
        side=side,
    )
    assert found.left_tape_mm == pytest.approx(math.dist(at[:2], (0.0, 775.0)), abs=1e-6)
    assert found.right_tape_mm == pytest.approx(math.dist(at[:2], (0.0, -775.0)), abs=1e-6)
    along = np.array([-at[1], at[0]]) / 2800.0 * 400.0
    for end in (at[:2] + along, at[:2] - along):
        assert found.bar_end_mm == pytest.approx(float(np.linalg.norm(end)), abs=1e-6)


def mat_corners(end: float) -> dict[str, np.ndarray]:
    """A mat's corners from the middle of its axle, square and in the middle: turned, not reckoned.

    The mat behind the car is the one before it, turned half round by scipy.
    """
    front = [[1000.0, 1200.0, 0.0], [1000.0, -1200.0, 0.0]]
    about = Rotation.from_euler("z", 0.0 if end > 0 else 180.0, degrees=True)
    left, right = sorted(about.apply(front), key=lambda corner: -corner[1])
    return {"left": left, "right": right}


@pytest.mark.parametrize("end", [1.0, -1.0])
def test_a_mat_is_laid_by_its_distances_from_the_wheels(end: float) -> None:
    """Plain vectors: from either wheel's mark to the mat's corners, by numpy.linalg.norm."""
    start = mat_start(track_mm=1550.0, mat_mm=2400.0, wanted_mm=1000.0)
    at = mat_corners(end)
    for side, other, mark in (("left", "right", 775.0), ("right", "left", -775.0)):
        wheel = np.array([0.0, mark, 0.0])
        assert start.tape_mm == pytest.approx(np.linalg.norm(at[side] - wheel))
        assert start.diagonal_mm == pytest.approx(np.linalg.norm(at[other] - wheel))


@pytest.mark.parametrize("slope_up_deg", [-0.2, 0.0, 0.08])
@pytest.mark.parametrize("thrust_deg", [-0.3, 0.25])
def test_a_board_put_by_its_tapes_stands_on_the_thrust_line_at_its_distance(
    thrust_deg: float, slope_up_deg: float
) -> None:
    """scipy.spatial.transform.Rotation and numpy alone: where a board so put comes to stand.

    The foot is where circles of both tapes about the front wheels' marks meet, found by
    scipy.optimize.brentq along the thrust line. On a floor that rises to the front the board, plumb
    on its foot, leans back in the floor's own axes: ahead, away from the car.
    """
    found = board_start(
        track_mm=1550.0,
        wheelbase_mm=2700.0,
        wanted_ahead_mm=2000.0,
        wanted_height_mm=1300.0,
        spot_above_mm=3.0,
        thrust_direction_deg=thrust_deg,
        floor_slope_up_deg=slope_up_deg,
    )
    line = Rotation.from_euler("z", thrust_deg, degrees=True).apply([1.0, 0.0, 0.0])

    def foot(along_mm: float) -> np.ndarray:
        return np.asarray(along_mm * line)

    def tape(along_mm: float, mark: float) -> float:
        return float(np.linalg.norm(foot(along_mm) - np.array([2700.0, mark, 0.0])))

    along = brentq(lambda mm: tape(mm, 775.0) - found.left_tape_mm, 3500.0, 6500.0, xtol=1e-10)
    assert tape(along, -775.0) == pytest.approx(found.right_tape_mm, abs=1e-6)
    # Plumb in axes that rise with the floor: gravity's upright turned nose down by the slope.
    upright = Rotation.from_euler("y", slope_up_deg, degrees=True).apply([0.0, 0.0, 1.0])
    middle = foot(along) + found.height_mm * upright
    assert middle[0] - 2700.0 == pytest.approx(2000.0, abs=1e-6)
    assert found.height_mm + 3.0 == pytest.approx(1300.0)


def test_a_length_of_nothing_is_refused() -> None:
    with pytest.raises(MeasureError, match="start: a mat of 0"):
        mat_start(track_mm=1550.0, mat_mm=0.0, wanted_mm=1000.0)

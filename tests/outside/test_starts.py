"""Where a target is put first, held against a general library's geometry and solver."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from companion.calibration.mats import mat_place
from companion.calibration.start import board_start, corner_start, mat_start
from companion.calibration.target import board_place, corner_place
from companion.errors import MeasureError
from tests.outside.corner import corner_at, figures_of


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
    back = corner_place(
        left_tape_mm=found.left_tape_mm,
        right_tape_mm=found.right_tape_mm,
        **figures_of(side, thrust_deg),
    )
    assert (back.sideways_error_mm, back.away_error_mm) == pytest.approx((0.0, 0.0), abs=1e-6)


def test_a_mat_laid_by_its_two_figures_lies_square_and_in_the_middle() -> None:
    """The judging formula, which tests/outside/test_mats.py holds against a solver."""
    start = mat_start(track_mm=1550.0, mat_mm=2400.0, wanted_mm=1000.0)
    assert start.tape_mm == pytest.approx(math.dist((1000.0, 1200.0), (0.0, 775.0)))
    assert start.diagonal_mm == pytest.approx(math.dist((1000.0, -1200.0), (0.0, 775.0)))
    place = mat_place(
        left_tape_mm=start.tape_mm,
        left_diagonal_mm=start.diagonal_mm,
        right_tape_mm=start.tape_mm,
        right_diagonal_mm=start.diagonal_mm,
        track_mm=1550.0,
        mat_mm=2400.0,
        wanted_mm=1000.0,
        end=1.0,
    )
    off = (place.distance_error_mm, place.sideways_error_mm, place.turned_deg)
    assert off == pytest.approx((0.0, 0.0, 0.0), abs=1e-9)


@pytest.mark.parametrize("thrust_deg", [-0.3, 0.25])
def test_the_boards_tapes_are_where_a_solver_finds_its_place_without_error(
    thrust_deg: float,
) -> None:
    """scipy.optimize.least_squares on the judging formula's two errors."""
    shared = {"track_mm": 1550.0, "wheelbase_mm": 2700.0, "wanted_ahead_mm": 2000.0,
              "wanted_height_mm": 1300.0, "spot_above_mm": 3.0,
              "thrust_direction_deg": thrust_deg, "floor_slope_up_deg": 0.08}  # fmt: skip
    found = board_start(**shared)

    def errors(tapes: np.ndarray) -> list[float]:
        place = board_place(
            left_tape_mm=tapes[0],
            right_tape_mm=tapes[1],
            height_mm=found.height_mm,
            offset_left_mm=0.0,
            **shared,
        )
        return [place.distance_error_mm, place.tapes_disagree_mm]

    solved = least_squares(errors, [2100.0, 2100.0], xtol=1e-14, ftol=1e-14).x
    assert (found.left_tape_mm, found.right_tape_mm) == pytest.approx(solved, abs=1e-5)
    assert found.height_mm == pytest.approx(1297.0)


def test_a_length_of_nothing_is_refused() -> None:
    with pytest.raises(MeasureError, match="start: a mat of 0"):
        mat_start(track_mm=1550.0, mat_mm=0.0, wanted_mm=1000.0)

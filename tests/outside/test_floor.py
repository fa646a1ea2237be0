"""The floor against numpy's least squares and scikit-spatial. Test ids are row ids."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.formulas import evaluate
from companion.calibration.reach import miss_at_range_m
from companion.uncertainty.measured import exact

WHEELS = ("rear_left_mm", "rear_right_mm", "front_left_mm", "front_right_mm")


def floor(
    heights_mm: tuple[float, ...],
    stand_height_mm: float = 0.0,
    wheelbase_mm: float = 2700.0,
    tracks_mm: tuple[float, float] = (1550.0, 1550.0),
    stand_ahead_mm: float = 1900.0,
) -> dict[str, float]:
    """Floor heights go in as rule readings: a higher floor reads less."""
    inputs = {name: exact(100.0 - height) for name, height in zip(WHEELS, heights_mm, strict=True)}
    inputs |= {
        "stand_mm": exact(100.0 - stand_height_mm),
        "wheelbase_mm": exact(wheelbase_mm),
        "rear_track_mm": exact(tracks_mm[0]),
        "front_track_mm": exact(tracks_mm[1]),
        "stand_ahead_mm": exact(stand_ahead_mm),
    }
    return {name: item.value for name, item in evaluate("floor_plane", inputs).items()}


# PLA-2, PLA-3 (numpy.linalg.lstsq), PLA-4 (definition): slope, side slope in degrees, twist in mm.
@pytest.mark.parametrize(
    ("heights", "slope", "side_slope", "twist"),
    [
        pytest.param((0.0, 4.0, 6.0, 2.0), 0.042441310, 0.0, -2.0, id="PLA-2"),
        pytest.param((0.0, 3.0, 5.0, 10.0), 0.127323745, -0.147859748, 0.5, id="PLA-3"),
    ],
)
def test_four_wheels(
    heights: tuple[float, ...], slope: float, side_slope: float, twist: float
) -> None:
    found = floor(heights)
    assert found["floor_slope_up_deg"] == pytest.approx(slope, abs=1e-9)
    assert found["floor_side_slope_deg"] == pytest.approx(side_slope, abs=1e-9)
    assert found["floor_twist_mm"] == pytest.approx(twist, abs=1e-9)


HEIGHT = st.floats(-20.0, 20.0)


# numpy.linalg.lstsq as oracle, with two different tracks.
@given(
    heights=st.tuples(HEIGHT, HEIGHT, HEIGHT, HEIGHT),
    stand=HEIGHT,
    tracks=st.tuples(*[st.floats(1300.0, 1700.0)] * 2),
)
def test_any_floor_as_numpy_fits_it(
    heights: tuple[float, ...], stand: float, tracks: tuple[float, float]
) -> None:
    rear, front = tracks[0] / 2.0, tracks[1] / 2.0
    x, y = np.array([0, 0, 2700.0, 2700.0]), np.array([rear, -rear, front, -front])
    (a, b, c), *_ = np.linalg.lstsq(np.column_stack((x, y, np.ones(4))), np.array(heights))
    found = floor(heights, stand, tracks_mm=tracks)
    assert found["floor_slope_up_deg"] == pytest.approx(math.degrees(math.atan(a)), abs=1e-9)
    assert found["floor_side_slope_deg"] == pytest.approx(math.degrees(math.atan(b)), abs=1e-9)
    assert found["stand_spot_above_mm"] == pytest.approx(stand - (a * 4600.0 + c), abs=1e-8)


# PLA-4 (definition): the twist is the size of what the plane leaves over.
def test_pla_4_the_twist_is_the_residual() -> None:
    heights = np.array([0.0, 3.0, 5.0, 10.0])
    design = np.array([[0, 775, 1], [0, -775, 1], [2700, 775, 1], [2700, -775, 1]], dtype=float)
    solution, *_ = np.linalg.lstsq(design, heights)
    assert heights - design @ solution == pytest.approx(
        floor(tuple(heights))["floor_twist_mm"] * np.array([1, -1, -1, 1])
    )


# PLA-5. scikit-spatial fits square to the plane instead of upright: the sixth digit differs.
def test_pla_5_a_fit_square_to_the_plane_differs_in_the_sixth_digit() -> None:
    plane = pytest.importorskip("skspatial.objects").Plane.best_fit(
        [[0, 775, 0], [0, -775, 4], [2700, 775, 6], [2700, -775, 2]]
    )
    normal = np.array(plane.normal)
    upright = math.tan(math.radians(floor((0.0, 4.0, 6.0, 2.0))["floor_slope_up_deg"]))
    assert -normal[0] / normal[2] * 1000.0 == pytest.approx(0.740742, abs=1e-6)
    assert -normal[0] / normal[2] == pytest.approx(upright, rel=1e-5)


# PLA-6. scikit-spatial's own example, run here: a level floor has a normal straight up.
def test_pla_6_a_level_floor_is_level() -> None:
    plane = pytest.importorskip("skspatial.objects").Plane.best_fit(
        [[0, 0, 0], [1, 0, 0], [0, 1, 0]]
    )
    assert np.abs(np.array(plane.normal)) == pytest.approx([0, 0, 1])
    assert set(floor((0.0, 0.0, 0.0, 0.0)).values()) == {0.0}


# PLA-1 (definition): an exact plane of +2 mm/m forward and -1 mm/m to the left.
def test_pla_1_an_exact_plane_comes_back() -> None:
    heights = tuple(
        0.002 * x - 0.001 * y for x, y in ((0, 775), (0, -775), (2700, 775), (2700, -775))
    )
    found = floor(heights, stand_height_mm=0.002 * 4600.0)
    assert found["floor_slope_up_deg"] == pytest.approx(0.114591406, abs=1e-9)
    assert found["floor_side_slope_deg"] == pytest.approx(-0.057295760, abs=1e-9)
    assert found["floor_twist_mm"] == pytest.approx(0.0, abs=1e-12)
    assert found["stand_spot_above_mm"] == pytest.approx(0.0, abs=1e-9)


# PLA-9 (definition): a slope that is left in, at 100 m.
def test_pla_9_a_forgotten_slope_at_range() -> None:
    slope = floor((0.0, 3.0, 5.0, 10.0))["floor_slope_up_deg"]
    assert miss_at_range_m(exact(slope), 100.0).value == pytest.approx(0.222222, abs=1e-6)


def one(formula: str, **inputs: float) -> dict[str, float]:
    """A formula of the catalogue on exact numbers."""
    found = evaluate(formula, {name: exact(value) for name, value in inputs.items()})
    return {name: item.value for name, item in found.items()}


# PLA-10. Definition: pitch from ride heights.
def test_pla_10_pitch_from_ride_height() -> None:
    stance = one(
        "body_stance",
        front_left_mm=395.0, front_right_mm=395.0, rear_left_mm=385.0, rear_right_mm=385.0,
        wanted_front_mm=385.0, wanted_rear_mm=385.0, wheelbase_mm=2700.0, track_mm=1550.0,
    )  # fmt: skip
    assert stance["body_nose_up_deg"] == pytest.approx(0.212205620, abs=1e-9)
    assert (stance["body_left_high_deg"], stance["body_twist_mm"]) == (0.0, 0.0)


# PLA-11. Definition: what a sloping tape reads too much, per metre.
@pytest.mark.parametrize(("slope_deg", "excess_mm"), [(1.0, 0.152305), (2.0, 0.609173)])
def test_pla_11_cosine_error_of_a_sloping_tape(slope_deg: float, excess_mm: float) -> None:
    found = one("level_distance", tape_mm=1000.0, slope_deg=slope_deg)
    assert 1000.0 - found["level_distance_mm"] == pytest.approx(excess_mm, abs=1e-6)


# PLA-12. Definition. There atan((left - right) / b); here turned to the left counts positive, and a
# bar whose left end is further away is turned to the right.
def test_pla_12_stand_yaw_from_two_distances() -> None:
    found = one(
        "stand_turn_from_distances",
        distance_left_mm=1502.0, distance_right_mm=1498.0, apart_mm=1600.0,
    )  # fmt: skip
    assert found["stand_turn_deg"] == pytest.approx(-0.143239150, abs=1e-9)


# PLA-13. Definition: a rectangle 2000 x 1500 sheared by half a degree. The sheared side, as a tape
# along it reads, is 1500 / cos(0.5 degrees).
def test_pla_13_skew_found_from_diagonals() -> None:
    side_mm = 1500.0 / math.cos(math.radians(0.5))
    found = one(
        "diagonal_skew",
        diagonal_1_mm=2510.4845, diagonal_2_mm=2489.5401, length_mm=2000.0, width_mm=side_mm,
    )  # fmt: skip
    assert found["skew_deg"] == pytest.approx(0.5, abs=1e-5)

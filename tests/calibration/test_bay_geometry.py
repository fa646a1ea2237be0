"""Shims, ride heights, tapes, vials, and the stand's moves taken together."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.coupling import (
    StandError,
    StandGeometry,
    centre_shift_mm,
    stale_after,
    stand_moves,
)
from companion.calibration.floor import floor_plane
from companion.calibration.ride import body_stance
from companion.calibration.shimming import SPOTS, shims
from companion.calibration.tape import (
    level_distance_mm,
    skew_from_diagonals_deg,
    turn_from_two_distances_deg,
)
from companion.calibration.wheels import run_out
from companion.errors import MeasureError
from companion.uncertainty.measured import exact, measured

MM = st.floats(-20.0, 20.0)
SIZE = {
    "stand_mm": 0.0,
    "wheelbase_mm": 2700.0,
    "rear_track_mm": 1550.0,
    "front_track_mm": 1550.0,
    "stand_ahead_mm": 2000.0,
}


@given(readings=st.tuples(MM, MM, MM, MM))
def test_shims_against_twist_leave_none_and_keep_the_slopes(
    readings: tuple[float, float, float, float],
) -> None:
    names = [f"{spot}_mm" for spot in SPOTS]
    found = shims(**dict(zip(names, readings, strict=True)), goal="no_twist")
    assert min(found.thickness_mm) == 0.0
    # A shim raises the floor, so the rule reads less there.
    after = [r - t for r, t in zip(readings, found.thickness_mm, strict=True)]
    before = floor_plane(**dict(zip(names, readings, strict=True)), **SIZE)
    shimmed = floor_plane(**dict(zip(names, after, strict=True)), **SIZE)
    assert shimmed.floor_twist_mm == pytest.approx(0.0, abs=1e-9)
    assert shimmed.floor_slope_up_deg == pytest.approx(before.floor_slope_up_deg, abs=1e-9)
    assert shimmed.floor_side_slope_deg == pytest.approx(before.floor_side_slope_deg, abs=1e-9)


@given(readings=st.tuples(MM, MM, MM, MM), step=st.sampled_from([0.0, 0.5, 1.0, 2.0]))
def test_level_shims_bring_all_four_to_one_height(
    readings: tuple[float, float, float, float], step: float
) -> None:
    names = [f"{spot}_mm" for spot in SPOTS]
    found = shims(**dict(zip(names, readings, strict=True)), goal="level", shim_step_mm=step)
    after = [r - t for r, t in zip(readings, found.thickness_mm, strict=True)]
    assert max(after) - min(after) <= step + 1e-9
    assert found.largest_left_mm <= step / 2 + 1e-9
    thickest_first = [thickness for _, thickness in found.spots()]
    assert thickest_first == sorted(thickest_first, reverse=True)


def test_the_low_diagonal_is_what_gets_raised() -> None:
    found = shims(
        rear_left_mm=400.0, rear_right_mm=404.0, front_left_mm=404.0, front_right_mm=400.0,
        goal="no_twist",
    )  # fmt: skip
    # Rear right and front left read more, so they lie lower.
    assert found.thickness_mm == (0.0, 4.0, 4.0, 0.0)
    assert {name for name, _ in found.spots()} == {"rear_right", "front_left"}
    with pytest.raises(MeasureError, match="shim_step_mm"):
        shims(
            rear_left_mm=0, rear_right_mm=0, front_left_mm=0, front_right_mm=0,
            goal="level", shim_step_mm=-1.0,
        )  # fmt: skip


STANCE = {
    "wanted_front_mm": 385.0,
    "wanted_rear_mm": 390.0,
    "wheelbase_mm": 2700.0,
    "track_mm": 1550.0,
}


def test_a_load_behind_lifts_the_nose_and_one_in_a_corner_twists() -> None:
    level = body_stance(
        front_left_mm=385, front_right_mm=385, rear_left_mm=390, rear_right_mm=390, **STANCE
    )
    assert (level.body_nose_up_deg, level.body_left_high_deg, level.body_twist_mm) == (0, 0, 0)
    boot = body_stance(
        front_left_mm=387, front_right_mm=387, rear_left_mm=380, rear_right_mm=380, **STANCE
    )
    assert boot.body_nose_up_deg == pytest.approx(math.degrees(math.atan(12 / 2700)))
    corner = body_stance(
        front_left_mm=385, front_right_mm=385, rear_left_mm=390, rear_right_mm=382, **STANCE
    )
    assert corner.body_left_high_deg > 0
    assert corner.body_twist_mm == -2.0
    with pytest.raises(MeasureError, match="track_mm"):
        body_stance(
            front_left_mm=1, front_right_mm=1, rear_left_mm=1, rear_right_mm=1,
            **STANCE | {"track_mm": 0.0},
        )  # fmt: skip


@given(length=st.floats(500, 4000), width=st.floats(500, 4000), skew=st.floats(-20, 20))
def test_skew_is_found_from_the_diagonals(length: float, width: float, skew: float) -> None:
    # Corners of the rectangle whose front end is pushed to the left, taped across by Pythagoras.
    along, aside = length * math.cos(math.radians(skew)), length * math.sin(math.radians(skew))
    one, two = math.hypot(along, width + aside), math.hypot(along, width - aside)
    sides = {"length_mm": length, "width_mm": width}
    found = skew_from_diagonals_deg(diagonal_1_mm=one, diagonal_2_mm=two, **sides)
    assert found == pytest.approx(skew, abs=1e-8)
    other = skew_from_diagonals_deg(diagonal_1_mm=two, diagonal_2_mm=one, **sides)
    assert other == pytest.approx(-skew, abs=1e-8)


def test_tapes_that_cannot_be_are_refused() -> None:
    with pytest.raises(MeasureError, match="do not belong"):
        skew_from_diagonals_deg(
            diagonal_1_mm=9000, diagonal_2_mm=100, length_mm=1000, width_mm=1000
        )
    with pytest.raises(MeasureError, match="two above 0"):
        skew_from_diagonals_deg(diagonal_1_mm=1, diagonal_2_mm=1, length_mm=0, width_mm=1)
    with pytest.raises(MeasureError, match="apart_mm"):
        turn_from_two_distances_deg(distance_left_mm=1, distance_right_mm=1, apart_mm=0)


def test_a_bar_whose_left_end_is_nearer_is_turned_left() -> None:
    turn = turn_from_two_distances_deg(distance_left_mm=1498, distance_right_mm=1502, apart_mm=1600)
    assert turn > 0
    # The bar's left end, half the bar left of its middle, lies back when it is turned left.
    ahead = -800 * math.sin(math.radians(turn))
    assert ahead == pytest.approx(-2.0, abs=1e-4)
    assert level_distance_mm(tape_mm=1000, slope_deg=2) < 1000


TOLERANCE = StandError(exact(0.1), exact(5.0), exact(10.0), exact(8.0))


def stand(turn: float, sideways: float, distance: float, height: float = 0.0) -> StandError:
    return StandError(
        measured("turn", turn, 0.012),
        measured("sideways", sideways, 0.6),
        measured("distance", distance, 1.0),
        measured("height", height, 0.6),
    )


@given(
    turn=st.floats(-2, 2),
    sideways=st.floats(-80, 80),
    distance=st.floats(-80, 80),
    height=st.floats(-50, 50),
    foot=st.tuples(st.floats(-300, 300), st.floats(-400, 400)),
)
def test_the_moves_in_their_order_bring_the_stand_to_its_place(
    turn: float, sideways: float, distance: float, height: float, foot: tuple[float, float]
) -> None:
    geometry = StandGeometry(*foot, foot_u_mm=1.0)
    moves = stand_moves(stand(turn, sideways, distance, height), TOLERANCE, geometry)
    assert len(moves) <= 4
    at = {"turn": turn, "sideways": sideways, "distance": distance, "height": height}
    for move in moves:
        if move.quantity == "turn":
            # The foot stays where it is while the stand turns: plane geometry, another way.
            z = complex(*foot)
            shift = z - z * complex(
                math.cos(math.radians(move.amount)), math.sin(math.radians(move.amount))
            )
            at["distance"] += shift.real
            at["sideways"] += shift.imag
        at[move.quantity] += move.amount
    for quantity, value in at.items():
        assert abs(value) <= TOLERANCE.of(quantity).value + 1e-6  # type: ignore[arg-type]


def test_a_stand_that_is_right_is_left_alone_and_a_turn_comes_first() -> None:
    assert stand_moves(stand(0.0, 0.0, 0.0), TOLERANCE) == ()
    moves = stand_moves(stand(1.0, 40.0, -40.0, 30.0), TOLERANCE)
    assert [move.quantity for move in moves] == ["turn", "sideways", "distance", "height"]
    assert moves[0].amount == -1.0
    assert stale_after(moves) == ("turn", "sideways", "distance", "height")
    assert stale_after(moves[3:]) == ("height",)


def test_a_turn_about_an_unknown_foot_adds_doubt_to_the_moves_after_it_but_no_move() -> None:
    sharp, vague = StandGeometry(foot_u_mm=0.0), StandGeometry(foot_u_mm=400.0)
    assert [m.quantity for m in stand_moves(stand(1.0, 3.0, 0.0), TOLERANCE, vague)] == ["turn"]
    known, guessed = (stand_moves(stand(1.0, 40.0, 0.0), TOLERANCE, g)[1] for g in (sharp, vague))
    assert known.amount == guessed.amount
    assert guessed.u == pytest.approx(math.hypot(known.u, math.radians(1.0) * 400.0))


def test_a_mirrored_stand_moves_the_other_way() -> None:
    here = stand_moves(stand(0.8, 30.0, 20.0), TOLERANCE, StandGeometry(100.0, 200.0, 1.0))
    there = stand_moves(stand(-0.8, -30.0, 20.0), TOLERANCE, StandGeometry(100.0, -200.0, 1.0))
    for one, other in zip(here, there, strict=True):
        sign = 1 if one.quantity in ("distance", "height") else -1
        assert other.amount == pytest.approx(sign * one.amount)


def test_a_scale_too_coarse_for_its_tolerance_is_refused() -> None:
    blurred = StandError(measured("t", 0.0, 0.2), exact(0.0), exact(0.0), exact(0.0))
    with pytest.raises(MeasureError, match="turn can never be inside"):
        stand_moves(blurred, TOLERANCE)


def test_the_centre_moves_with_the_turn_about_the_foot() -> None:
    assert centre_shift_mm(0.0, StandGeometry(100.0, 100.0)) == (0.0, 0.0)
    assert np.hypot(*centre_shift_mm(1.0, StandGeometry(0.0, 400.0))) == pytest.approx(
        2 * 400 * math.sin(math.radians(0.5))
    )


@pytest.mark.parametrize("back_deg", [-90.0, 0.0, 3.0, 90.0, 180.0])
def test_a_wheel_let_down_beside_its_mark_heads_as_it_did_there(back_deg: float) -> None:
    """A beam that wobbles by 12 mm about 800, read at any turn of the wheel past its first mark."""

    def spot(turned_deg: float) -> float:
        return 800.0 + 12.0 * math.cos(math.radians(turned_deg - 40.0))

    found = run_out(
        spot_0_mm=spot(0.0),
        spot_90_mm=spot(90.0),
        spot_180_mm=spot(180.0),
        spot_270_mm=spot(270.0),
        path_mm=4_700.0,
        grows_to_left=1.0,
        wheel_back_deg=back_deg,
    )
    there = math.degrees(math.atan((spot(back_deg) - 800.0) / 4_700.0))
    assert found.run_out_heading_deg == pytest.approx(there, abs=1e-9)

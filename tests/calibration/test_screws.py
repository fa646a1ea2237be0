"""Two screws on one pivot: how far each is turned, and in which steps."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from fractions import Fraction
from typing import Literal

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from companion.calibration.mount import Mount, Screw, forward, geometry_response, inverse
from companion.calibration.response import SETTING_U_TURNS, Response, as_matrix, prior_response
from companion.calibration.screws import plan_turns
from companion.errors import MeasureError
from companion.uncertainty.bivariate import box_probability

SMALL_DOUBT = [[0.0004, 0.0], [0.0, 0.0004]]


def screw(name: str, y_mm: float, z_mm: float) -> Screw:
    return Screw(
        id=name.replace(" ", "_"),
        name=name,
        y_mm=y_mm,
        z_mm=z_mm,
        pitch_mm=0.8,
        hand="right",
        travel_clockwise_turns=4.0,
        travel_anticlockwise_turns=4.0,
        smallest_turn=0.25,
        backlash_turns=0.2,
    )


MOUNT = Mount((screw("upper left", 60.0, 50.0), screw("lower right", -30.0, -55.0)), "clockwise")


def with_screws(**changes: object) -> Mount:
    first, second = (replace(item, **changes) for item in MOUNT.screws)  # type: ignore[arg-type]
    return Mount((first, second), MOUNT.approach)


def sure(mount: Mount) -> Response:
    return Response(as_matrix(geometry_response(mount)), as_matrix(np.zeros((4, 4))))


POSITIONS = st.tuples(*[st.floats(-80.0, 80.0)] * 4)
HANDS: st.SearchStrategy[Literal["right", "left"]] = st.sampled_from(["right", "left"])


@st.composite
def mounts(draw: st.DrawFn) -> Mount:
    y1, z1, y2, z2 = draw(POSITIONS)
    lengths = math.hypot(y1, z1) * math.hypot(y2, z2)
    assume(min(math.hypot(y1, z1), math.hypot(y2, z2)) > 10.0)
    assume(abs(y1 * z2 - y2 * z1) > 0.2 * lengths)
    first = replace(screw("first", y1, z1), hand=draw(HANDS))
    second = replace(screw("second", y2, z2), hand=draw(HANDS))
    return Mount((first, second), draw(st.sampled_from(["clockwise", "anticlockwise"])))


@given(mount=mounts(), turns=st.tuples(*[st.floats(-6.0, 6.0)] * 2))
def test_inverse_undoes_forward(mount: Mount, turns: tuple[float, float]) -> None:
    assert inverse(mount, *forward(mount, turns)) == pytest.approx(turns, abs=1e-9)


@given(mount=mounts(), yaw=st.floats(-3.0, 3.0), elevation=st.floats(-3.0, 3.0))
def test_a_mirrored_mount_takes_the_same_turns_for_the_mirrored_aim(
    mount: Mount, yaw: float, elevation: float
) -> None:
    first, second = (replace(item, y_mm=-item.y_mm) for item in mount.screws)
    mirrored = Mount((first, second), mount.approach)
    assert inverse(mirrored, -yaw, elevation) == pytest.approx(inverse(mount, yaw, elevation))


@given(mount=mounts())
def test_the_linear_response_is_the_slope_of_the_exact_one(mount: Mount) -> None:
    small = 1e-4
    columns = [forward(mount, (small, 0.0)), forward(mount, (0.0, small))]
    assert np.array(columns).T / small == pytest.approx(geometry_response(mount), abs=1e-5)


def test_clockwise_on_the_left_turns_left_and_on_top_turns_up() -> None:
    mount = Mount((screw("left", 60.0, 0.0), screw("top", 0.0, 60.0)), "clockwise")
    assert forward(mount, (1.0, 0.0))[0] > 0.0
    assert forward(mount, (0.0, 1.0))[1] > 0.0
    left_handed = replace(mount.screws[0], hand="left")
    assert forward(Mount((left_handed, mount.screws[1]), "clockwise"), (1.0, 0.0))[0] < 0.0


@given(
    mount=mounts(),
    aim=st.tuples(*[st.floats(-1.5, 1.5)] * 2),
    tolerance=st.floats(0.1, 0.5),
)
def test_no_other_pair_of_quarter_turns_inside_the_tolerance_is_likelier(
    mount: Mount, aim: tuple[float, float], tolerance: float
) -> None:
    plan = plan_turns(mount, *aim, sure(mount), (0, 0), tolerance, tolerance, SMALL_DOUBT, 0.0)
    steps = np.arange(-14, 15) * 0.25
    pairs = np.array(list(itertools.product(steps, steps)))
    left = np.array(aim) + pairs @ geometry_response(mount).T
    exact_turns = np.array(inverse(mount, -aim[0], -aim[1]))
    assume(bool(np.all(np.abs(exact_turns) < 3.0)))
    error = np.abs(left).max(axis=1)
    # A pair right on the limit may fall either way by rounding.
    assert plan.reachable or not bool(np.any(error < tolerance - 1e-6))
    assert not plan.reachable or bool(np.any(error < tolerance + 1e-6))
    inside = left[error < tolerance - 1e-6]
    if len(inside):
        spread = np.broadcast_to(SMALL_DOUBT, (len(inside), 2, 2))
        best = box_probability(inside, spread, np.array([tolerance] * 2)).max()
        assert plan.predicted_probability >= best - 0.011


@given(mount=mounts(), aim=st.tuples(*[st.floats(-4.0, 4.0)] * 2))
def test_the_steps_add_up_end_in_the_approach_and_stay_within_the_travel(
    mount: Mount, aim: tuple[float, float]
) -> None:
    plan = plan_turns(mount, *aim, prior_response(mount), (1.0, -1.5), 0.3, 0.3, SMALL_DOUBT)
    for item, so_far, net in zip(mount.screws, (1.0, -1.5), plan.turns, strict=True):
        assert net % item.step == 0
        mine = [step for step in plan.steps if step.screw_id == item.id]
        assert all(step.turns > 0 for step in mine)
        signed = [step.turns if step.direction == "clockwise" else -step.turns for step in mine]
        assert sum(signed, Fraction(0)) == net
        assert not mine or mine[-1].direction == mount.approach
        for position in itertools.accumulate(signed, initial=Fraction(so_far)):
            assert -4.0 <= position <= 4.0


def test_against_the_approach_the_screw_overshoots_by_the_backlash_and_comes_back() -> None:
    mount = Mount((screw("left", 60.0, 0.0), screw("top", 0.0, 60.0)), "clockwise")
    plan = plan_turns(mount, 0.5730, 0.0, sure(mount), (0, 0), 0.1, 0.1, SMALL_DOUBT)
    assert list(plan.turns) == [Fraction(-3, 4), 0]
    assert [(step.screw_id, step.direction, step.turns) for step in plan.steps] == [
        ("left", "anticlockwise", Fraction(1)),
        ("left", "clockwise", Fraction(1, 4)),
    ]


def test_without_backlash_nothing_is_overshot() -> None:
    mount = with_screws(backlash_turns=0.0)
    plan = plan_turns(mount, 0.6, 0.3, sure(mount), (0, 0), 0.2, 0.2, SMALL_DOUBT)
    assert len(plan.steps) == sum(turn != 0 for turn in plan.turns)


def test_an_aim_that_is_right_already_is_left_alone() -> None:
    plan = plan_turns(MOUNT, 0.01, -0.01, prior_response(MOUNT), (0, 0), 0.3, 0.3, SMALL_DOUBT)
    assert list(plan.turns) == [0, 0]
    assert plan.steps == ()
    assert plan.reachable
    assert plan.predicted_probability > 0.999


def test_the_pair_is_searched_not_rounded_screw_by_screw() -> None:
    # Both screws on one side: rounding each would leave the elevation outside.
    mount = Mount((screw("upper", 60.0, 40.0), screw("lower", 60.0, -10.0)), "clockwise")
    rounded_outside = 0
    for yaw, elevation in itertools.product(np.linspace(-1, 1, 9), np.linspace(-1, 1, 9)):
        plan = plan_turns(mount, yaw, elevation, sure(mount), (0, 0), 0.14, 0.14, SMALL_DOUBT)
        nearest = np.round(np.array(inverse(mount, -yaw, -elevation)) * 4) / 4
        left = np.array([yaw, elevation]) + geometry_response(mount) @ nearest
        if plan.reachable and np.abs(left).max() > 0.14:
            rounded_outside += 1
        if np.abs(left).max() <= 0.14:
            assert plan.reachable
    assert rounded_outside > 0


def test_too_coarse_a_turn_is_said_before_anyone_turns() -> None:
    mount = Mount((screw("left", 60.0, 0.0), screw("top", 0.0, 60.0)), "clockwise")
    plan = plan_turns(mount, 0.095, 0.0, sure(mount), (0, 0), 0.05, 0.05, SMALL_DOUBT)
    assert not plan.reachable
    assert plan.why == (
        "steps of 1/4 turn are too coarse: the best that can be left is 0.10 degrees to the left "
        "and 0.00 degrees up, allowed are 0.05 and 0.05"
    )
    assert "-" not in plan.why


def test_travel_that_is_used_up_is_named_with_the_screw() -> None:
    mount = with_screws(travel_clockwise_turns=0.5, travel_anticlockwise_turns=0.5)
    plan = plan_turns(mount, -2.0, 1.0, prior_response(mount), (0, 0), 0.2, 0.2, SMALL_DOUBT)
    assert not plan.reachable
    assert plan.why.startswith("the upper left screw would need")
    assert "has 1/2 left" in plan.why


def test_a_screw_beyond_its_travel_may_still_come_back() -> None:
    plan = plan_turns(MOUNT, 0.8, 0.8, prior_response(MOUNT), (5.0, 0.0), 0.2, 0.2, SMALL_DOUBT)
    assert plan.turns[0] <= 0


def test_more_doubt_in_the_mount_means_less_certainty_and_never_more_turns() -> None:
    vague = prior_response(MOUNT, 0.4)
    known = plan_turns(MOUNT, 0.7, -0.4, sure(MOUNT), (0, 0), 0.3, 0.3, SMALL_DOUBT)
    guessed = plan_turns(MOUNT, 0.7, -0.4, vague, (0, 0), 0.3, 0.3, SMALL_DOUBT)
    assert guessed.predicted_probability < known.predicted_probability
    assert np.trace(guessed.predicted_covariance) > np.trace(known.predicted_covariance)


def test_sixths_of_a_turn_stay_sixths() -> None:
    mount = with_screws(smallest_turn=0.1667)
    assert mount.screws[0].step == Fraction(1, 6)


@pytest.mark.parametrize(
    ("means", "limits"),
    [((0.05, -0.1), (0.3, 0.2)), ((0.5, 0.1), (0.3, 0.4)), ((0.0, 0.0), (2.0, 0.01))],
)
@pytest.mark.parametrize("correlation", [0.0, 0.6, -0.95])
def test_the_chance_of_both_inside_matches_drawn_pairs(
    means: tuple[float, float], limits: tuple[float, float], correlation: float
) -> None:
    u = np.array([0.15, 0.1])
    spread: NDArray[np.float64] = np.outer(u, u) * np.array([[1, correlation], [correlation, 1]])
    pairs = np.random.default_rng(7).multivariate_normal(means, spread, 200_000)
    drawn = float(np.mean(np.all(np.abs(pairs) <= limits, axis=1)))
    (computed,) = box_probability(np.array([means]), spread[None], np.array(limits))
    assert computed == pytest.approx(drawn, abs=0.005)


BAD: list[tuple[str, float, str]] = [
    ("pitch_mm", 0.0, "pitch_mm"),
    ("smallest_turn", 0.0, "smallest_turn"),
    ("backlash_turns", -0.1, "backlash"),
    ("travel_clockwise_turns", -1.0, "travel_clockwise"),
]


@pytest.mark.parametrize(("field", "value", "named"), BAD)
def test_a_screw_that_cannot_be_is_refused(field: str, value: float, named: str) -> None:
    with pytest.raises(MeasureError, match=named):
        with_screws(**{field: value})


def test_screws_on_one_line_with_the_pivot_are_refused() -> None:
    with pytest.raises(MeasureError, match="one line"):
        Mount((screw("near", 30.0, 30.0), screw("far", 60.0, 60.0)), "clockwise")
    with pytest.raises(MeasureError, match="different names"):
        Mount((screw("one", 30.0, 0.0), screw("one", 0.0, 60.0)), "clockwise")


def test_tolerances_and_responses_that_cannot_steer_are_refused() -> None:
    with pytest.raises(MeasureError, match="tolerances"):
        plan_turns(MOUNT, 0.1, 0.1, sure(MOUNT), (0, 0), 0.0, 0.3, SMALL_DOUBT)
    flat = Response(((1.0, 1.0), (1.0, 1.0)), as_matrix(np.zeros((4, 4))))
    with pytest.raises(MeasureError, match="one direction"):
        plan_turns(MOUNT, 0.1, 0.1, flat, (0, 0), 0.3, 0.3, SMALL_DOUBT)
    with pytest.raises(MeasureError, match="under 90"):
        inverse(MOUNT, 90.0, 0.0)


@pytest.mark.parametrize("turns", [(1.0, 0.0), (-1.0, 0.0), (0.0, 0.5), (0.0, -1.0), (0.5, -1.0)])
def test_only_a_screw_that_is_turned_may_be_set_wrongly(turns: tuple[float, float]) -> None:
    """A hand that touches one screw leaves no doubt of the other: neither more nor less."""
    yaw, elevation = forward(MOUNT, turns)
    noise = np.diag([1e-4, 2e-4])
    plan = plan_turns(MOUNT, -yaw, -elevation, sure(MOUNT), (0, 0), 0.05, 0.05, noise)
    assert [float(turn) for turn in plan.turns] == list(turns)
    wanted = noise.copy()
    for turn, column in zip(turns, geometry_response(MOUNT).T, strict=True):
        if turn:
            wanted += SETTING_U_TURNS**2 * np.outer(column, column)
    assert np.array(plan.predicted_covariance) == pytest.approx(wanted)


def test_each_axis_is_told_with_the_limit_of_its_own() -> None:
    mount = Mount((screw("left", 60.0, 0.0), screw("top", 0.0, 60.0)), "clockwise")
    plan = plan_turns(mount, 0.095, 0.0, sure(mount), (0, 0), 0.05, 0.06, SMALL_DOUBT)
    assert plan.why.endswith("allowed are 0.05 and 0.06")


def test_whole_turns_are_the_coarsest_and_64ths_the_finest() -> None:
    assert with_screws(smallest_turn=1.0).screws[0].step == 1
    assert with_screws(smallest_turn=1 / 64).screws[0].step == Fraction(1, 64)


@pytest.mark.parametrize("tolerances_deg", [(0.0, 0.4), (0.5, 0.0), (-0.25, 0.5)])
def test_tolerances_that_are_none_are_named_as_they_were_given(
    tolerances_deg: tuple[float, float],
) -> None:
    mount = Mount((screw("left", 60.0, 5.0), screw("upper", -4.0, 55.0)), "clockwise")
    yaw, elevation = tolerances_deg
    wanted = f"found tolerances {yaw} and {elevation} degrees; wanted: two above 0"
    with pytest.raises(MeasureError, match=wanted):
        plan_turns(mount, 0.5, 0.3, prior_response(mount), (0, 0), yaw, elevation, SMALL_DOUBT)

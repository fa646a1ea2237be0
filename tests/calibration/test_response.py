"""The mount's true answer is learned, and a slip at the screws is told from a stiff mount."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from companion.calibration.hypothesis_test import explain_move
from companion.calibration.mount import Mount, Screw, forward, geometry_response
from companion.calibration.response import Response, as_matrix, learn, prior_response
from companion.calibration.screws import plan_turns
from companion.errors import MeasureError

UPPER = Screw("upper_left", "upper left", 60.0, 5.0, 0.8, "right", 5.0, 5.0, 0.25, 0.1)
LOWER = Screw("lower_right", "lower right", -4.0, -55.0, 0.8, "right", 5.0, 5.0, 0.25, 0.1)
MOUNT = Mount((UPPER, LOWER), "clockwise")
MOVE_DOUBT = np.diag([0.03**2, 0.03**2])
PLANNED = (1.5, -0.5)


def test_a_prior_without_doubt_is_refused() -> None:
    with pytest.raises(MeasureError, match="relative_sd"):
        prior_response(MOUNT, 0.0)


def test_learning_equals_least_squares_with_the_prior_as_readings() -> None:
    prior = prior_response(MOUNT)
    moved = np.array([0.9, 0.4])
    learned = learn(prior, PLANNED, moved[0], moved[1], MOVE_DOUBT, setting_u_turns=0.0)

    design = np.array([[*PLANNED, 0.0, 0.0], [0.0, 0.0, *PLANNED]])
    weight_prior, weight_move = np.linalg.inv(prior.covariance), np.linalg.inv(MOVE_DOUBT)
    spread = np.linalg.inv(weight_prior + design.T @ weight_move @ design)
    best = spread @ (weight_prior @ np.ravel(prior.mean) + design.T @ weight_move @ moved)
    assert np.ravel(learned.mean) == pytest.approx(best, abs=1e-9)
    assert np.array(learned.covariance) == pytest.approx(spread, abs=1e-9)


def test_moves_in_two_directions_teach_the_true_response() -> None:
    true = geometry_response(MOUNT) * np.array([[0.8, 1.15], [0.9, 1.1]])
    response = prior_response(MOUNT)
    for turns in ((1.0, 0.0), (0.0, 1.0), (2.0, -1.0), (-1.0, 2.0)):
        moved = true @ np.array(turns)
        response = learn(
            response, turns, moved[0], moved[1], np.diag([1e-6, 1e-6]), setting_u_turns=0.0
        )
    assert np.array(response.mean) == pytest.approx(true, abs=0.01)


def test_learning_never_adds_doubt_and_no_turns_teach_nothing() -> None:
    prior = prior_response(MOUNT)
    learned = learn(prior, PLANNED, 1.0, 0.3, MOVE_DOUBT)
    assert np.all(np.linalg.eigvalsh(np.subtract(prior.covariance, learned.covariance)) > -1e-12)
    assert np.all(np.linalg.eigvalsh(np.array(learned.covariance)) > 0.0)
    assert learn(prior, (0, 0), 0.1, 0.1, MOVE_DOUBT) is prior


def rounds_until_inside(
    true: np.ndarray[tuple[int, int], np.dtype[np.float64]], teach: bool
) -> int:
    """Aim, turn, measure, as in the bay, until both angles are within 0.15 degrees."""
    aim, response, so_far = np.array([2.0, -1.6]), prior_response(MOUNT), np.zeros(2)
    for done in range(10):
        if np.abs(aim).max() <= 0.15:
            return done
        plan = plan_turns(
            MOUNT, aim[0], aim[1], response, list(so_far), 0.15, 0.15, MOVE_DOUBT / 10
        )
        turns = np.array([float(turn) for turn in plan.turns])
        moved = true @ turns
        aim, so_far = aim + moved, so_far + turns
        if teach:
            response = learn(response, plan.turns, moved[0], moved[1], MOVE_DOUBT / 10)
    return 10


def test_learning_brings_a_stiff_mount_in_in_fewer_rounds() -> None:
    stiff = geometry_response(MOUNT) @ np.diag([0.6, 0.7])
    assert rounds_until_inside(stiff, teach=True) < rounds_until_inside(stiff, teach=False)


@pytest.mark.parametrize(
    ("turned", "kind", "blamed"),
    [
        ((1.5, -0.5), "as_planned", ()),
        ((-1.5, -0.5), "wrong_way", ("upper_left",)),
        ((1.5, 0.5), "wrong_way", ("lower_right",)),
        ((-1.5, 0.5), "wrong_way", ("upper_left", "lower_right")),
        ((-0.5, 1.5), "wrong_screw", ("upper_left", "lower_right")),
    ],
)
def test_each_slip_is_told_from_the_others(
    turned: tuple[float, float], kind: str, blamed: tuple[str, ...]
) -> None:
    verdict = explain_move(
        MOUNT, prior_response(MOUNT), PLANNED, forward(MOUNT, turned), MOVE_DOUBT
    )
    assert (verdict.kind, verdict.screw_ids) == (kind, blamed)
    assert verdict.probability > 0.75


def test_a_mount_that_answers_a_fifth_weaker_is_still_as_planned() -> None:
    moved = 0.8 * np.array(forward(MOUNT, PLANNED))
    verdict = explain_move(MOUNT, prior_response(MOUNT), PLANNED, (moved[0], moved[1]), MOVE_DOUBT)
    assert verdict.kind == "as_planned"


def test_a_sensor_that_slipped_in_its_clips_is_unexplained() -> None:
    verdict = explain_move(MOUNT, prior_response(MOUNT), PLANNED, (-0.5, 3.0), MOVE_DOUBT)
    assert (verdict.kind, verdict.screw_ids) == ("unexplained", ())


def test_a_single_screw_turned_the_wrong_way_is_named() -> None:
    verdict = explain_move(
        MOUNT, prior_response(MOUNT), (0, 1), forward(MOUNT, (0, -1)), MOVE_DOUBT
    )
    assert (verdict.kind, verdict.screw_ids) == ("wrong_way", ("lower_right",))


def test_a_move_too_small_to_see_is_never_called_a_slip() -> None:
    blurred = np.diag([0.5**2, 0.5**2])
    verdict = explain_move(MOUNT, prior_response(MOUNT), (0.25, 0), (-0.1, 0.0), blurred)
    assert verdict.kind == "as_planned"


def test_a_mirrored_mount_tells_the_same_story() -> None:
    mirrored = Mount(
        (replace(UPPER, y_mm=-UPPER.y_mm), replace(LOWER, y_mm=-LOWER.y_mm)), "clockwise"
    )
    yaw, elevation = forward(MOUNT, (-1.5, -0.5))
    here = explain_move(MOUNT, prior_response(MOUNT), PLANNED, (yaw, elevation), MOVE_DOUBT)
    there = explain_move(mirrored, prior_response(mirrored), PLANNED, (-yaw, elevation), MOVE_DOUBT)
    assert there.kind == here.kind
    assert there.screw_ids == here.screw_ids
    assert there.probability == pytest.approx(here.probability)


def test_how_often_chance_alone_raises_a_false_alarm() -> None:
    generator = np.random.default_rng(20_240_612)
    prior = prior_response(MOUNT)
    alarms = 0
    for _ in range(1000):
        entries = generator.multivariate_normal(np.ravel(prior.mean), prior.covariance)
        turned = np.array(PLANNED) + generator.normal(0.0, 0.02, 2)
        moved = entries.reshape(2, 2) @ turned + generator.multivariate_normal([0, 0], MOVE_DOUBT)
        verdict = explain_move(MOUNT, prior, PLANNED, (moved[0], moved[1]), MOVE_DOUBT)
        alarms += verdict.kind != "as_planned"
    assert alarms <= 20


def test_nothing_planned_has_no_story() -> None:
    with pytest.raises(MeasureError, match="no story"):
        explain_move(MOUNT, prior_response(MOUNT), (0, 0), (0.1, 0.1), MOVE_DOUBT)


def test_a_response_can_be_compared_and_stored() -> None:
    prior = prior_response(MOUNT)
    assert prior == Response(as_matrix(prior.mean), as_matrix(prior.covariance))
    assert hash(prior) == hash(prior_response(MOUNT))


def test_a_wrong_way_turn_that_lost_its_backlash_is_still_told() -> None:
    loose = Mount((replace(UPPER, backlash_turns=0.6), LOWER), "clockwise")
    learned = Response(as_matrix(geometry_response(loose)), as_matrix(1e-4 * np.eye(4)))
    lost = forward(loose, (-1.5 + 0.6, -0.5))
    verdict = explain_move(loose, learned, PLANNED, lost, MOVE_DOUBT)
    assert (verdict.kind, verdict.screw_ids) == ("wrong_way", ("upper_left",))
    tight = explain_move(MOUNT, learned, PLANNED, lost, MOVE_DOUBT)
    assert tight.kind == "unexplained"

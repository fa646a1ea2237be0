"""A slip at the screws is told from a mount that answers otherwise than its drawing."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from companion.calibration.hypotheses import possible_stories
from companion.calibration.hypothesis_test import explain_move, learn_from_move
from companion.calibration.mount import Mount, Screw, forward, geometry_response
from companion.calibration.response import learn, prior_response
from companion.calibration.screws import plan_turns
from companion.calibration.steps import steps_for, tip_travels

LEFT = Screw("left", "left", 60.0, 5.0, 0.8, "right", 5.0, 5.0, 0.25, 0.1)
UPPER = Screw("upper", "upper", -4.0, 55.0, 0.8, "right", 5.0, 5.0, 0.25, 0.1)
MOUNT = Mount((LEFT, UPPER), "clockwise")
MOVE_DOUBT = np.diag([0.03**2, 0.04**2])
Heads = tuple[float, float]


def quarters(*turns: float) -> tuple[Fraction, ...]:
    return tuple(Fraction(turn) for turn in turns)


@pytest.mark.parametrize(
    ("planned", "made", "kind", "blamed"),
    [
        ((2.0, 1.0), (0.0, 3.0), "wrong_screw", ("left",)),
        ((2.0, 1.0), (3.0, 0.0), "wrong_screw", ("upper",)),
        ((2.0, 1.0), (1.0, 2.0), "wrong_screw", ("left", "upper")),
        ((2.0, 1.0), (0.0, 1.0), "not_turned", ("left",)),
        ((2.0, 1.0), (2.0, 0.0), "not_turned", ("upper",)),
        ((2.0, 1.0), (0.0, 0.0), "not_turned", ("left", "upper")),
        ((2.0, 1.0), (-2.0, 1.0), "wrong_way", ("left",)),
        ((2.0, 1.0), (2.0, -1.0), "wrong_way", ("upper",)),
        ((2.0, 1.0), (4.0, 1.0), "twice_as_far", ("left",)),
        ((0.0, 1.0), (1.0, 0.0), "wrong_screw", ("upper",)),
        ((2.5, 0.25), (2.5, -0.25), "wrong_way", ("upper",)),
        ((0.25, 2.5), (-0.25, 2.5), "wrong_way", ("left",)),
    ],
)
def test_every_slip_is_named_with_its_screws_and_the_turns_really_made(
    planned: Heads, made: Heads, kind: str, blamed: tuple[str, ...]
) -> None:
    verdict = explain_move(
        MOUNT, prior_response(MOUNT), quarters(*planned), forward(MOUNT, made), MOVE_DOUBT
    )
    assert (verdict.kind, verdict.screw_ids) == (kind, blamed)
    assert verdict.turned == made


def test_a_step_of_an_overshoot_that_went_the_wrong_way_is_named() -> None:
    # One turn anticlockwise is made as one and a quarter back and a quarter forth.
    planned = quarters(-1.0, 0.0)
    made = [(step.direction, step.turns) for step in steps_for(MOUNT, planned)]
    assert made == [("anticlockwise", Fraction(5, 4)), ("clockwise", Fraction(1, 4))]
    moved = forward(MOUNT, (1.5, 0.0))
    verdict = explain_move(MOUNT, prior_response(MOUNT), planned, moved, MOVE_DOUBT)
    assert (verdict.kind, verdict.screw_ids) == ("wrong_way", ("left",))
    assert verdict.turned == (Fraction(3, 2), Fraction(0))


def test_the_next_plan_after_a_named_slip_brings_the_aim_inside() -> None:
    response, aim = prior_response(MOUNT), np.array([-1.5, -0.9])
    plan = plan_turns(MOUNT, *aim, response, (0, 0), 0.4, 0.4, MOVE_DOUBT)
    slipped = (float(plan.turns[0] + plan.turns[1]), 0.0)
    moved = np.array(forward(MOUNT, slipped))
    verdict = explain_move(MOUNT, response, plan.turns, (moved[0], moved[1]), MOVE_DOUBT)
    assert (verdict.kind, verdict.screw_ids) == ("wrong_screw", ("upper",))
    taught = learn_from_move(response, verdict, (moved[0], moved[1]), MOVE_DOUBT)
    again = plan_turns(MOUNT, *(aim + moved), taught, verdict.turned, 0.4, 0.4, MOVE_DOUBT)
    left = aim + moved + np.array(forward(MOUNT, [float(turn) for turn in again.turns]))
    assert np.all(np.abs(left) < 0.2)


@pytest.mark.parametrize("scale", [0.8, 0.9, 1.1, 1.2])
def test_a_file_whose_pitch_is_a_fifth_wrong_is_no_slip(scale: float) -> None:
    for planned in ((2.0, 1.0), (-1.5, 0.75), (0.5, -2.0)):
        moved = scale * np.array(forward(MOUNT, planned))
        verdict = explain_move(
            MOUNT, prior_response(MOUNT), quarters(*planned), (moved[0], moved[1]), MOVE_DOUBT
        )
        assert verdict.kind == "as_planned"


def test_one_move_teaches_so_much_that_half_a_turn_missing_is_noticed() -> None:
    prior = prior_response(MOUNT)
    moved = forward(MOUNT, (2.0, 2.0))
    taught = learn(prior, (2.0, 2.0), *moved, MOVE_DOUBT)
    half = forward(MOUNT, (0.5, 1.0))
    planned = quarters(1.0, 1.0)
    assert explain_move(MOUNT, prior, planned, half, MOVE_DOUBT).kind == "as_planned"
    told = explain_move(MOUNT, taught, planned, half, MOVE_DOUBT)
    assert (told.kind, told.screw_ids) == ("half_as_far", ("left",))


def test_the_drawing_is_known_better_in_direction_than_in_size() -> None:
    prior = prior_response(MOUNT)
    assert np.array(prior.mean) == pytest.approx(geometry_response(MOUNT))
    for turns in ((1.0, 0.0), (0.0, 1.0)):
        along = prior.predicted_deg(turns)
        length = float(np.linalg.norm(along))
        across = np.array([-along[1], along[0]]) / length
        spread = prior.change_covariance(turns, (0.0, 0.0))
        size = float(np.sqrt(along @ spread @ along)) / length**2
        direction = float(np.sqrt(across @ spread @ across)) / length
        assert 0.2 <= size < 0.23
        assert direction < 0.04


def test_the_prior_covers_what_pitch_and_positions_really_do() -> None:
    generator = np.random.default_rng(20_240_613)
    prior = prior_response(MOUNT)
    distances = []
    for _ in range(1000):
        drawn = Mount(
            tuple(  # type: ignore[arg-type]
                replace(
                    screw,
                    pitch_mm=screw.pitch_mm * (1 + generator.normal(0, 0.2)),
                    y_mm=screw.y_mm * (1 + generator.normal(0, 0.2 / 3)) + generator.normal(0, 1.2),
                    z_mm=screw.z_mm * (1 + generator.normal(0, 0.2 / 3)) + generator.normal(0, 1.1),
                )
                for screw in MOUNT.screws
            ),
            "clockwise",
        )
        off = np.ravel(geometry_response(drawn)) - np.ravel(prior.mean)
        distances.append(off @ np.linalg.solve(np.array(prior.covariance), off))
    # Four entries: chi-square with four degrees of freedom, a little more for the bend.
    assert 3.6 < float(np.mean(distances)) < 5.0


def test_no_two_stories_are_the_same_and_the_plan_comes_first() -> None:
    for planned in ((1.0, 0.5), (-1.0, 0.5), (-1.0, -0.25), (0.0, 1.0), (1.0, 1.0)):
        told = possible_stories(MOUNT, quarters(*planned))
        assert told[0].kind == "as_planned"
        assert told[0].turned == planned
        assert len({story.heads for story in told}) == len(told)
        assert not any(story.kind == "as_planned" for story in told[1:])


def test_the_tip_lags_by_the_play_only_where_the_head_turns_back() -> None:
    def travel(*heads: float, settled: bool = True) -> tuple[float, float]:
        moves = np.array([[[float(head) for head in quarters(*heads)]]])
        means, doubts = tip_travels((LEFT,), "clockwise", moves, (settled,))
        return float(means[0, 0]), float(doubts[0, 0])

    assert travel(1.0) == pytest.approx((1.0, 0.0))
    # Back and forth again: what the play takes on the way out it takes on the way home as well.
    assert travel(-1.25, 0.25) == pytest.approx((-1.0, 0.0), abs=1e-12)
    mean, u = travel(-1.0)
    assert mean == pytest.approx(-0.95)
    assert u == pytest.approx(0.1 / 12**0.5)
    # Not known to which side the play lies: half of the half.
    mean, u = travel(1.0, settled=False)
    assert mean == pytest.approx(0.975)
    assert u > 0.02
    assert travel() == (0.0, 0.0)


def test_a_mirrored_mount_tells_every_story_the_same() -> None:
    mirrored = Mount((replace(LEFT, y_mm=-60.0), replace(UPPER, y_mm=4.0)), "clockwise")
    for story in possible_stories(MOUNT, quarters(1.0, -0.75)):
        yaw, elevation = forward(MOUNT, [float(turn) for turn in story.turned])
        arguments = quarters(1.0, -0.75), (yaw, elevation), MOVE_DOUBT
        here = explain_move(MOUNT, prior_response(MOUNT), *arguments)
        there = explain_move(
            mirrored, prior_response(mirrored), arguments[0], (-yaw, elevation), MOVE_DOUBT
        )
        assert (there.kind, there.screw_ids, there.turned) == (
            here.kind,
            here.screw_ids,
            here.turned,
        )


def test_a_screw_driven_to_the_end_of_its_travel_is_still_said_to_have_gone_the_wrong_way() -> None:
    # Its travel is five turns; it stands at four, was to go back two, and went on until it stopped.
    made = forward(MOUNT, (1.0, 1.0))
    verdict = explain_move(
        MOUNT,
        prior_response(MOUNT),
        quarters(-2.0, 1.0),
        made,
        MOVE_DOUBT,
        turned_before=quarters(4.0, 0.0),
    )
    assert (verdict.kind, verdict.screw_ids) == ("wrong_way", ("left",))
    assert verdict.turned == (1.0, 1.0)


def test_a_screw_that_stood_at_its_end_may_have_been_forced_or_left_alone() -> None:
    verdict = explain_move(
        MOUNT,
        prior_response(MOUNT),
        quarters(-2.0, 1.0),
        forward(MOUNT, (0.0, 1.0)),
        MOVE_DOUBT,
        turned_before=quarters(5.0, 0.0),
    )
    assert verdict.kind == "ambiguous"
    assert {name.kind for name in verdict.names[:2]} == {"wrong_way", "not_turned"}


def test_no_story_turns_a_screw_beyond_its_travel() -> None:
    before = quarters(4.5, -4.0)
    for story in possible_stories(MOUNT, quarters(-3.0, 2.5), before):
        for index, so_far in enumerate(before):
            stands = so_far
            for turns in story.head_moves(index):
                stands += turns
                assert -5 <= stands <= 5


def test_every_slip_of_a_single_step_is_among_the_stories() -> None:
    """One turn anticlockwise is two steps; each alone may go wrong in five ways."""
    planned = quarters(-1.0, 0.75)
    steps = [(0, Fraction(-5, 4)), (0, Fraction(1, 4)), (1, Fraction(3, 4))]
    assert [(step.screw_id, step.turns) for step in steps_for(MOUNT, planned)] == [
        ("left", Fraction(5, 4)), ("left", Fraction(1, 4)), ("upper", Fraction(3, 4)),
    ]  # fmt: skip

    def heads(moves: list[tuple[int, Fraction]]) -> tuple[tuple[Fraction, ...], ...]:
        return tuple(tuple(turns for screw, turns in moves if screw == each) for each in (0, 1))

    told = {
        tuple(story.head_moves(screw) for screw in (0, 1))
        for story in possible_stories(MOUNT, planned)
    }
    for number, (screw, turns) in enumerate(steps):
        before, after = steps[:number], steps[number + 1 :]
        for gone_wrong in (
            [(screw, -turns)],
            [(1 - screw, turns)],
            [],
            [(screw, 2 * turns)],
            [(screw, turns / 2)],
        ):
            assert heads([*before, *gone_wrong, *after]) in told, (number, gone_wrong)


def test_the_play_of_a_mount_approached_the_other_way_is_the_mirrored_one() -> None:
    generator = np.random.default_rng(3)
    moves = generator.integers(-8, 9, size=(40, 2, 3)) / 4.0
    for settled in ((True, True), (True, False), (False, False)):
        mean, u = tip_travels((LEFT, UPPER), "clockwise", moves, settled)
        mirrored, mirrored_u = tip_travels((LEFT, UPPER), "anticlockwise", -moves, settled)
        assert mirrored == pytest.approx(-mean, abs=1e-12)
        assert mirrored_u == pytest.approx(u, abs=1e-12)


def test_after_a_move_that_nothing_explains_the_screws_stand_where_it_put_the_aim() -> None:
    """In whole smallest turns, and no further than their travel lets them."""
    response = prior_response(MOUNT)
    planned = quarters(-0.75, 2.5)
    really = quarters(3.25, 0.0)
    moved = forward(MOUNT, [float(turn) for turn in really])
    verdict = explain_move(MOUNT, response, planned, moved, MOVE_DOUBT)
    assert verdict.kind == "unexplained"
    assert len(verdict.turned) == len(MOUNT.screws)
    assert verdict.turned == really
    far = forward(MOUNT, (40.0, -40.0))
    for before in (quarters(0.0, 0.0), quarters(2.0, -3.0)):
        verdict = explain_move(MOUNT, response, planned, far, MOVE_DOUBT, turned_before=before)
        assert verdict.kind == "unexplained"
        stand = [float(b + t) for b, t in zip(before, verdict.turned, strict=True)]
        assert stand == [LEFT.travel[1], UPPER.travel[0]]

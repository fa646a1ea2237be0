"""A slip that passed for the plan teaches the screws' response a falsehood: that is unlearned.

A first move made half as far is well within what a drawing's doubt allows, so it is believed, and
the screws then count as half as strong as they are. Every move after it looks like one made twice
as far, without end, for what is a slip teaches nothing.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from companion.calibration.hypothesis_test import explain_move
from companion.calibration.response import Response, as_matrix
from companion.dialogue.machine import begin
from companion.dialogue.transaction import Transaction
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import run_rehearsal
from companion.speech.silent import SilentVoice
from companion.steps.aim.figures import mount_model, mount_of, setting_u
from companion.steps.aim.judging import _after, _by_file, _explained, judge_move
from companion.steps.aim.model import AimDecision
from companion.steps.aim.state import AimRound, aim_of, keep
from companion.uncertainty.measured import measured
from tests.benchmarks.rehearse import Job, loaded_job, rehearsal_of

TURNS = (Fraction(2), Fraction(0))
STATE = begin(loaded_job().plan, assembly.language())
MODEL = mount_model(STATE.plan)
MOUNT = mount_of(MODEL)


def after_a_move(moved_as: float, learned: float) -> AimRound:
    """The left screw turned twice clockwise by a mount that moves `moved_as` times as far as drawn,
    where `learned` times as far had been learned, and very surely."""
    drawn = aim_of(STATE)
    response = Response(
        as_matrix(np.array(drawn.response.mean) * learned), as_matrix(np.eye(4) * 1e-4)
    )
    yaw, elevation = (np.array(drawn.response.mean) @ [2.0, 0.0] * moved_as).tolist()
    return replace(
        drawn,
        response=response,
        turned=TURNS,
        asked=TURNS,
        before=(measured("yaw before", 0.0, 0.03), measured("up before", 0.0, 0.03)),
        sets=((measured("yaw", yaw, 0.03), measured("up", elevation, 0.03)),),
        planned_turns=TURNS,
        odd_moves=1,
    )


def judged_again(aim: AimRound) -> tuple[AimRound, bool]:
    """The round after this move was judged for itself, and whether the file was gone back to."""
    assert aim.planned_turns is not None
    assert aim.before is not None
    setting = setting_u(MODEL)
    move = _explained(aim, aim.planned_turns, aim.before, MOUNT, setting)
    by_file = _by_file(STATE, aim, move, MOUNT, setting)
    return (_after(STATE, *by_file), True) if by_file else (_after(STATE, aim, move), False)


def test_two_running_that_the_file_explains_are_no_slips() -> None:
    once, by_file = judged_again(after_a_move(1.0, 0.5))
    assert not by_file
    assert once.slips_running == 1
    assert once.amiss == (Fraction(2), Fraction(0))
    second = replace(
        after_a_move(1.0, 0.5),
        slips_running=once.slips_running,
        amiss=once.amiss,
        turned=tuple(a + b for a, b in zip(once.turned, TURNS, strict=True)),
    )
    after, by_file = judged_again(second)
    assert by_file
    assert (after.slips_running, after.amiss) == (0, ())
    # Both moves went as far as was asked for.
    assert after.turned == (Fraction(4), Fraction(0))
    assert after.response.mean[0][0] == pytest.approx(aim_of(STATE).response.mean[0][0], rel=0.05)


def test_real_slips_stay_slips_however_often() -> None:
    """Hands that do turn twice as far: the file says so as well as what was learned does."""
    aim = replace(after_a_move(2.0, 1.0), slips_running=3, amiss=TURNS)
    after, by_file = judged_again(aim)
    assert not by_file
    assert after.slips_running == 4


def test_a_move_as_learned_ends_the_row() -> None:
    after, by_file = judged_again(replace(after_a_move(0.5, 0.5), slips_running=2, amiss=TURNS))
    assert not by_file
    assert (after.slips_running, after.amiss) == (0, ())


def test_a_whole_job_whose_first_turn_was_made_half_as_far() -> None:
    job = Job(3_000_005, 1.25, None)
    rehearsal, log = rehearsal_of(job), MemoryLog()
    done = run_rehearsal(loaded_job(), assembly.language(), rehearsal, SilentVoice(), log)
    assert any(slip.kind == "wrong_amount" and slip.harmful for slip in rehearsal.slips.made)
    assert done.score.companion_said == "inside"
    assert done.score.truly_inside
    # Without it 28 rounds and no result.
    assert done.score.rounds <= 6
    told = [event.body["text"] for event in log.events(log.session_id) if event.kind == "said"]
    assert sum("I go by the mount file again" in text for text in told) == 1


def test_where_screws_stand_after_two_slips_at_once_is_told_by_what_the_move_did() -> None:
    """The left screw turned the wrong way and the upper one's turns made on it as well."""
    drawn = aim_of(STATE)
    planned, really = (Fraction(-3, 4), Fraction(5, 2)), (Fraction(13, 4), Fraction(0))
    yaw, elevation = (np.array(drawn.response.mean) @ [float(t) for t in really]).tolist()
    noise = np.diag([0.03**2, 0.03**2])
    verdict = explain_move(MOUNT, drawn.response, planned, (yaw, elevation), noise)
    assert verdict.kind == "unexplained"
    assert verdict.turned == really
    # A screw stands no further than its travel lets it, however far that would seem.
    far = explain_move(MOUNT, drawn.response, planned, (40.0, 0.0), noise)
    assert far.kind == "unexplained"
    assert far.turned[0] == MOUNT.screws[0].travel[1]


def test_a_whole_job_with_two_slips_in_its_first_turn() -> None:
    job = Job(1_000_109, 1.25, None)
    rehearsal = rehearsal_of(job)
    done = run_rehearsal(loaded_job(), assembly.language(), rehearsal, SilentVoice(), MemoryLog())
    assert sum(slip.harmful for slip in rehearsal.slips.made) == 2
    # By what was asked for, no travel seemed left to bring it inside.
    assert done.score.companion_said == "inside"
    assert done.score.truly_inside


def test_what_only_the_file_explains_is_no_second_opinion() -> None:
    """However sure the file is: the aim has to be measured twice, as after any other surprise."""
    once, _ = judged_again(after_a_move(1.0, 0.5))
    second = replace(
        after_a_move(1.0, 0.5),
        slips_running=once.slips_running,
        amiss=once.amiss,
        turned=tuple(a + b for a, b in zip(once.turned, TURNS, strict=True)),
    )
    tx = Transaction(STATE)
    keep(tx, second)
    step = next(step for step in STATE.plan.steps if isinstance(step, AimDecision))
    assert judge_move(tx, step, MOUNT)
    after = aim_of(tx.state)
    assert after.slips_running == 0
    assert after.explained
    assert not after.foreseen

"""The aim: inside and sure, one more set of readings, or turning the screws.

"Inside" is only said on two independent grounds: a full set of readings that is inside with the
wanted probability, and either a second set that agrees with it, or a prediction from before the
screws were turned that is sharp enough to have caught a slip.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from companion.dialogue import advice, prompts
from companion.dialogue.aim_doubt import (
    say_if_none_could_pass,
    sets_to_settle,
    wanted_at,
)
from companion.dialogue.aim_sets import agree, aim_of, inside_probability, mean, measure_again
from companion.dialogue.judging_moves import judge_move
from companion.dialogue.state import AimRound
from companion.dialogue.turn import Turn
from companion.dialogue.turning_screws import plan_for, turn_screws
from companion.dialogue.values import grounds, measured_value, shares_of
from companion.facts.aim import AimDecided, Axis
from companion.measure.mount import Mount, Screw
from companion.measure.response import prior_response
from companion.procedure.job import AimDecision
from companion.procedure.models import MountModel

# Near a limit another set of readings settles little; turning does, when it promises so much.
WORTH_TURNING = 0.02


def mount_of(model: MountModel) -> Mount:
    """The mount file as the arithmetic wants it."""
    return Mount(tuple(Screw(**screw.model_dump()) for screw in model.screws), model.approach)


def decide_aim(turn: Turn, step: AimDecision) -> None:
    """One look at a fresh set of aim readings."""
    mount = mount_of(turn.state.plan.files.mount)
    aim = turn.state.aim or AimRound(
        prior_response(mount, turn.state.plan.files.mount.response_relative_sd),
        turned=(Fraction(0),) * len(mount.screws),
    )
    fresh = (
        measured_value(turn.state, step.yaw),
        measured_value(turn.state, step.elevation),
    )
    if aim.sets and not agree(aim.sets[-1], fresh):
        turn.change(aim=replace(aim, sets=(fresh,)))
        measure_again(turn, step, prompts.SETS_DISAGREE)
        return
    aim = replace(aim, sets=(*aim.sets, fresh))
    turn.change(aim=aim)
    if aim.planned_turns is not None and not aim.explained and not judge_move(turn, step, mount):
        return
    _settle(turn, step, mount)


def _settle(turn: Turn, step: AimDecision, mount: Mount) -> None:
    """Inside and sure: done. Inside or too close: measure once more. Outside: turn the screws."""
    state, aim = turn.state, aim_of(turn)
    limits = state.plan.files.vehicle.aim
    yaw, elevation = mean(aim.sets)
    tolerances = (limits.yaw_tolerance_deg, limits.elevation_tolerance_deg)
    probability = inside_probability(state, (yaw, elevation))
    wanted = wanted_at(limits.confidence, len(aim.sets))
    answer = "too_close"
    if probability >= wanted:
        answer = "inside"
    elif probability <= 1 - wanted:
        answer = "outside"
    if answer == "too_close" and say_if_none_could_pass(turn, step, (yaw, elevation), wanted):
        return
    more = None
    if answer == "too_close":
        more = sets_to_settle((yaw, elevation), step, len(aim.sets), tolerances, limits.confidence)
    sure = len(aim.sets) > 1 or aim.foreseen
    turn.record(
        AimDecided(
            step_id=step.id,
            title=step.title,
            round=aim.round,
            sets=len(aim.sets),
            yaw=Axis(yaw.value, yaw.u, shares_of(yaw), tolerances[0]),
            elevation=Axis(elevation.value, elevation.u, shares_of(elevation), tolerances[1]),
            level=wanted,
            probability_inside=probability,
            answer=answer,
            confirmed=answer == "inside" and sure,
            more_sets_to_settle=more,
            grounds=grounds("aim_conformity"),
        )
    )
    if answer == "inside" and sure:
        turn.change(done=state.done | {step.id})
    elif answer == "inside":
        measure_again(turn, step, prompts.ONCE_MORE_TO_BE_SURE)
    else:
        plan = plan_for(state, mount, aim, (yaw, elevation))
        worth_turning = plan.predicted_probability > probability + WORTH_TURNING
        again = answer == "too_close" and len(aim.sets) < step.at_most_repeats
        if again and not (plan.reachable and worth_turning):
            measure_again(turn, step, advice.too_close_sets(more))
        else:
            turn_screws(turn, step, mount, (yaw, elevation), plan)

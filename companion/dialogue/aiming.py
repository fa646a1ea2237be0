"""The aim and its screws: judge, plan the turns, have them made, measure again, and be sure.

"Inside" is only said on two independent grounds: a full set of readings that is inside with the
wanted probability, and either a second set that agrees with it, or a prediction from before the
screws were turned that is sharp enough to have caught a slip.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from companion.dialogue import advice, prompts
from companion.dialogue.aim_doubt import (
    axis_body,
    say_if_none_could_pass,
    sets_to_settle,
    wanted_at,
)
from companion.dialogue.aim_sets import (
    Pair,
    agree,
    covariance,
    difference,
    inside_probability,
    mean,
)
from companion.dialogue.looping import halt, once_more
from companion.dialogue.progress import mark_stale
from companion.dialogue.state import AimRound, State, Task
from companion.dialogue.turn import Turn
from companion.dialogue.values import measured_value
from companion.measure.methods import method
from companion.measure.mount import Mount, Screw
from companion.measure.response import SETTING_U_TURNS, prior_response
from companion.measure.screws import ScrewPlan, plan_turns
from companion.measure.telling import MoveVerdict, explain_move, learn_from_move
from companion.procedure.job import AimDecision
from companion.procedure.models import MountModel

# A prediction counts as a second opinion when its own doubt is below this part of the tolerance.
SHARP_PART_OF_TOLERANCE = 0.25
ODD_MOVES_AT_MOST = 1
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
        _measure_again(turn, step, prompts.SETS_DISAGREE)
        return
    aim = replace(aim, sets=(*aim.sets, fresh))
    turn.change(aim=aim)
    if aim.planned_turns is not None and not aim.explained and not _judge_move(turn, step, mount):
        return
    _settle(turn, step, mount)


def _judge_move(turn: Turn, step: AimDecision, mount: Mount) -> bool:
    """Compare what the screws did with what was predicted; False when another look is needed."""
    aim = _aim(turn)
    assert aim.planned_turns is not None  # noqa: S101  -- only called after a turning
    assert aim.before is not None  # noqa: S101
    now = mean(aim.sets)
    moved = tuple(difference(n, b) for n, b in zip(now, aim.before, strict=True))
    spread = covariance((moved[0], moved[1]))
    values = (moved[0].value, moved[1].value)
    # A screw that was turned before lies against its thread in the approach direction.
    settled = tuple(t != p for t, p in zip(aim.turned, aim.planned_turns, strict=True))
    verdict = explain_move(
        mount,
        aim.response,
        aim.planned_turns,
        values,
        spread,
        settled=settled,
    )
    turn.record(
        "move_judged",
        step_id=step.id,
        **_move_body(aim.planned_turns, verdict, values),
        # All that the verdict rests on, so that it can be worked out again.
        move_covariance=spread.tolist(),
        settled=list(settled),
        response={
            "mean": [list(row) for row in aim.response.mean],
            "covariance": [list(row) for row in aim.response.covariance],
        },
        **method("move_stories"),
    )
    if verdict.kind == "unexplained" and aim.odd_moves < ODD_MOVES_AT_MOST:
        # Most often a misread level: look again before anything is turned on the strength of it.
        turn.change(aim=replace(aim, odd_moves=aim.odd_moves + 1))
        _measure_again(turn, step, prompts.UNEXPLAINED_MOVE)
        return False
    _say_slip(turn, mount, verdict)
    response = aim.response
    if verdict.kind != "unexplained":
        response = learn_from_move(response, verdict, values, spread)
    turned = tuple(
        done + really - planned
        for done, really, planned in zip(aim.turned, verdict.turned, aim.planned_turns, strict=True)
    )
    turn.change(
        aim=replace(
            aim,
            response=response,
            turned=turned,
            explained=verdict.kind == "as_planned",
            # By what was known before: a move that has taught the response always fits it.
            foreseen=verdict.kind == "as_planned"
            and verdict.probability >= turn.state.plan.files.vehicle.aim.confidence
            and _sharp(turn.state, aim),
            planned_turns=aim.planned_turns if verdict.kind == "as_planned" else None,
        )
    )
    return True


def _move_body(
    planned: tuple[Fraction, ...], verdict: MoveVerdict, moved_deg: tuple[float, float]
) -> dict[str, object]:
    return {
        "kind": verdict.kind,
        "screw_ids": list(verdict.screw_ids),
        "instead_ids": list(verdict.instead_ids),
        "probability": verdict.probability,
        "names": [
            {
                "kind": name.kind,
                "screw_ids": list(name.screw_ids),
                "instead_ids": list(name.instead_ids),
                "probability": name.probability,
            }
            for name in verdict.names[:2]
        ],
        "moved": {"yaw_deg": moved_deg[0], "elevation_deg": moved_deg[1]},
        "turns": [str(turns) for turns in planned],
        "really_turned": [str(turns) for turns in verdict.turned],
    }


def _say_slip(turn: Turn, mount: Mount, verdict: MoveVerdict) -> None:
    if verdict.kind == "as_planned":
        return
    spoken = {screw.id: screw.name for screw in mount.screws}
    likeliest = [
        prompts.slip(
            name.kind,
            [spoken[screw_id] for screw_id in name.screw_ids],
            [spoken[screw_id] for screw_id in name.instead_ids],
        )
        for name in verdict.names[:2]
    ]
    match verdict.kind:
        case "unexplained":
            told = prompts.UNEXPLAINED_MOVE
        case "ambiguous":
            told = prompts.looks_like_either(*likeliest)
        case _:
            told = prompts.looks_as_if(likeliest[0])
    turn.announce(told, "explain")


def _settle(turn: Turn, step: AimDecision, mount: Mount) -> None:
    """Inside and sure: done. Inside or too close: measure once more. Outside: turn the screws."""
    state, aim = turn.state, _aim(turn)
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
        "aim_decided",
        step_id=step.id,
        title=step.title,
        round=aim.round,
        sets=len(aim.sets),
        yaw=axis_body(yaw, tolerances[0]),
        elevation=axis_body(elevation, tolerances[1]),
        level=wanted,
        probability_inside=probability,
        answer=answer,
        confirmed=answer == "inside" and sure,
        more_sets_to_settle=more,
        **method("aim_conformity"),
    )
    if answer == "inside" and sure:
        turn.change(done=state.done | {step.id})
    elif answer == "inside":
        _measure_again(turn, step, prompts.ONCE_MORE_TO_BE_SURE)
    else:
        plan = _plan(state, mount, aim, (yaw, elevation))
        worth_turning = plan.predicted_probability > probability + WORTH_TURNING
        again = answer == "too_close" and len(aim.sets) < step.at_most_repeats
        if again and not (plan.reachable and worth_turning):
            _measure_again(turn, step, advice.too_close_sets(more))
        else:
            _turn_screws(turn, step, mount, (yaw, elevation), plan)


def _plan(state: State, mount: Mount, aim: AimRound, aim_now: Pair) -> ScrewPlan:
    limits = state.plan.files.vehicle.aim
    yaw, elevation = aim_now
    return plan_turns(
        mount,
        yaw.value,
        elevation.value,
        aim.response,
        aim.turned,
        limits.yaw_tolerance_deg,
        limits.elevation_tolerance_deg,
        covariance(aim_now),
    )


def _turn_screws(
    turn: Turn, step: AimDecision, mount: Mount, aim_now: Pair, plan: ScrewPlan
) -> None:
    aim = _aim(turn)
    yaw, elevation = aim_now
    turn.record(
        "screw_plan",
        step_id=step.id,
        **method("screw_plan"),
        **_plan_body(mount, aim, plan, aim_now),
    )
    if not plan.reachable or not plan.steps:
        halt(
            turn,
            step.id,
            prompts.cannot_reach(plan.predicted_yaw_deg, plan.predicted_elevation_deg),
        )
        return
    turned = tuple(t + p for t, p in zip(aim.turned, plan.turns, strict=True))
    turn.change(
        aim=replace(
            aim,
            turned=turned,
            sets=(),
            before=aim_now,
            planned_turns=plan.turns,
            explained=False,
            foreseen=False,
            round=aim.round + 1,
            repeats=0,
            odd_moves=0,
        )
    )
    names = {screw.id: screw.name for screw in mount.screws}
    turn.announce(prompts.aim_to_correct(yaw.value, elevation.value), "explain")
    tasks = tuple(
        Task(step.id, prompts.turn_screw(names[s.screw_id], s.direction, s.turns))
        for s in plan.steps
    )
    once_more(turn, step.id, step.again, tasks)


def _plan_body(mount: Mount, aim: AimRound, plan: ScrewPlan, now: Pair) -> dict[str, object]:
    return {
        "round": aim.round + 1,
        "turns": {s.id: str(t) for s, t in zip(mount.screws, plan.turns, strict=True)},
        "steps": [
            {"screw_id": s.screw_id, "direction": s.direction, "turns": str(s.turns)}
            for s in plan.steps
        ],
        "aim": {
            "yaw_deg": now[0].value,
            "elevation_deg": now[1].value,
            "u_yaw": now[0].u,
            "u_elevation": now[1].u,
        },
        "predicted": {
            "yaw_deg": plan.predicted_yaw_deg,
            "elevation_deg": plan.predicted_elevation_deg,
            "u_yaw": plan.predicted_covariance[0][0] ** 0.5,
            "u_elevation": plan.predicted_covariance[1][1] ** 0.5,
            "probability_inside": plan.predicted_probability,
        },
        "reachable": plan.reachable,
        "why": plan.why,
    }


def _measure_again(turn: Turn, step: AimDecision, say: str) -> None:
    """Another full set at the same position of the screws; it does not count as a round."""
    aim = _aim(turn)
    if aim.repeats >= 2 * step.at_most_repeats:
        turn.change(aim=replace(aim, repeats=0, sets=()))
        mark_stale(turn, step.again.steps, step.again.then_stop)
        halt(turn, step.id, prompts.UNSETTLED)
        return
    turn.change(aim=replace(aim, repeats=aim.repeats + 1))
    turn.announce(say, "explain")
    mark_stale(turn, step.again.steps, say)


def _sharp(state: State, aim: AimRound) -> bool:
    """Whether the last prediction was sharp enough to count as a second opinion."""
    if aim.planned_turns is None or aim.before is None:
        return False
    limits = state.plan.files.vehicle.aim
    tolerances = (limits.yaw_tolerance_deg, limits.elevation_tolerance_deg)
    spread = aim.response.change_covariance(
        aim.planned_turns, [SETTING_U_TURNS] * len(aim.planned_turns)
    )
    spread = spread + covariance(aim.before)
    return all(
        spread[i, i] ** 0.5 <= SHARP_PART_OF_TOLERANCE * tolerance
        for i, tolerance in enumerate(tolerances)
    )


def _aim(turn: Turn) -> AimRound:
    assert turn.state.aim is not None  # noqa: S101  -- set by decide_aim before anything else
    return turn.state.aim

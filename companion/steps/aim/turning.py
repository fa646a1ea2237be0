"""Turning the mount's screws: what to turn, what to expect of it, and measuring again after it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from companion.calibration.mount import Mount
from companion.calibration.screws import ScrewPlan, plan_turns
from companion.dialogue.retry import halt, of_job, retry
from companion.dialogue.state import State, Task
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import grounds
from companion.facts import aim as facts
from companion.facts.instructions import Direction, TurnScrew
from companion.steps.aim import prompts
from companion.steps.aim.figures import limits_of, mount_model, setting_u
from companion.steps.aim.model import AimDecision
from companion.steps.aim.sets import Covariance
from companion.steps.aim.state import DOUBTED_AFTER, AimRound, aim_of, keep
from companion.uncertainty.sets import Pair


def plan_for(
    state: State, mount: Mount, aim: AimRound, aim_now: Pair, spread: Covariance
) -> ScrewPlan:
    """What to turn from here, by what is known of the screws so far.

    `spread`: the covariance that the aim has to be inside with.

    Where a move looked as if it had gone the wrong way, the mount file may be mirrored instead, and
    the screws then stand where they were asked to: the travel is kept to from there as well. Once,
    it is turned as far as both allow, and measured; twice, no further.
    """
    limits = limits_of(state.plan)
    yaw, elevation = aim_now

    def plan(or_turned: tuple[Fraction, ...] | None) -> ScrewPlan:
        return plan_turns(
            mount,
            yaw.value,
            elevation.value,
            aim.response,
            aim.turned,
            limits.yaw_deg,
            limits.elevation_deg,
            spread,
            setting_u(mount_model(state.plan)),
            or_turned,
        )

    as_known = plan(None)
    if aim.wrong_ways == 0:
        return as_known
    as_both = plan(aim.asked)
    if as_both.reachable or aim.wrong_ways >= DOUBTED_AFTER:
        return as_both
    return replace(as_both, reachable=as_known.reachable) if as_both.steps else as_known


def turn_screws(
    tx: Transaction,
    step: AimDecision,
    mount: Mount,
    aim_now: Pair,
    plan: ScrewPlan,
    *,
    by_whole_set: bool,
) -> None:
    """Have the screws turned as planned, then measure anew; stop where they cannot reach."""
    aim = aim_of(tx.state)
    yaw, elevation = aim_now
    tx.record(_plan_fact(step.id, mount, aim, plan, aim_now))
    if not plan.reachable or not plan.steps:
        halt(
            tx,
            step.id,
            prompts.cannot_reach(plan.predicted_yaw_deg, plan.predicted_elevation_deg),
        )
        return
    turned, asked = (
        tuple(t + p for t, p in zip(so_far, plan.turns, strict=True))
        for so_far in (aim.turned, aim.asked)
    )
    keep(
        tx,
        replace(
            aim,
            turned=turned,
            asked=asked,
            sets=(),
            before=aim_now,
            planned_turns=plan.turns,
            explained=False,
            foreseen=False,
            round=aim.round + 1,
            looks=0,
            levels=(*aim.levels, ()),
            odd_moves=0,
            unturned=_without_last_set(aim),
            first_look=None,
            by_whole_set=by_whole_set,
            short=None,
        ),
    )
    names = {screw.id: screw.name for screw in mount.screws}
    told = prompts.aim_to_correct(yaw.value, elevation.value)
    tx.announce(prompts.NOT_INSIDE_YET, "explain", written=told)
    tasks: tuple[Task, ...] = ()
    before = None
    for s in plan.steps:
        # Just after the other way it would sound like a contradiction: its play is taken up.
        back = (
            before is not None and before.screw_id == s.screw_id and before.direction != s.direction
        )
        told, if_begun = prompts.turn_screw(names[s.screw_id], s.direction, s.turns, back=back)
        turn = TurnScrew(s.screw_id, Direction(s.direction), s.turns)
        tasks += (Task(step.id, told, turn, if_begun=if_begun),)
        before = s
    if mount_model(tx.state.plan).lock_doubt_turns > 0:
        # Locked before it is measured: what the lock does is then in the readings.
        lock = Task(step.id, prompts.LOCK_SCREWS, short=prompts.LOCK_SCREWS_AGAIN)
        tasks = (*tasks, lock)
    retry(tx, step.id, of_job(step.again), tasks)


def _without_last_set(aim: AimRound) -> AimRound:
    """As it was before the set that led to turning: that one is measured again."""
    here = aim.levels[-1]
    if len(here) == len(aim.sets):
        here = here[:-1]
    return replace(aim, sets=aim.sets[:-1], levels=(*aim.levels[:-1], here), unturned=None)


def _plan_fact(
    step_id: str, mount: Mount, aim: AimRound, plan: ScrewPlan, now: Pair
) -> facts.ScrewPlan:
    return facts.ScrewPlan(
        step_id=step_id,
        round=aim.round + 1,
        turns={s.id: t for s, t in zip(mount.screws, plan.turns, strict=True)},
        steps=tuple(facts.ScrewStep(s.screw_id, s.direction, s.turns) for s in plan.steps),
        aim=facts.AimNow(now[0].value, now[1].value, now[0].u, now[1].u),
        predicted=facts.Predicted(
            plan.predicted_yaw_deg,
            plan.predicted_elevation_deg,
            plan.predicted_covariance[0][0] ** 0.5,
            plan.predicted_covariance[1][1] ** 0.5,
            plan.predicted_probability,
        ),
        reachable=plan.reachable,
        why=plan.why,
        grounds=grounds("screw_plan"),
    )

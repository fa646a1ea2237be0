"""What the sets at one position of the screws come to, with their doubt as it showed."""

from __future__ import annotations

from companion.dialogue.state import State
from companion.dialogue.values import grounds, shares_of
from companion.facts.aim import AimDecided, Axis
from companion.facts.workings import Answer
from companion.steps.aim.figures import limits_of
from companion.steps.aim.model import AimDecision
from companion.steps.aim.noise import degrees_of_freedom, redundancy_of, scatter_seen
from companion.steps.aim.state import AimRound
from companion.uncertainty.agreement import Scatter
from companion.uncertainty.sets import Judged, between, judge_sets

# Sets that scatter so many times as far as entered: it is said that the doubt was widened.
WORTH_SAYING = 1.5


def judged_now(state: State, step: AimDecision, aim: AimRound) -> Judged:
    """The sets as they stand, judged at the look that they are at."""
    limits = limits_of(state.plan)
    return judge_sets(
        aim.sets,
        limits.both,
        limits.confidence,
        min(aim.looks, step.at_most_repeats),
        step.at_most_repeats,
        scatter=scatter_of_sets(state, step, aim),
        degrees_of_freedom=degrees_of_freedom(state, aim),
        redundancy=redundancy_of(state, step, aim),
    )


def scatter_of_sets(state: State, step: AimDecision, aim: AimRound) -> Scatter:
    """What the levels tell of their noise, else what the sets' own differences do."""
    seen = scatter_seen(state, step, aim)
    return seen if seen.degrees_of_freedom else between(aim.sets)


def decided(
    state: State,
    step: AimDecision,
    aim: AimRound,
    judged: Judged,
    answer: Answer,
    *,
    confirmed: bool,
    more: int | None = None,
    levels: int | None = None,
) -> AimDecided:
    """The fact of one look. `levels`: of a short set, so many."""
    yaw, elevation = judged.aim
    limits = limits_of(state.plan)
    return AimDecided(
        step_id=step.id,
        title=step.title,
        round=aim.round,
        sets=len(aim.sets),
        yaw=Axis(yaw.value, yaw.u, shares_of(yaw), limits.yaw_deg),
        elevation=Axis(elevation.value, elevation.u, shares_of(elevation), limits.elevation_deg),
        level=judged.level,
        probability_inside=judged.probability_inside,
        answer=answer,
        confirmed=confirmed,
        more_sets_to_settle=more,
        grounds=grounds("aim_conformity"),
        look=aim.looks,
        most_looks=step.at_most_repeats,
        risk_spent=judged.spent,
        scatter_ratio=judged.agreement.birge_ratio,
        if_wrong=judged.probability_if_wrong if judged.wrong else None,
        wrong=judged.wrong or None,
        levels=levels,
    )

"""What the sets at one position of the screws come to, with their doubt as it showed."""

from __future__ import annotations

from companion.dialogue.state import State
from companion.steps.aim.figures import limits_of
from companion.steps.aim.model import AimDecision
from companion.steps.aim.noise import degrees_of_freedom, redundancy_of, scatter_seen
from companion.steps.aim.state import AimRound
from companion.uncertainty.agreement import Scatter
from companion.uncertainty.sets import Judged, between, judge_sets


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

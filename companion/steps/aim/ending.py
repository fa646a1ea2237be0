"""What a job comes to that found the aim inside: where that leaves the middle of what it sees."""

from __future__ import annotations

from companion.calibration.reach import miss_at_range_m
from companion.dialogue.kind import Outcome
from companion.dialogue.state import State
from companion.dialogue.values import grounds, shares_of
from companion.facts.aim import Axis
from companion.facts.ending import Finished, Miss
from companion.steps.aim import prompts
from companion.steps.aim.budget import effective, terms_of
from companion.steps.aim.model import AimDecision
from companion.steps.aim.noise import degrees_of_freedom
from companion.steps.aim.sets import final_aim, inside_probability
from companion.steps.aim.state import aim_of


def aim_outcome(state: State, step: AimDecision, ranges_m: tuple[float, ...]) -> Outcome | None:
    """The result `inside` with the aim and what is left at these ranges; None: found by no step."""
    aim = final_aim(state, step)
    if aim is None:
        return None
    measured = aim_of(state)
    repeats = degrees_of_freedom(state, measured)
    said = None
    if ranges_m:
        middle = sorted(ranges_m)[len(ranges_m) // 2]
        left = miss_at_range_m(aim[0], middle)
        said = prompts.miss(middle, left.value)
    misses = []
    for range_m in ranges_m:
        sideways = miss_at_range_m(aim[0], range_m)
        height = miss_at_range_m(aim[1], range_m)
        misses.append(Miss(range_m, sideways.value, sideways.u, height.value, height.u))
    finished = Finished(
        result="inside",
        yaw=Axis(aim[0].value, aim[0].u, shares_of(aim[0])),
        elevation=Axis(aim[1].value, aim[1].u, shares_of(aim[1])),
        probability_inside=inside_probability(state, aim),
        misses_m=tuple(misses),
        grounds=grounds("miss_at_range"),
        terms=terms_of(state, measured, aim, repeats),
        degrees_of_freedom=effective(aim, repeats),
    )
    return Outcome(prompts.finished_inside(aim[0].value, aim[1].value, said), finished)

"""The end of a job: what was reached, what it means at range, and the sign-off."""

from __future__ import annotations

from typing import Literal

from companion.dialogue import prompts
from companion.dialogue.aim_sets import final_aim, inside_probability
from companion.dialogue.asking import DONE
from companion.dialogue.state import State
from companion.dialogue.turn import Turn
from companion.dialogue.values import fill, grounds, shares_of
from companion.facts.aim import Axis
from companion.facts.ending import Finished, Miss
from companion.measure.reach import miss_at_range_m
from companion.procedure.job import Finish


def ask_to_sign(turn: Turn, step: Finish) -> None:
    """Say the result and what it means, and ask for the sign-off."""
    aim = final_aim(turn.state)
    if aim is None:
        told = {"tool_inside": prompts.TOOL_SAYS_INSIDE, "not_aimed": prompts.NOTHING_AIMED}
        text = told[_unmeasured(turn.state)]
    else:
        middle = sorted(step.ranges_m)[len(step.ranges_m) // 2]
        miss = miss_at_range_m(aim[0], middle)
        spoken = prompts.miss(middle, miss.value, miss.u)
        text = prompts.finished_inside(aim[0].value, aim[1].value, spoken)
    turn.announce(text, "explain")
    ask = fill(turn.state, step.say_signed)
    turn.ask(step.id, ask, DONE, reply=prompts.SAY_DONE, purpose="instruct")


def sign_off(turn: Turn, step: Finish) -> None:
    """Close the job with its result in the record."""
    aim = final_aim(turn.state)
    turn.change(done=turn.state.done | {step.id})
    if aim is None:
        result = _unmeasured(turn.state)
        turn.record(Finished(result, yaw=None, elevation=None, misses_m=()))
        turn.close(result)
        return
    misses = []
    for range_m in step.ranges_m:
        sideways = miss_at_range_m(aim[0], range_m)
        height = miss_at_range_m(aim[1], range_m)
        misses.append(Miss(range_m, sideways.value, sideways.u, height.value, height.u))
    turn.record(
        Finished(
            result="inside",
            step_id=step.id,
            yaw=Axis(aim[0].value, aim[0].u, shares_of(aim[0])),
            elevation=Axis(aim[1].value, aim[1].u, shares_of(aim[1])),
            probability_inside=inside_probability(turn.state, aim),
            misses_m=tuple(misses),
            grounds=grounds("miss_at_range"),
        )
    )
    turn.close("inside")


def _unmeasured(state: State) -> Literal["tool_inside", "not_aimed"]:
    """The result where the companion measured no aim: the scan tool's, if it was asked for one."""
    return "tool_inside" if "tool_inside" in state.answers.values() else "not_aimed"

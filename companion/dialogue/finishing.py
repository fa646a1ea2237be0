"""The end of a job: what was reached, what it means at range, and the sign-off."""

from __future__ import annotations

from companion.dialogue import prompts
from companion.dialogue.aim_sets import final_aim, inside_probability
from companion.dialogue.asking import DONE
from companion.dialogue.deciding import shares_of
from companion.dialogue.turn import Turn
from companion.dialogue.values import fill
from companion.measure.methods import method
from companion.measure.reach import miss_at_range_m
from companion.procedure.job import Finish


def ask_to_sign(turn: Turn, step: Finish) -> None:
    """Say the result and what it means, and ask for the sign-off."""
    aim = final_aim(turn.state)
    if aim is None:
        text = prompts.TOOL_SAYS_INSIDE
    else:
        middle = sorted(step.ranges_m)[len(step.ranges_m) // 2]
        miss = miss_at_range_m(aim[0], middle)
        spoken = prompts.miss(middle, miss.value, miss.u)
        text = prompts.finished_inside(aim[0].value, aim[1].value, spoken)
    turn.announce(text, "explain")
    turn.ask(step.id, fill(turn.state, step.say_signed), DONE, purpose="instruct")


def sign_off(turn: Turn, step: Finish) -> None:
    """Close the job with its result in the record."""
    aim = final_aim(turn.state)
    turn.change(done=turn.state.done | {step.id})
    if aim is None:
        turn.record("finished", result="tool_inside", yaw=None, elevation=None, misses_m=[])
        turn.close("tool_inside")
        return
    misses = []
    for range_m in step.ranges_m:
        sideways = miss_at_range_m(aim[0], range_m)
        height = miss_at_range_m(aim[1], range_m)
        misses.append(
            {
                "range_m": range_m,
                "sideways_m": sideways.value,
                "u_sideways_m": sideways.u,
                "height_m": height.value,
                "u_height_m": height.u,
            }
        )
    turn.record(
        "finished",
        result="inside",
        step_id=step.id,
        yaw={"value": aim[0].value, "u": aim[0].u, "budget": shares_of(aim[0])},
        elevation={"value": aim[1].value, "u": aim[1].u, "budget": shares_of(aim[1])},
        probability_inside=inside_probability(turn.state, aim),
        misses_m=misses,
        **method("miss_at_range"),
    )
    turn.close("inside")

"""The aim: inside and sure, one more set of readings, or turning the screws.

"Inside" is only said on two independent grounds: a full set of readings that is inside with the
wanted probability, and either a second set that agrees with it, or a prediction from before the
screws were turned that is sharp enough to have caught a slip, or levels enough in the set itself
that it is inside without any one of them.
"""

from __future__ import annotations

from dataclasses import replace

from companion.calibration.mount import Mount
from companion.dialogue.retry import Retry, retry
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import measured_value
from companion.steps.aim import prompts
from companion.steps.aim.figures import limits_of, mount_model, mount_of
from companion.steps.aim.judging import judge_move
from companion.steps.aim.looking import WORTH_SAYING, decided, judged_now, scatter_of_sets
from companion.steps.aim.model import AimDecision
from companion.steps.aim.noise import levels_now, misfits_now, misfits_so_far, widths_now
from companion.steps.aim.sets import covariance, measure_again
from companion.steps.aim.state import AimRound, aim_of, keep, without_short_set
from companion.steps.aim.turning import plan_for, turn_screws
from companion.steps.aim.uncertainty import say_if_none_could_pass, sets_to_settle
from companion.steps.computation.model import Computation
from companion.steps.shared.causes import EchoLevels
from companion.steps.shared.fault_isolation import ask_misread_level, cleared
from companion.uncertainty.agreement import held_against
from companion.uncertainty.redundancy import scatter_of_misfits
from companion.uncertainty.sets import mean_of

# Near a limit another set of readings settles little; turning does, when it promises so much.
WORTH_TURNING = 0.02


def decide_aim(tx: Transaction, step: AimDecision) -> None:
    """One look at a fresh set of aim readings."""
    mount = mount_of(mount_model(tx.state.plan))
    # A whole set counts in place of a short one, whose levels are among its own.
    before = aim = without_short_set(aim_of(tx.state))
    fresh = (
        measured_value(tx.state, step.yaw),
        measured_value(tx.state, step.elevation),
    )
    row, misfits = levels_now(tx.state, step), misfits_now(tx.state, step)
    widths = widths_now(tx.state, step)
    here = (*aim.levels[-1], row) if row else aim.levels[-1]
    aim = keep(
        tx,
        replace(
            aim,
            sets=(*aim.sets, fresh),
            looks=aim.looks + 1,
            unturned=None,
            levels=(*aim.levels[:-1], here),
            misfits=(*aim.misfits, misfits) if misfits else aim.misfits,
            widths=(*aim.widths, widths) if widths else aim.widths,
        ),
    )
    if misfits and held_against(scatter_of_misfits(misfits)).answer == "refused":
        # This set alone contradicts itself: it never counted, but it was looked at.
        keep(tx, replace(before, looks=aim.looks))
        _read_again(tx, step)
        return
    tx.change(suspected=cleared(tx.state, step.id))
    if _refused(tx.state, step, aim):
        # Nothing of before counts on: the newest may be the one that is right.
        keep(
            tx,
            replace(
                aim,
                sets=(fresh,),
                levels=((row,) if row else (),),
                misfits=(misfits,) if misfits else (),
                widths=(widths,) if widths else (),
            ),
        )
        measure_again(tx, step, prompts.SETS_DISAGREE)
        return
    if aim.planned_turns is not None and not aim.explained and not judge_move(tx, step, mount):
        return
    _settle(tx, step, mount)


def _settle(tx: Transaction, step: AimDecision, mount: Mount) -> None:
    """Inside and sure: done. Inside or too close: measure once more. Outside: turn the screws."""
    state, aim = tx.state, aim_of(tx.state)
    limits = limits_of(state.plan)
    tolerances = limits.both
    judged = judged_now(state, step, aim)
    yaw, elevation = judged.aim
    probability, wanted, answer = judged.probability_inside, judged.level, judged.answer
    if aim.looks > step.at_most_repeats and answer == "inside":
        # The risk of this position is spent: nothing may be called inside here any more.
        answer = "too_close"
    if answer == "too_close" and say_if_none_could_pass(tx, step, (yaw, elevation), wanted):
        return
    more = None
    if answer == "too_close":
        more = sets_to_settle((yaw, elevation), step, len(aim.sets), tolerances, wanted)
    if judged.agreement.answer == "widened" and judged.agreement.factor > WORTH_SAYING:
        tx.announce(prompts.WIDENED, "explain")
    sure = len(aim.sets) > 1 or aim.foreseen or judged.stands_alone
    confirmed = answer == "inside" and sure
    tx.record(decided(state, step, aim, judged, answer, confirmed=confirmed, more=more))
    if confirmed:
        tx.change(done=state.done | {step.id})
    elif answer == "inside":
        measure_again(tx, step, prompts.ONCE_MORE_TO_BE_SURE)
    else:
        surely, spread = probability, covariance((yaw, elevation))
        if probability >= wanted and judged.covariance_if_wrong is not None:
            # Only a doubt that nothing checks stands against it: it has to do with that as well.
            surely, spread = judged.probability_if_wrong, judged.covariance_if_wrong
        plan = plan_for(state, mount, aim, (yaw, elevation), spread)
        worth_turning = bool(plan.steps) and plan.predicted_probability > surely + WORTH_TURNING
        if answer == "too_close" and not (plan.reachable and worth_turning):
            measure_again(tx, step, prompts.too_close_sets(more))
        else:
            turn_screws(tx, step, mount, (yaw, elevation), plan, by_whole_set=True)


def _read_again(tx: Transaction, step: AimDecision) -> None:
    """The level that was likeliest misread, or all of them."""
    again = Retry(
        prompts.LEVELS_MISFIT,
        step.again.steps,
        step.again.at_most,
        prompts.LEVELS_KEEP_MISFITTING,
        wrong=prompts.LEVELS_DO_NOT_FIT,
    )
    levels = _levels_behind(tx.state, step)
    if levels is None:
        retry(tx, step.id, again)
    else:
        at, echo = levels
        ask_misread_level(tx, step.id, echo, again, at)


def _levels_behind(state: State, step: AimDecision) -> tuple[str, EchoLevels] | None:
    """The computation that the misfits come from, and the levels that it may blame."""
    misfits = set() if step.noise is None else set(step.noise.misfits)
    for other in state.plan.steps:
        if isinstance(other, Computation) and misfits.intersection(other.outputs.values()):
            return None if other.misread is None else (other.id, other.misread)
    return None


def _refused(state: State, step: AimDecision, aim: AimRound) -> bool:
    """Whether the sets, or what no parabola explains in them, contradict the entered doubts."""
    misfits = [mean_of(takes) for takes in misfits_so_far(aim)]
    return "refused" in (
        held_against(scatter_of_sets(state, step, aim)).answer,
        held_against(scatter_of_misfits(misfits)).answer,
    )

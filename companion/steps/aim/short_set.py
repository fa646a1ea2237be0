"""A short set: few levels behind a fine turn, judged with the widths of a whole set before it.

A turn of the screws leaves the beam's shape, the plate and its detents as they were. With the
widths of a whole set at the same stand, the levels at the far notches lack nothing but the sums by
which a set checks itself, and each axis keeps one of those. So the decision is the one of any set,
and it may only say inside: where anything is in doubt, nothing is said, and the other levels are
asked. It could say inside, so it is a look that spends its part of the risk, whatever it says.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import reading_name
from companion.facts.workings import Computed
from companion.steps.aim.figures import limits_of, mount_model, mount_of
from companion.steps.aim.judging import as_planned
from companion.steps.aim.looking import WORTH_SAYING, decided, judged_now
from companion.steps.aim.model import AimDecision
from companion.steps.aim.state import AimRound, ShortSet, keep
from companion.uncertainty.agreement import held_against
from companion.uncertainty.measured import Measured
from companion.uncertainty.redundancy import scatter_of_misfits
from companion.uncertainty.sets import Pair, mean_of
from companion.uncertainty.taking import reading_of

# Left-over sums that chance makes so large less often than this are for the whole set to judge.
DOUBTED_BELOW = 0.01


def may_be_short(state: State, step: AimDecision, aim: AimRound, largest_move_deg: float) -> bool:
    """Whether a whole set stood right before a turn so small, at this place, without a break.

    What is asked here was known before the levels were read: it chooses no answer.
    """
    if not (aim.by_whole_set and aim.widths) or aim.before is None or aim.planned_turns is None:
        return False
    if aim.sets or aim.explained:
        return False
    move_deg = math.hypot(*aim.response.predicted_deg(aim.planned_turns))
    resting = (*aim.before, *(width for row in aim.widths for width in row))
    return move_deg <= largest_move_deg and _same_place(state, step, resting)


def borrowed_widths(step: AimDecision, aim: AimRound) -> dict[str, Measured]:
    """The beam's widths by all whole sets at this stand, by the names of their results."""
    names = () if step.noise is None else step.noise.widths
    return {
        name: mean_of(takes)
        for name, takes in zip(names, zip(*aim.widths, strict=True), strict=True)
    }


def settled_by_short_set(
    tx: Transaction,
    step: AimDecision,
    aim: AimRound,
    pair: Pair,
    left_over: tuple[Measured, ...],
    levels: Sequence[str],
    workings: Iterable[Computed],
) -> bool:
    """Inside and sure by these few levels: then the aim is as settled as by a whole set.

    `levels`: the readings that were taken. Inside has to hold without any one of them as well, and
    the turn has to have come out as planned. Else nothing is recorded: the whole set says it all.
    """
    state = tx.state
    limits, mount = limits_of(state.plan), mount_of(mount_model(state.plan))
    if held_against(scatter_of_misfits(left_over)).probability < DOUBTED_BELOW:
        return False
    explained = as_planned(state, step.id, replace(aim, sets=(pair,)), mount)
    if explained is None or (explained[0].probability or 0.0) < limits.confidence:
        return False
    move, after = explained
    takes = tuple(reading_name(name, state.readings[name].take) for name in levels)
    after = replace(after, sets=(pair,), short=ShortSet(left_over, takes, aim))
    judged = judged_now(state, step, after)
    sure = judged.answer == "inside" and judged.stands_alone
    if not sure or judged.agreement.factor > WORTH_SAYING:
        return False
    for working in workings:
        tx.record(working)
    tx.record(move)
    tx.record(decided(state, step, after, judged, "inside", confirmed=True, levels=len(levels)))
    keep(tx, after)
    return True


def _same_place(state: State, step: AimDecision, resting: Iterable[Measured]) -> bool:
    """Whether nothing but the levels was read anew since: stand, plate and car stand as then."""
    for result in resting:
        for line, _ in result.contributions:
            name = reading_of(line)
            taken = state.readings.get(name)
            if name in step.again.steps or taken is None:
                continue
            if line != reading_name(name, taken.take):
                return False
    return True

"""Sets of aim readings: whether they agree, what they come to, and when another is wanted."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from companion.dialogue.progress import mark_stale
from companion.dialogue.retry import halt
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import reading_name
from companion.facts.message import Told
from companion.job.job_file import Step
from companion.steps.aim import prompts
from companion.steps.aim.figures import limits_of
from companion.steps.aim.looking import judged_now
from companion.steps.aim.model import AimDecision
from companion.steps.aim.state import aim_of, aim_round, keep, without_short_set
from companion.uncertainty.bivariate import box_probability
from companion.uncertainty.measured import Measured, covariance_matrix
from companion.uncertainty.sets import LEAST_U_DEG, Pair, combined, mean_of_sets

Covariance = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def inside_probability(state: State, aim: Pair) -> float:
    """Probability that both axes are inside the vehicle's tolerance, their correlation kept."""
    tolerances = limits_of(state.plan).both
    means = np.array([[aim[0].value, aim[1].value]])
    return float(box_probability(means, covariance(aim)[None], np.array(tolerances))[0])


def final_aim(state: State, step: AimDecision) -> Pair | None:
    """The aim that this step found inside, all agreeing sets averaged; None if it found none.

    Its doubt is the one that it was judged by: wider where the sets scattered more than entered.
    """
    aim = aim_round(state)
    if aim is None or not aim.sets or step.id not in state.done:
        return None
    return judged_now(state, step, aim).aim


def forget_aim_from(tx: Transaction, source: Step) -> None:
    """The aim as measured so far no longer counts where it rests on a step that is taken back.

    What was measured by another answer's route is forgotten too: the screws may move on that route.
    """
    state = tx.state
    aim = aim_round(state)
    if aim is None:
        return
    taken = state.readings.get(source.id)
    name = reading_name(source.id, taken.take) if taken is not None else None
    stays = [not _rests_on(s, name) for s in aim.sets]
    sets = tuple(s for s, kept in zip(aim.sets, stays, strict=True) if kept)
    here = aim.levels[-1]
    if len(here) == len(stays):
        here = tuple(row for row, kept in zip(here, stays, strict=True) if kept)
    if aim.before is not None and _rests_on(aim.before, name):
        aim = replace(aim, before=None, planned_turns=None, explained=False, foreseen=False)
    # What was looked at was looked at: the looks stay counted.
    misfits, widths = (
        tuple(
            row
            for row in rows
            if name is None or all(name not in dict(m.contributions) for m in row)
        )
        for rows in (aim.misfits, aim.widths)
    )
    aim = replace(aim, sets=sets, levels=(*aim.levels[:-1], here), misfits=misfits, widths=widths)
    keep(tx, aim if sets else without_short_set(aim))


def _rests_on(pair: Pair, reading: str | None) -> bool:
    """Whether that take of a reading is part of it; every pair rests on a route's question."""
    return reading is None or any(name == reading for m in pair for name, _ in m.contributions)


def mean(sets: tuple[Pair, ...]) -> Pair:
    """The mean of one set or more, in degrees; readings that sets share stay correlated."""
    return mean_of_sets(sets)


def difference(a: Measured, b: Measured) -> Measured:
    """a - b; what both rest on falls out."""
    return combined((1.0, -1.0), (a, b))


def covariance(pair: Pair) -> Covariance:
    """The covariance of (yaw, elevation) in square degrees, 2 by 2; always invertible."""
    return covariance_matrix(pair) + LEAST_U_DEG**2 * np.eye(2)


def measure_again(tx: Transaction, step: AimDecision, say: Told) -> None:
    """Another full set at the same position of the screws; it does not count as a round.

    Past the last look there is none: nothing measured at this position may be called inside.
    """
    aim = aim_of(tx.state)
    if aim.looks >= step.at_most_repeats:
        mark_stale(tx, step.again.steps, step.again.then_stop)
        halt(tx, step.id, prompts.UNSETTLED)
        return
    tx.announce(say, "explain")
    mark_stale(tx, step.again.steps, say)

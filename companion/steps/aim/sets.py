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
from companion.measure.bivariate import box_probability
from companion.measure.doubt import Measured, covariance_matrix
from companion.procedure.job import Step
from companion.steps.aim import prompts
from companion.steps.aim.figures import limits_of
from companion.steps.aim.model import AimDecision
from companion.steps.aim.state import aim_of, aim_round, keep

Pair = tuple[Measured, Measured]
"""The aim as (yaw, elevation), degrees: left and up positive."""
Covariance = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

# Two sets agree when they differ by less than this many times the doubt of their difference.
AGREEMENT_IN_U = 3.5
# Keeps a covariance of readings without doubt (a scan tool's exact angle, say) invertible.
LEAST_U_DEG = 1e-4


def inside_probability(state: State, aim: Pair) -> float:
    """Probability that both axes are inside the vehicle's tolerance, their correlation kept."""
    tolerances = limits_of(state.plan).both
    means = np.array([[aim[0].value, aim[1].value]])
    return float(box_probability(means, covariance(aim)[None], np.array(tolerances))[0])


def final_aim(state: State, step: AimDecision) -> Pair | None:
    """The aim that this step found inside, all agreeing sets averaged; None if it found none."""
    aim = aim_round(state)
    if aim is None or not aim.sets or step.id not in state.done:
        return None
    return mean(aim.sets)


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
    sets = tuple(s for s in aim.sets if not _rests_on(s, name))
    if aim.before is not None and _rests_on(aim.before, name):
        aim = replace(aim, before=None, planned_turns=None, explained=False, foreseen=False)
    keep(tx, replace(aim, sets=sets))


def _rests_on(pair: Pair, reading: str | None) -> bool:
    """Whether that take of a reading is part of it; every pair rests on a route's question."""
    return reading is None or any(name == reading for m in pair for name, _ in m.contributions)


def agree(a: Pair, b: Pair) -> bool:
    """Whether two sets differ by no more, along either axis, than their doubt lets expect."""
    differences = (difference(x, y) for x, y in zip(a, b, strict=True))
    return all(abs(d.value) <= AGREEMENT_IN_U * max(d.u, LEAST_U_DEG) for d in differences)


def mean(sets: tuple[Pair, ...]) -> Pair:
    """The mean of one set or more, in degrees; readings that sets share stay correlated."""
    return _mean_of([s[0] for s in sets]), _mean_of([s[1] for s in sets])


def _mean_of(values: list[Measured]) -> Measured:
    return _weighted([(1 / len(values), value) for value in values])


def difference(a: Measured, b: Measured) -> Measured:
    """a - b; what both rest on falls out."""
    return _weighted([(1.0, a), (-1.0, b)])


def _weighted(terms: list[tuple[float, Measured]]) -> Measured:
    """A linear combination; readings shared by the terms stay correlated."""
    parts: dict[str, float] = {}
    for weight, term in terms:
        for name, part in term.contributions:
            parts[name] = parts.get(name, 0.0) + weight * part
    value = sum(weight * term.value for weight, term in terms)
    return Measured(value, tuple(parts.items()))


def covariance(pair: Pair) -> Covariance:
    """The covariance of (yaw, elevation) in square degrees, 2 by 2; always invertible."""
    return covariance_matrix(pair) + LEAST_U_DEG**2 * np.eye(2)


def measure_again(tx: Transaction, step: AimDecision, say: Told) -> None:
    """Another full set at the same position of the screws; it does not count as a round."""
    aim = aim_of(tx.state)
    if aim.repeats >= 2 * step.at_most_repeats:
        keep(tx, replace(aim, repeats=0, sets=()))
        mark_stale(tx, step.again.steps, step.again.then_stop)
        halt(tx, step.id, prompts.UNSETTLED)
        return
    keep(tx, replace(aim, repeats=aim.repeats + 1))
    tx.announce(say, "explain")
    mark_stale(tx, step.again.steps, say)

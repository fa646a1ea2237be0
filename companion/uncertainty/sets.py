"""Sets of aim readings together: their mean, whether they agree, and what may be said at this look.

The decision on both axes at once: the probability of the normal distribution over the box of the
two tolerances (our own extension of JCGM 106:2012, which treats one scalar), against a level that
follows from spending the stated risk over the largest number of looks.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from companion.uncertainty.agreement import NO_SCATTER, Agreement, Scatter, held_against
from companion.uncertainty.bivariate import box_probability
from companion.uncertainty.measured import Measured, covariance_matrix, effective_degrees_of_freedom
from companion.uncertainty.sequential import look_at
from companion.uncertainty.student import widening
from companion.uncertainty.taking import own_to_a_take, widened

Pair = tuple[Measured, Measured]
"""The aim as (yaw, elevation), degrees: left and up positive."""

# Keeps a covariance of readings without doubt (a scan tool's exact angle, say) invertible.
LEAST_U_DEG = 1e-4
# Fewer effective degrees of freedom than this are hardly knowledge of a doubt at all.
LEAST_DEGREES_OF_FREEDOM = 1.0


@dataclass(frozen=True)
class Judged:
    """What the sets say at this look.

    `aim`: their mean, its scatter widened where the sets scatter more than entered. `level`: what
    counts at this look. `spent`: of the stated risk, this look included. `student`: what the doubt
    was widened by because parts of it rest on few repeats.
    """

    answer: Literal["inside", "outside", "too_close", "refused"]
    aim: Pair
    probability_inside: float
    level: float
    spent: float
    agreement: Agreement
    degrees_of_freedom: tuple[float, float]
    student: float


def mean_of_sets(sets: Sequence[Pair]) -> Pair:
    """The mean of one set or more, in degrees; what sets share stays correlated."""
    weights = [1.0 / len(sets)] * len(sets)
    return combined(weights, [s[0] for s in sets]), combined(weights, [s[1] for s in sets])


def combined(weights: Sequence[float], terms: Sequence[Measured]) -> Measured:
    """A linear combination; readings shared by the terms stay correlated."""
    parts: dict[str, float] = {}
    for weight, term in zip(weights, terms, strict=True):
        for name, part in term.contributions:
            parts[name] = parts.get(name, 0.0) + weight * part
    value = sum(weight * term.value for weight, term in zip(weights, terms, strict=True))
    return Measured(value, tuple(parts.items()))


def judge_sets(
    sets: Sequence[Pair],
    tolerances_deg: tuple[float, float],
    confidence: float,
    look: int,
    most_looks: int,
    *,
    scatter: Scatter = NO_SCATTER,
    degrees_of_freedom: Mapping[str, float] | None = None,
) -> Judged:
    """Inside, outside or too close at look number `look` (from 1); refused where sets contradict.

    `scatter`: what the readings tell of their own noise (`repeats.scatter_of_levels`), beside what
    the sets' differences do. `degrees_of_freedom`: by budget line, those that rest on few repeats.
    `look` counts every set that was measured at these screws, those taken back as well.
    """
    agreement = held_against(scatter if scatter.degrees_of_freedom else between(sets))
    factor = agreement.factor
    aim = mean_of_sets(sets)
    aim = widened(aim[0], factor), widened(aim[1], factor)
    doubts = _doubts_at_each_look(sets, factor, look)
    found = max(
        (look_at(confidence, look, most_looks, row) for row in doubts), key=lambda item: item.level
    )
    known = degrees_of_freedom or {}
    dof = tuple(
        max(effective_degrees_of_freedom(axis, known), LEAST_DEGREES_OF_FREEDOM) for axis in aim
    )
    student = widening(found.level, min(dof))
    spread = (covariance_matrix(aim) + LEAST_U_DEG**2 * np.eye(2)) * student**2
    values = np.array([[aim[0].value, aim[1].value]])
    probability = float(box_probability(values, spread[None], np.array(tolerances_deg))[0])
    answer: Literal["inside", "outside", "too_close", "refused"] = "too_close"
    if agreement.answer == "refused":
        answer = "refused"
    elif probability >= found.level:
        answer = "inside"
    elif probability <= 1.0 - confidence:
        answer = "outside"
    return Judged(
        answer,
        aim,
        probability,
        found.level,
        found.spent,
        agreement,
        (dof[0], dof[1]),
        student,
    )


def _doubts_at_each_look(
    sets: Sequence[Pair], factor: float, look: int
) -> tuple[list[float], list[float]]:
    """Standard uncertainty of each axis' mean at every look up to this one.

    Looks whose sets were taken back are given this one's doubt: they are bounded on their own.
    """
    rows: tuple[list[float], list[float]] = ([], [])
    for axis in (0, 1):
        so_far = [
            widened(mean_of_sets(sets[: count + 1])[axis], factor).u for count in range(len(sets))
        ][:look]
        rows[axis].extend(so_far[:1] * (look - len(so_far)) + so_far)
    return rows


def between(sets: Sequence[Pair]) -> Scatter:
    """Chi-square of the sets about their mean, in what scatters from set to set."""
    found = NO_SCATTER
    if len(sets) < 2:
        return found
    for axis in (0, 1):
        mean = sum(pair[axis].value for pair in sets) / len(sets)
        own = [
            sum(part**2 for name, part in pair[axis].contributions if own_to_a_take(name))
            for pair in sets
        ]
        variance = max(sum(own) / len(own), LEAST_U_DEG**2)
        total = sum((pair[axis].value - mean) ** 2 for pair in sets) / variance
        found = found + Scatter(total, len(sets) - 1)
    return found

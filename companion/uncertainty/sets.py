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
from numpy.typing import NDArray

from companion.uncertainty.agreement import NO_SCATTER, Agreement, Scatter, held_against
from companion.uncertainty.bivariate import box_probability
from companion.uncertainty.measured import Measured, effective_degrees_of_freedom
from companion.uncertainty.redundancy import GroupOf, Lines
from companion.uncertainty.sequential import look_at_several
from companion.uncertainty.student import widening
from companion.uncertainty.taking import own_to_a_take

Array = NDArray[np.float64]
Pair = tuple[Measured, Measured]
"""The aim as (yaw, elevation), degrees: left and up positive."""

# Keeps a covariance of readings without doubt (a scan tool's exact angle, say) invertible.
LEAST_U_DEG = 1e-4
_LEAST_SPREAD = LEAST_U_DEG**2 * np.eye(2)
# Fewer effective degrees of freedom than this are hardly knowledge of a doubt at all.
LEAST_DEGREES_OF_FREEDOM = 1.0


@dataclass(frozen=True)
class Judged:
    """What the sets say at this look.

    `aim`: their mean, its scatter widened where the sets scatter more than entered. `level`: what
    counts at this look. `spent`: of the stated risk, this look included. `student`: what the doubt
    was widened by because parts of it rest on few repeats. `probability_if_wrong`: were the one
    entered doubt `wrong` too small by `redundancy.WRONG_BY`, the worst of them;
    `covariance_if_wrong` (2 x 2) is the aim's then, None where there is no such. `stands_alone`:
    inside without any one of the levels as well, so that no single misread level makes it so.
    """

    answer: Literal["inside", "outside", "too_close", "refused"]
    aim: Pair
    probability_inside: float
    level: float
    spent: float
    agreement: Agreement
    degrees_of_freedom: tuple[float, float]
    student: float
    probability_if_wrong: float = 1.0
    wrong: str = ""
    covariance_if_wrong: Array | None = None
    stands_alone: bool = False


@dataclass(frozen=True)
class Redundancy:
    """What a job has to check its own doubts by.

    `misfits`: sums of levels that are zero for every aim, each as often as a set at this stand had
    it, at earlier positions of the screws too. `levels`: the readings' names, or those of the takes
    that count. `group_of`: what a budget line rests on; left out, no entered doubt is tried larger.
    """

    misfits: Sequence[Sequence[Measured]] = ()
    levels: Sequence[str] = ()
    group_of: GroupOf | None = None


NO_REDUNDANCY = Redundancy()


def mean_of_sets(sets: Sequence[Pair]) -> Pair:
    """The mean of one set or more, in degrees; what sets share stays correlated."""
    weights = [1.0 / len(sets)] * len(sets)
    return combined(weights, [s[0] for s in sets]), combined(weights, [s[1] for s in sets])


def combined(weights: Sequence[float], terms: Sequence[Measured]) -> Measured:
    """A linear combination; readings shared by the terms stay correlated."""
    if len(terms) == 1 and weights[0] == 1.0:
        return terms[0]
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
    redundancy: Redundancy = NO_REDUNDANCY,
) -> Judged:
    """Inside, outside or too close at look number `look` (from 1); refused where sets contradict.

    `scatter`: what the readings tell of their own noise (`repeats.scatter_of_levels`), beside what
    the sets' differences do. `degrees_of_freedom`: by budget line, those that rest on few repeats.
    `look` counts every set that was measured at these screws, those taken back as well.

    Inside needs the level of this look with the doubts as they are, and with any one doubt that the
    job does not check `WRONG_BY` times as large: what is wrong stays so at every look.
    """
    entered = Lines.of_sets(sets, redundancy.misfits)
    ripple = held_against(entered.scatter_of_misfits())
    noise = held_against(scatter if scatter.degrees_of_freedom else between(sets))
    agreement = max((noise, ripple), key=_weight)
    lines = entered.widened(noise.factor, ripple.factor)
    aim = lines.mean
    # What stands at the first look is bounded on its own, however large its doubt.
    doubts = lines.doubts_so_far() if look > 1 else [[1.0]]
    found = look_at_several(
        confidence, look, most_looks, [_at_each_look(axis, look) for axis in doubts]
    )
    known = degrees_of_freedom or {}
    dof = tuple(
        max(effective_degrees_of_freedom(axis, known), LEAST_DEGREES_OF_FREEDOM) for axis in aim
    )
    student = widening(found.level, min(dof))
    groups, spreads = lines.with_each_doubt_wrong(redundancy.group_of)
    left_out = lines.without_each(redundancy.levels) if redundancy.misfits else None
    # As entered first, then with one figure after another wrong, then without one level or another.
    ends = 1 + len(groups)
    count = ends if left_out is None else ends + len(left_out[0])
    means, spread = np.empty((count, 2)), np.empty((count, 2, 2))
    means[:ends], spread[0], spread[1:ends] = lines.aim_values, lines.covariance, spreads
    if left_out is not None:
        means[ends:], spread[ends:] = left_out
    spread += _LEAST_SPREAD
    spread *= student**2
    chances = box_probability(means, spread, np.array(tolerances_deg))
    probability = float(chances[0])
    wrongs, without = chances[1:ends], chances[ends:]
    if_wrong, wrong, covariance_if_wrong = 1.0, "", None
    if groups:
        # Where none makes a difference the largest is named, not what rounding brings to the front.
        to_say = np.round(wrongs, 12)
        alike = np.flatnonzero(to_say == to_say.min())
        sizes = spreads[alike, 0, 0] + spreads[alike, 1, 1]
        worst = int(alike[sizes.argmax()])
        if_wrong, wrong, covariance_if_wrong = float(wrongs[worst]), groups[worst], spreads[worst]
    answer: Literal["inside", "outside", "too_close", "refused"] = "too_close"
    if agreement.answer == "refused":
        answer = "refused"
    elif min(probability, if_wrong) >= found.level:
        answer = "inside"
    elif probability <= 1.0 - confidence:
        answer = "outside"
    stands_alone = (
        answer == "inside" and left_out is not None and bool((without >= found.level).all())
    )
    return Judged(
        answer,
        aim,
        probability,
        found.level,
        found.spent,
        agreement,
        (dof[0], dof[1]),
        student,
        if_wrong,
        wrong,
        covariance_if_wrong,
        stands_alone,
    )


def mean_of(results: Sequence[Measured]) -> Measured:
    """The mean of results that may share readings."""
    return combined([1.0 / len(results)] * len(results), results)


def _weight(agreement: Agreement) -> tuple[bool, float]:
    return agreement.answer == "refused", agreement.factor


def _at_each_look(doubts: list[float], look: int) -> list[float]:
    """Standard uncertainty of the mean at every look up to this one.

    `doubts`: of the first set, of the first two, and so on. Looks whose sets were taken back are
    given the first one's doubt: they are bounded on their own.
    """
    return doubts[:1] * (look - len(doubts)) + doubts[:look]


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

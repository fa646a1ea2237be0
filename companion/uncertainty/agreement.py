"""The doubt that was entered, held against how far repeated readings really scatter.

Readings that should be alike give a chi-square in units of their entered doubt. Where they scatter
more, the entered doubt is widened by the Birge ratio sqrt(chi-square / degrees of freedom), R. T.
Birge, Phys. Rev. 40 (1932) 207; where chance hardly ever lets them scatter so much, refused.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from companion.errors import MeasureError

Answer = Literal["as_entered", "widened", "refused"]

# Honest readings are refused once in a thousand times.
REFUSED_BELOW = 1e-3


@dataclass(frozen=True)
class Scatter:
    """How far readings that should be alike lie apart, in units of their entered doubt."""

    chi_square: float
    degrees_of_freedom: int

    def __add__(self, other: Scatter) -> Scatter:
        return Scatter(
            self.chi_square + other.chi_square, self.degrees_of_freedom + other.degrees_of_freedom
        )


NO_SCATTER = Scatter(0.0, 0)


@dataclass(frozen=True)
class Agreement:
    """`birge_ratio`: seen over entered scatter. `factor`: what the entered doubt is to be widened
    by, 1 or more. `probability`: of so much scatter or more, were the entered doubt right."""

    answer: Answer
    birge_ratio: float
    factor: float
    probability: float
    degrees_of_freedom: int


def scatter_of(values: Sequence[float], standard_uncertainties: Sequence[float]) -> Scatter:
    """Chi-square of readings of one quantity about their weighted mean, n - 1 degrees of freedom.

    Only what scatters from reading to reading belongs into the doubt. Nothing of fewer than two.
    Raises MeasureError for unequal lengths or a doubt that is not above zero.
    """
    if len(values) != len(standard_uncertainties):
        raise MeasureError(
            f"scatter: found {len(values)} readings with {len(standard_uncertainties)} doubts; "
            "wanted: one doubt each"
        )
    if any(not u > 0.0 for u in standard_uncertainties):
        raise MeasureError("scatter: found a doubt that is not above zero; wanted: more than 0")
    if not values:
        return NO_SCATTER
    weights = [1.0 / u**2 for u in standard_uncertainties]
    mean = math.fsum(w * v for w, v in zip(weights, values, strict=True)) / math.fsum(weights)
    total = math.fsum(w * (v - mean) ** 2 for w, v in zip(weights, values, strict=True))
    return Scatter(total, len(values) - 1)


def together(scatters: Iterable[Scatter]) -> Scatter:
    """All of them as one: chi-squares and degrees of freedom add where readings are independent."""
    return sum(scatters, NO_SCATTER)


def held_against(scatter: Scatter, refused_below: float = REFUSED_BELOW) -> Agreement:
    """Whether the entered doubt stands, is widened by the Birge ratio, or is refused."""
    dof = scatter.degrees_of_freedom
    if dof == 0:
        return Agreement("as_entered", 1.0, 1.0, 1.0, 0)
    ratio = math.sqrt(scatter.chi_square / dof)
    probability = chi_square_tail(scatter.chi_square, dof)
    answer: Answer = "as_entered"
    if probability < refused_below:
        answer = "refused"
    elif ratio > 1.0:
        answer = "widened"
    return Agreement(answer, ratio, max(1.0, ratio), probability, dof)


def chi_square_tail(chi_square: float, degrees_of_freedom: int) -> float:
    """Probability of more than `chi_square` (0 or above), for whole degrees of freedom from 1.

    The closed forms: Q(a, x) by recurrence from exp(-x), or from erfc(sqrt x) for odd ones.
    """
    if not (chi_square >= 0.0 and degrees_of_freedom >= 1):
        raise MeasureError(
            f"chi-square: found {chi_square} with {degrees_of_freedom} degrees of freedom; wanted "
            "are 0 or more, and 1 or more"
        )
    half = chi_square / 2.0
    if degrees_of_freedom % 2:
        tail, a = math.erfc(math.sqrt(half)), 0.5
    else:
        tail, a = math.exp(-half), 1.0
    while a < degrees_of_freedom / 2.0:
        if half > 0.0:
            tail += math.exp(a * math.log(half) - half - math.lgamma(a + 1.0))
        a += 1.0
    return min(tail, 1.0)

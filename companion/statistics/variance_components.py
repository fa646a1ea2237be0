"""How much of a spread lies between groups (people, stands) and how much within them.

One-way random-effects analysis of variance, by the method of moments, also for groups of unequal
size: S. R. Searle, Linear Models (1971), chapter 9 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Group:
    """One group: how many values, their mean and standard deviation (None for a single value)."""

    name: str
    count: int
    mean: float
    standard_deviation: float | None


@dataclass(frozen=True)
class VarianceComponents:
    """Mean squares, F, and the two components as variances (in the square of the values' unit).

    `between` is zero where the groups differ no more than chance makes them differ; that is told
    by `between_raw`, the estimate before it was cut off at zero.
    """

    groups: tuple[Group, ...]
    between_df: int
    within_df: int
    mean_square_between: float
    mean_square_within: float
    effective_size: float

    @property
    def f_ratio(self) -> float:
        """Mean square between over mean square within; infinite where nothing varies within."""
        if self.mean_square_within == 0:
            return math.inf if self.mean_square_between > 0 else 0.0
        return self.mean_square_between / self.mean_square_within

    @property
    def within(self) -> float:
        """The variance within a group: repeatability squared."""
        return self.mean_square_within

    @property
    def between_raw(self) -> float:
        """The variance between groups as estimated; may fall below zero by chance."""
        return (self.mean_square_between - self.mean_square_within) / self.effective_size

    @property
    def between(self) -> float:
        """The variance between groups, at least zero."""
        return max(0.0, self.between_raw)

    @property
    def share_between(self) -> float:
        """The part of the whole variance that lies between groups, 0 to 1."""
        whole = self.between + self.within
        return self.between / whole if whole > 0 else 0.0


def variance_components(groups: Mapping[str, Sequence[float]]) -> VarianceComponents | None:
    """The components of two groups or more with repeats in at least one; else None."""
    kept = {name: list(values) for name, values in groups.items() if values}
    total = sum(map(len, kept.values()))
    if len(kept) < 2 or total <= len(kept):
        return None
    means = {name: math.fsum(values) / len(values) for name, values in kept.items()}
    grand = math.fsum(value for values in kept.values() for value in values) / total
    between = math.fsum(len(v) * (means[name] - grand) ** 2 for name, v in kept.items())
    within = {
        name: math.fsum((value - means[name]) ** 2 for value in values)
        for name, values in kept.items()
    }
    squares = math.fsum(len(values) ** 2 for values in kept.values())
    return VarianceComponents(
        groups=tuple(
            Group(name, len(v), means[name], _deviation(within[name], len(v)))
            for name, v in kept.items()
        ),
        between_df=len(kept) - 1,
        within_df=total - len(kept),
        mean_square_between=between / (len(kept) - 1),
        mean_square_within=math.fsum(within.values()) / (total - len(kept)),
        effective_size=(total - squares / total) / (len(kept) - 1),
    )


def _deviation(sum_of_squares: float, count: int) -> float | None:
    return math.sqrt(sum_of_squares / (count - 1)) if count > 1 else None

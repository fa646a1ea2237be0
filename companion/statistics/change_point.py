"""Has the level of a series changed, and when? A rank CUSUM with a permutation test.

The statistic is that of A. N. Pettitt, A non-parametric approach to the change-point problem,
Applied Statistics 28 (1979), with normal scores in place of the ranks: with mid-ranks r_i of n
values and scores a_i = Phi^-1((r_i - 1/2) / n), less their mean, U_t = sum over i <= t of a_i and
K = max |U_t|; the change lies where |U_t| is largest. (Normal scores for a shift of level: B. L.
van der Waerden, 1952. They find a shift among normal values a little more often than ranks do.)
Scores of ranks ask nothing of the values' distribution, and ties, which rounded readings are full
of, are borne as they are because the p-value comes from shuffling these very scores. The shuffling
stops early where it can: J. Besag and P. Clifford, Sequential Monte Carlo p-values, Biometrika 78
(1991) (all from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

SEED = 1979
DRAWS_A_BLOCK = 1000
MOST_DRAWS = 1_200_000
ENOUGH_ABOVE = 1600
"""So many shuffles that reach the statistic tell its p-value to a fortieth of itself."""
CLEAR_FROM = 50
"""Where so many would be expected at the p-value in doubt, a quarter of them is clearly fewer."""
EQUAL = 1e-9
"""Sums of scores that differ by less differ by rounding alone."""


@dataclass(frozen=True)
class ChangePoint:
    """The likeliest moment of change, and how likely steady values would show one as clear.

    `place` values come before it; 1 <= place < n. `statistic` is K, the largest sum of scores.
    """

    place: int
    statistic: float
    p_value: float


def mid_ranks(values: Sequence[float]) -> Floats:
    """Ranks from 1; values that are equal share the mean of their ranks."""
    _, place, counts = np.unique(np.asarray(values, float), return_inverse=True, return_counts=True)
    last = np.cumsum(counts)
    found: Floats = (last - (counts - 1) / 2)[place.ravel()]
    return found


def change_point(values: Sequence[float], doubtful: float = 0.01) -> ChangePoint:
    """The change point of two values or more; the p-value is told best where it is `doubtful`.

    The same values give the same answer always. Raises ValueError for fewer than two values.
    """
    if len(values) < 2:
        raise ValueError(f"a change within {len(values)} values; wanted: two or more")
    scores = normal_scores(values)
    place, statistic = largest_sum(scores)
    return ChangePoint(place, statistic, _p_value(scores, statistic, doubtful))


def normal_scores(values: Sequence[float]) -> Floats:
    """Normal quantiles of the mid-ranks, less their mean; values that are equal share one."""
    quantile = NormalDist().inv_cdf
    shares = (mid_ranks(values) - 0.5) / len(values)
    scores = np.array([quantile(share) for share in shares.tolist()])
    found: Floats = scores - scores.mean()
    return found


def largest_sum(scores: Floats) -> tuple[int, float]:
    """How many scores come before the likeliest change, and the size of their sum."""
    sums = np.abs(np.cumsum(scores))[:-1]
    # Sums that differ by rounding alone are equal: the first of them is the place.
    place = int(np.flatnonzero(sums >= sums.max() - EQUAL)[0])
    return place + 1, float(sums[place])


def holm(p_values: Sequence[float]) -> list[float]:
    """The p-values as adjusted for there being so many of them, in the same order.

    Those at most `a` are the ones that S. Holm, A simple sequentially rejective multiple test
    procedure, Scandinavian Journal of Statistics 6 (1979) (from memory), rejects while the chance
    of rejecting any that is true stays at most `a`, however the series depend on each other.
    """
    adjusted = [0.0] * len(p_values)
    highest = 0.0
    order = sorted(range(len(p_values)), key=lambda place: p_values[place])
    for done, place in enumerate(order):
        highest = max(highest, min(1.0, (len(p_values) - done) * p_values[place]))
        adjusted[place] = highest
    return adjusted


def _p_value(scores: Floats, statistic: float, doubtful: float) -> float:
    kept = tuple(sorted(scores.tolist()))
    most = min(MOST_DRAWS, math.ceil(ENOUGH_ABOVE / doubtful))
    above = drawn = 0
    while drawn < most:
        block = drawn // DRAWS_A_BLOCK
        reached = np.flatnonzero(_shuffled_statistics(kept, block) >= statistic - EQUAL)
        if above + len(reached) >= ENOUGH_ABOVE:
            return ENOUGH_ABOVE / float(drawn + reached[ENOUGH_ABOVE - above - 1] + 1)
        above += len(reached)
        drawn += DRAWS_A_BLOCK
        expected = drawn * doubtful
        if expected >= CLEAR_FROM and above <= expected / 4:
            break
    return (above + 1) / (drawn + 1)


@lru_cache(maxsize=2048)
def _shuffled_statistics(scores: tuple[float, ...], block: int) -> Floats:
    """K of a block of shuffles of these scores: steady charts of one length share them."""
    random = np.random.default_rng((SEED, block))
    shuffled = random.permuted(np.tile(np.array(scores), (DRAWS_A_BLOCK, 1)), axis=1)
    found: Floats = np.abs(np.cumsum(shuffled, axis=1)[:, :-1]).max(axis=1)
    return found

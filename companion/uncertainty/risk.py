"""How often an accepted item is bad, or a rejected one good; and what a count of errors proves.

Method: JCGM 106:2012, global risk: the true values scatter normally about a mean, and so does the
measurement about the true value.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from companion.errors import MeasureError
from companion.uncertainty.conformity import probability_inside

_REACH_SD = 9.0
_PANELS = 64
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_HALVINGS = 100


@dataclass(frozen=True)
class Risk:
    """`false_accept`: bad and accepted (consumer's); `false_reject`: good and rejected.

    Both are parts of all items, not of the accepted or rejected ones.
    """

    false_accept: float
    false_reject: float
    inside: float
    accepted: float


def _integral(function: Callable[[float], float], low: float, high: float) -> float:
    if high <= low:
        return 0.0
    edges = np.linspace(low, high, _PANELS + 1)
    total = 0.0
    for left, right in itertools.pairwise(edges):
        half = (right - left) / 2.0
        for node, weight in zip(_NODES, _WEIGHTS, strict=True):
            total += weight * half * function(float(left + half * (1.0 + node)))
    return total


def global_risk(
    mean: float,
    sd: float,
    u: float,
    limits: tuple[float, float],
    acceptance: tuple[float, float] | None = None,
) -> Risk:
    """Risk for true values of `mean` and `sd`, measured with `u`, accepted within `acceptance`.

    `acceptance` is `limits` where none is given. Raises MeasureError unless sd and u are above 0.
    """
    if not (sd > 0.0 and u > 0.0):
        raise MeasureError(f"risk: found sd {sd} and u {u}; wanted are two above 0")
    low, high = limits
    accept_low, accept_high = acceptance or limits
    spread = NormalDist(mean, sd)
    bottom, top = mean - _REACH_SD * sd, mean + _REACH_SD * sd

    def accepted(value: float) -> float:
        return spread.pdf(value) * probability_inside(value, u, accept_low, accept_high)

    def between(a: float, b: float) -> float:
        a, b = max(a, bottom), min(b, top)
        # The acceptance turns over within a few u of its limits: integrate piece by piece.
        cuts = sorted({a, b, *(c for c in _turns(accept_low, accept_high, u) if a < c < b)})
        return sum(_integral(accepted, x, y) for x, y in itertools.pairwise(cuts))

    inside = probability_inside(mean, sd, low, high)
    good = between(low, high)
    bad = between(bottom, low) + between(high, top)
    return Risk(bad, inside - good, inside, good + bad)


def _turns(low: float, high: float, u: float) -> tuple[float, ...]:
    return tuple(edge + k * u for edge in (low, high) for k in (-8.0, -3.0, 0.0, 3.0, 8.0))


def _at_most(count: int, trials: int, chance: float) -> float:
    """Probability of at most `count` in `trials`."""
    if chance <= 0.0:
        return 1.0
    if chance >= 1.0:
        return 1.0 if count >= trials else 0.0
    log_yes, log_no = math.log(chance), math.log1p(-chance)
    return min(
        1.0,
        math.fsum(
            math.exp(
                math.lgamma(trials + 1)
                - math.lgamma(k + 1)
                - math.lgamma(trials - k + 1)
                + k * log_yes
                + (trials - k) * log_no
            )
            for k in range(count + 1)
        ),
    )


def _halve(too_small: Callable[[float], bool]) -> float:
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if too_small(middle):
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _check_count(count: int, trials: int, level: float) -> None:
    if not (0 <= count <= trials and trials > 0 and 0.0 < level < 1.0):
        raise MeasureError(
            f"bounds: found {count} of {trials} at {level}; wanted is a count within the trials "
            "and a level between 0 and 1"
        )


def rate_at_most(count: int, trials: int, level: float = 0.95) -> float:
    """Exact one-sided upper bound of a rate (Clopper and Pearson)."""
    _check_count(count, trials, level)
    if count == trials:
        return 1.0
    return _halve(lambda chance: _at_most(count, trials, chance) > 1.0 - level)


def rate_between(count: int, trials: int, level: float = 0.95) -> tuple[float, float]:
    """Exact two-sided bounds of a rate (Clopper and Pearson)."""
    _check_count(count, trials, level)
    tail = (1.0 - level) / 2.0
    low, high = 0.0, 1.0
    if count > 0:
        low = _halve(lambda chance: 1.0 - _at_most(count - 1, trials, chance) < tail)
    if count < trials:
        high = _halve(lambda chance: _at_most(count, trials, chance) > tail)
    return low, high


def rate_between_wilson(count: int, trials: int, level: float = 0.95) -> tuple[float, float]:
    """Wilson's score bounds: nearer the wanted level on average, but not guaranteed."""
    _check_count(count, trials, level)
    z = NormalDist().inv_cdf(0.5 + level / 2.0)
    rate, scale = count / trials, 1.0 + z * z / trials
    middle = (rate + z * z / (2.0 * trials)) / scale
    half = z * math.sqrt(rate * (1.0 - rate) / trials + z * z / (4.0 * trials**2)) / scale
    return max(0.0, middle - half), min(1.0, middle + half)

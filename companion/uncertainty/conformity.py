"""Inside, outside or too close to call: how likely the true value lies within its limits.

The probability is computed for the two limits together. Taking 1.645 u off each limit is not the
same and lets through what it should not once u passes about a third of the tolerance.
Method: conformance probability of JCGM 106:2012, normal distribution, no prior knowledge. That
guide treats one scalar; limits for two values together (bivariate.py) are our own extension.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from companion.errors import MeasureError

Answer = Literal["inside", "outside", "too_close"]

_ROOT_2 = math.sqrt(2.0)


@dataclass(frozen=True)
class Verdict:
    """The answer and the probability (0 to 1) that the true value is within the limits."""

    answer: Answer
    probability_inside: float


def _check(u: float, low: float, high: float) -> None:
    if math.isnan(u) or u < 0.0 or math.isinf(u):
        raise MeasureError(f"found a doubt of {u}; wanted: a finite one that is not negative")
    if math.isnan(low) or math.isnan(high) or low > high:
        raise MeasureError(f"found limits {low} to {high}; wanted: the lower one first")


def _check_level(level: float) -> None:
    if not 0.5 < level < 1.0:
        raise MeasureError(f"found a wanted certainty of {level}; wanted: 0.5 to 1")


def probability_inside(value: float, u: float, low: float, high: float) -> float:
    """Probability that the true value lies in low..high; either limit may be infinite.

    With u = 0 it is 1 on or between the limits, else 0. Raises MeasureError for a value that is
    no number, a negative doubt, or limits the wrong way round.
    """
    _check(u, low, high)
    if not math.isfinite(value):
        raise MeasureError(f"found the value {value}; wanted: a finite number")
    if u == 0.0:
        return 1.0 if low <= value <= high else 0.0
    scale = u * _ROOT_2
    # Beyond a limit both terms are small tails; 1 minus nearly 1 would lose every digit there.
    if value > high:
        return 0.5 * (math.erfc((value - high) / scale) - math.erfc((value - low) / scale))
    if value < low:
        return 0.5 * (math.erfc((low - value) / scale) - math.erfc((high - value) / scale))
    return 1.0 - 0.5 * (math.erfc((value - low) / scale) + math.erfc((high - value) / scale))


def decide(value: float, u: float, low: float, high: float, level: float = 0.95) -> Verdict:
    """Three answers at the wanted certainty.

    `inside` if the value lies within the limits with at least `level`, `outside` if it lies
    beyond them with at least `level`, else `too_close`. Ask `can_ever_pass` first: with too much
    doubt even a reading in the middle is not inside.
    """
    _check_level(level)
    probability = probability_inside(value, u, low, high)
    answer: Answer = "too_close"
    if probability >= level:
        answer = "inside"
    elif probability <= 1.0 - level:
        answer = "outside"
    return Verdict(answer, probability)


def contradicts(value: float, u: float, low: float, high: float, level: float = 0.99) -> bool:
    """Whether a check says, with its own doubt, that the value lies beyond its limits.

    A check is no verdict on the car: it refuses only what it is sure of. One so coarse that it
    cannot be sure of anything finds nothing, and what it would have guarded carries that doubt.
    """
    return decide(value, u, low, high, level).answer == "outside"


def best_possible_probability(u: float, low: float, high: float) -> float:
    """Probability of a result right in the middle of the limits: none can do better."""
    _check(u, low, high)
    if math.isinf(low) or math.isinf(high):
        return 1.0
    return probability_inside((low + high) / 2.0, u, low, high)


def can_ever_pass(u: float, low: float, high: float, level: float = 0.95) -> bool:
    """Whether any result at all could be called inside with this doubt."""
    _check_level(level)
    return best_possible_probability(u, low, high) >= level


def repeats_to_settle(
    value: float,
    u_random: float,
    u_systematic: float,
    low: float,
    high: float,
    level: float = 0.95,
    most: int = 100,
) -> int | None:
    """How many readings to average for a clear answer if their mean stays at `value`.

    `u_random` is what one reading scatters, `u_systematic` what averaging cannot remove; the mean
    of n carries sqrt(u_systematic^2 + u_random^2 / n). None: not even `most` readings settle it.
    """
    if decide(value, u_systematic, low, high, level).answer == "too_close":
        return None
    for count in range(1, most + 1):
        u = math.hypot(u_systematic, u_random / math.sqrt(count))
        if decide(value, u, low, high, level).answer != "too_close":
            return count
    return None

"""Student's t: how far to widen a doubt that rests on few readings."""

from __future__ import annotations

import math
from statistics import NormalDist

from companion.errors import MeasureError

_TERMS = 10_000
_TINY = 1e-300
_HALVINGS = 200


def _beta_fraction(a: float, b: float, x: float) -> float:
    """Continued fraction of the incomplete beta function, by the modified Lentz method."""
    c, d = 1.0, 1.0 / max(1.0 - (a + b) * x / (a + 1.0), _TINY)
    value = d
    for m in range(1, _TERMS):
        change = 0.0
        for term in (
            m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0)),
        ):
            d = 1.0 + term * d
            c = 1.0 + term / c
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = c if abs(c) > _TINY else _TINY
            change = c * d
            value *= change
        if abs(change - 1.0) < 1e-15:
            return value
    raise MeasureError(f"Student's t did not settle for a = {a}, b = {b}, x = {x}")


def _incomplete_beta(a: float, b: float, x: float, rest: float) -> float:
    """Regularised incomplete beta I_x(a, b); `rest` is 1 - x, given apart to keep its digits."""
    if x <= 0.0:
        return 0.0
    if rest <= 0.0:
        return 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(rest)
    )
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _beta_fraction(a, b, x) / a
    return 1.0 - front * _beta_fraction(b, a, rest) / b


def t_upper_tail(t: float, degrees_of_freedom: float) -> float:
    """Probability of more than `t` (0 or above); the normal distribution for infinite dof."""
    if not (t >= 0.0 and degrees_of_freedom > 0.0):
        raise MeasureError(
            f"Student's t: found t {t} with {degrees_of_freedom} degrees of freedom; wanted: "
            "0 or more, and more than 0"
        )
    if math.isinf(degrees_of_freedom):
        return 0.5 * math.erfc(t / math.sqrt(2.0))
    total = degrees_of_freedom + t * t
    return 0.5 * _incomplete_beta(
        degrees_of_freedom / 2.0, 0.5, degrees_of_freedom / total, t * t / total
    )


def t_factor(level: float, degrees_of_freedom: float) -> float:
    """The t within which (to both sides) lies `level` of the distribution.

    By halving on `t_upper_tail`, to about 1e-12. Raises MeasureError unless 0 < level < 1.
    """
    if not 0.0 < level < 1.0:
        raise MeasureError(f"Student's t: found a level of {level}; wanted: 0 to 1")
    if math.isinf(degrees_of_freedom):
        return NormalDist().inv_cdf(0.5 + level / 2.0)
    tail = (1.0 - level) / 2.0
    low, high = 0.0, 1.0
    while t_upper_tail(high, degrees_of_freedom) > tail:
        low, high = high, 2.0 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        if t_upper_tail(middle, degrees_of_freedom) > tail:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def widening(level: float, degrees_of_freedom: float) -> float:
    """Student's over the normal one-sided quantile at `level` (0.5 to 1): 1 or more.

    A doubt widened by it may be used with the normal distribution at that level.
    """
    if not 0.5 < level < 1.0:
        raise MeasureError(f"Student's t: found a level of {level}; wanted: 0.5 to 1")
    if math.isinf(degrees_of_freedom):
        return 1.0
    return t_factor(2.0 * level - 1.0, degrees_of_freedom) / NormalDist().inv_cdf(level)

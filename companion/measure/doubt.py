"""Standard uncertainty, carried to first order with the correlation of shared readings.

Every result remembers how much each base reading contributes to it, with its sign. Two results
that share a reading are therefore correlated rightly when they meet in a third.
Method: JCGM 100:2008, law of propagation of uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from companion.errors import MeasureError

# A tenth of u keeps the difference local where a formula bends; the second figure keeps the step
# above rounding noise when u is very small beside the value.
_STEP_OF_U = 0.1
_STEP_OF_VALUE = 1e-7

Function = Callable[[dict[str, float]], dict[str, float]]


@dataclass(frozen=True)
class Measured:
    """A value with what each base reading adds to its doubt.

    `contributions`: (base reading's name, sensitivity times that reading's standard uncertainty),
    signed, in the unit of `value`. Names must be unique within one job: the same name means the
    same error.
    """

    value: float
    contributions: tuple[tuple[str, float], ...] = ()

    @cached_property
    def u(self) -> float:
        """Combined standard uncertainty, in the unit of `value`."""
        return math.hypot(*[part for _, part in self.contributions])


@dataclass(frozen=True)
class Share:
    """One line of an uncertainty budget."""

    name: str
    contribution: float
    percent: float


@dataclass(frozen=True)
class Repeats:
    """What repeated readings of one quantity say."""

    mean: float
    deviation: float
    u: float
    degrees_of_freedom: int


def measured(name: str, value: float, u: float) -> Measured:
    """A base reading called `name` with standard uncertainty `u` (not negative)."""
    if not (math.isfinite(value) and math.isfinite(u) and u >= 0.0):
        raise MeasureError(
            f"reading {name}: found value {value} with doubt {u}; wanted is a finite value and "
            "a doubt that is not negative"
        )
    return Measured(value, ((name, u),) if u > 0.0 else ())


def exact(value: float) -> Measured:
    """A value without doubt (a definition, or a choice such as which side)."""
    return measured("an exact value", value, 0.0)


def correlated(
    names: Sequence[str],
    values: Sequence[float],
    covariance_of_values: NDArray[np.float64] | Sequence[Sequence[float]],
) -> tuple[Measured, ...]:
    """Base readings whose errors are known to go together.

    `covariance_of_values`: n x n, positive definite. The readings are built on n common hidden
    errors named `NAME/1` and so on (Cholesky factor), so later results keep the correlation.
    Raises MeasureError if the matrix is not positive definite.
    """
    try:
        factor = np.linalg.cholesky(np.asarray(covariance_of_values, dtype=np.float64))
    except np.linalg.LinAlgError as error:
        raise MeasureError(
            f"readings {', '.join(names)}: the covariance given is not positive definite"
        ) from error
    hidden = [f"{'+'.join(names)}/{index + 1}" for index in range(len(names))]
    return tuple(
        Measured(value, tuple((name, float(part)) for name, part in zip(hidden, row, strict=True)))
        for value, row in zip(values, factor, strict=True)
    )


def _steeper(rise: float, fall: float) -> float:
    """At a fold (|x| at 0) the steeper side counts, for a fold is not certainty."""
    return rise if abs(rise) >= abs(fall) else fall


def propagate(function: Function, inputs: Mapping[str, Measured]) -> dict[str, Measured]:
    """The function's outputs, each with the contributions of every base reading.

    Sensitivities are taken numerically by central differences (JCGM 100:2008, note 2 to 5.1.3),
    with a step of a tenth of the input's u. `function` must not keep the values that it is given.
    Its errors pass through unchanged.
    """
    values = {name: item.value for name, item in inputs.items()}
    centre = function(dict(values))
    parts: dict[str, dict[str, float]] = {output: {} for output in centre}
    for name, item in inputs.items():
        u = item.u
        if u == 0.0:
            continue
        step = max(_STEP_OF_U * u, _STEP_OF_VALUE * abs(item.value))
        values[name] = item.value + step
        above = function(values)
        values[name] = item.value - step
        below = function(values)
        values[name] = item.value
        for output, middle in centre.items():
            rise, fall = above[output] - middle, middle - below[output]
            slope = (rise + fall) / (2.0 * step)
            if rise * fall < 0.0:
                slope = _steeper(rise, fall) / step
            elif slope == 0.0:
                continue
            collected = parts[output]
            for base, part in item.contributions:
                collected[base] = collected.get(base, 0.0) + slope * part
    return {
        output: Measured(value, tuple(parts[output].items())) for output, value in centre.items()
    }


def covariance(a: Measured, b: Measured) -> float:
    """Covariance of two results: the products of what each shared base reading adds to both."""
    of_b = dict(b.contributions)
    return sum(part * of_b.get(name, 0.0) for name, part in a.contributions)


def covariance_matrix(results: Sequence[Measured]) -> NDArray[np.float64]:
    """Covariance of n results, n x n."""
    return np.array([[covariance(a, b) for b in results] for a in results], dtype=np.float64)


def correlation(a: Measured, b: Measured) -> float:
    """Correlation coefficient; 0 if either has no doubt."""
    scale = a.u * b.u
    return covariance(a, b) / scale if scale > 0.0 else 0.0


def budget(result: Measured) -> tuple[Share, ...]:
    """What makes up the doubt, largest first; percent of the variance, together 100."""
    variance = result.u**2
    if variance == 0.0:
        return ()
    shares = (
        Share(name, part, 100.0 * part**2 / variance)
        for name, part in result.contributions
        if part != 0.0
    )
    return tuple(sorted(shares, key=lambda share: (-share.percent, share.name)))


def resolution_u(resolution: float) -> float:
    """Standard uncertainty of a reading taken to the nearest `resolution`: r / sqrt(12)."""
    return resolution / math.sqrt(12.0)


def rectangular_u(half_width: float) -> float:
    """Anywhere within +-a alike: a / sqrt(3)."""
    return half_width / math.sqrt(3.0)


def triangular_u(half_width: float) -> float:
    """Within +-a, likelier in the middle: a / sqrt(6)."""
    return half_width / math.sqrt(6.0)


def u_shaped_u(half_width: float) -> float:
    """Swinging between +-a, mostly near the ends: a / sqrt(2)."""
    return half_width / math.sqrt(2.0)


def expanded(result: Measured, coverage_factor: float = 2.0) -> float:
    """Expanded uncertainty U = k u; k = 2 is about 95 % for a normal distribution."""
    return coverage_factor * result.u


def effective_degrees_of_freedom(
    result: Measured, degrees_of_freedom: Mapping[str, float]
) -> float:
    """Welch-Satterthwaite: u^4 / sum(part^4 / dof).

    `degrees_of_freedom` by base reading; one left out counts as known for certain (infinite).
    Returns math.inf when nothing limits it. Valid for base readings that are independent.
    """
    total = sum(
        part**4 / degrees_of_freedom[name]
        for name, part in result.contributions
        if name in degrees_of_freedom
    )
    return result.u**4 / total if total > 0.0 else math.inf


def mean_of(readings: Sequence[float]) -> Repeats:
    """Mean of repeated readings, their standard deviation s, and s / sqrt(n) for the mean.

    Raises MeasureError for fewer than two readings: one reading shows no scatter.
    """
    count = len(readings)
    if count < 2:
        raise MeasureError(f"found {count} repeated reading(s); wanted are at least two")
    mean = math.fsum(readings) / count
    deviation = math.sqrt(math.fsum((item - mean) ** 2 for item in readings) / (count - 1))
    return Repeats(mean, deviation, deviation / math.sqrt(count), count - 1)

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
# Both sides of an even fold are alike: which one is taken must not hang on the last digit.
_ALIKE = 1.0 + 1e-6

Function = Callable[[dict[str, float]], dict[str, float]]
RowFunction = Callable[[dict[str, float]], Sequence[float]]
"""Values by name; results in an order of their own."""
ManyFunction = Callable[[dict[str, NDArray[np.float64]]], dict[str, NDArray[np.float64]]]


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


def measured(name: str, value: float, u: float) -> Measured:
    """A base reading called `name` with standard uncertainty `u` (not negative)."""
    if not (math.isfinite(value) and math.isfinite(u) and u >= 0.0):
        raise MeasureError(
            f"reading {name}: found value {value} with doubt {u}; wanted: a finite value and "
            "a doubt that is not negative"
        )
    return Measured(value, ((name, u),) if u > 0.0 else ())


def exact(value: float) -> Measured:
    """A value without doubt (a definition, or a choice such as which side)."""
    return measured("an exact value", value, 0.0)


def _steeper(rise: float, fall: float) -> float:
    """At a fold (|x| at 0) the steeper side counts, for a fold is not certainty."""
    return rise if _ALIKE * abs(rise) >= abs(fall) else fall


def propagate(function: Function, inputs: Mapping[str, Measured]) -> dict[str, Measured]:
    """The function's outputs, each with the contributions of every base reading.

    Sensitivities are taken numerically by central differences (JCGM 100:2008, note 2 to 5.1.3),
    with a step of a tenth of the input's u. `function` must not keep the values that it is given.
    Its errors pass through unchanged.
    """
    outputs = tuple(function({name: item.value for name, item in inputs.items()}))
    return propagate_row(outputs, lambda values: tuple(function(values).values()), inputs)


def propagate_row(
    outputs: Sequence[str], function: RowFunction, inputs: Mapping[str, Measured]
) -> dict[str, Measured]:
    """As `propagate`, of a function that gives its results in the order of `outputs`."""
    values = {name: item.value for name, item in inputs.items()}
    centre = function(values)
    parts: list[dict[str, float]] = [{} for _ in outputs]
    for name, item in inputs.items():
        u = item.u
        if u == 0.0:
            continue
        value = item.value
        step = max(_STEP_OF_U * u, _STEP_OF_VALUE * abs(value))
        values[name] = value + step
        above = function(values)
        values[name] = value - step
        below = function(values)
        values[name] = value
        contributions = item.contributions
        for high, middle, low, collected in zip(above, centre, below, parts, strict=True):
            rise, fall = high - middle, middle - low
            if rise * fall < 0.0:
                slope = _steeper(rise, fall) / step
            elif rise == -fall:
                # Nothing of this input is in this output.
                continue
            else:
                slope = (rise + fall) / (2.0 * step)
            for base, part in contributions:
                collected[base] = collected.get(base, 0.0) + slope * part
    return {
        output: Measured(value, tuple(collected.items()))
        for output, value, collected in zip(outputs, centre, parts, strict=True)
    }


def propagate_at_once(
    function: ManyFunction, inputs: Mapping[str, Measured]
) -> dict[str, Measured]:
    """As `propagate`, of a function that takes and gives arrays, one place an evaluation.

    All evaluations are made in one call: a formula of many inputs is that much faster.
    """
    doubtful = [(index, item) for index, item in enumerate(inputs.values()) if item.u > 0.0]
    steps = [max(_STEP_OF_U * item.u, _STEP_OF_VALUE * abs(item.value)) for _, item in doubtful]
    # The middle first, then each input in turn above, then each below.
    count = len(doubtful)
    places = np.empty((len(inputs), 1 + 2 * count))
    places[:] = [[item.value] for item in inputs.values()]
    for number, ((index, item), step) in enumerate(zip(doubtful, steps, strict=True), 1):
        places[index, number] = item.value + step
        places[index, number + count] = item.value - step
    found = function(dict(zip(inputs, places, strict=True)))
    table = np.array(list(found.values()))
    rises = table[:, 1 : 1 + count] - table[:, :1]
    falls = table[:, :1] - table[:, 1 + count :]
    slopes = rises + falls
    folds = rises * falls < 0.0
    if folds.any():
        steeper = np.where(_ALIKE * np.abs(rises) >= np.abs(falls), rises, falls)
        slopes = np.where(folds, 2.0 * steeper, slopes)
    slopes /= 2.0 * np.array(steps)
    lines = [item.contributions for _, item in doubtful]
    results = {}
    for output, value, row in zip(found, table[:, 0].tolist(), slopes.tolist(), strict=True):
        collected: dict[str, float] = {}
        for slope, contributions in zip(row, lines, strict=True):
            if slope != 0.0:
                for base, part in contributions:
                    collected[base] = collected.get(base, 0.0) + slope * part
        results[output] = Measured(value, tuple(collected.items()))
    return results


def covariance(a: Measured, b: Measured) -> float:
    """Covariance of two results: the products of what each shared base reading adds to both."""
    of_b = dict(b.contributions)
    return sum(part * of_b.get(name, 0.0) for name, part in a.contributions)


def covariance_matrix(results: Sequence[Measured]) -> NDArray[np.float64]:
    """Covariance of n results, n x n."""
    return np.array([[covariance(a, b) for b in results] for a in results], dtype=np.float64)


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


def u_shaped_u(half_width: float) -> float:
    """Swinging between +-a, mostly near the ends: a / sqrt(2)."""
    return half_width / math.sqrt(2.0)


def effective_degrees_of_freedom(
    result: Measured, degrees_of_freedom: Mapping[str, float]
) -> float:
    """Welch-Satterthwaite: u^4 / sum(part^4 / dof).

    `degrees_of_freedom` by base reading; one left out counts as known for certain (infinite).
    Returns math.inf when nothing limits it. Valid for base readings that are independent.
    """
    if not degrees_of_freedom:
        return math.inf
    total = sum(
        part**4 / degrees_of_freedom[name]
        for name, part in result.contributions
        if name in degrees_of_freedom
    )
    return result.u**4 / total if total > 0.0 else math.inf

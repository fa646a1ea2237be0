"""Where the first order is not enough: what a formula's bend adds to the value and its doubt."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from companion.uncertainty.measured import Function, Measured, propagate

# A fifth of u: large enough for second differences to stand above rounding noise.
_STEP_OF_U = 0.2


@dataclass(frozen=True)
class Bend:
    """First-order u, u with the second-order terms, and by how much the mean lies off the value."""

    u_first: float
    u_second: float
    shift: float


def bend(function: Function, inputs: Mapping[str, Measured]) -> dict[str, Bend]:
    """Second-order terms of each output for independent, normal inputs.

    Variance gains the sum over i, j of (f_ij^2 / 2) u_i^2 u_j^2 (JCGM 100:2008, note to 5.1.2,
    for normal inputs, where the third derivatives are left out); the mean is off by the sum of
    f_ii u_i^2 / 2. Derivatives are numeric.
    """
    values = {name: item.value for name, item in inputs.items()}
    names = [name for name, item in inputs.items() if item.u > 0.0]
    step = {name: _STEP_OF_U * inputs[name].u for name in names}

    def at(**moved: float) -> dict[str, float]:
        return function(values | {name: values[name] + by for name, by in moved.items()})

    centre = function(dict(values))
    above = {name: at(**{name: step[name]}) for name in names}
    below = {name: at(**{name: -step[name]}) for name in names}
    first = propagate(function, inputs)
    variance = dict.fromkeys(centre, 0.0)
    shift = dict(variance)
    for i, one in enumerate(names):
        for output, middle in centre.items():
            curved = (above[one][output] - 2.0 * middle + below[one][output]) / _STEP_OF_U**2
            variance[output] += curved**2 / 2.0
            shift[output] += curved / 2.0
        for other in names[i + 1 :]:
            corners = [
                (
                    sign_one * sign_other,
                    at(**{one: sign_one * step[one]}, **{other: sign_other * step[other]}),
                )
                for sign_one in (1, -1)
                for sign_other in (1, -1)
            ]
            for output in centre:
                mixed = sum(sign * corner[output] for sign, corner in corners)
                variance[output] += (mixed / (4.0 * _STEP_OF_U**2)) ** 2
    return {
        output: Bend(
            first[output].u, math.hypot(first[output].u, math.sqrt(variance[output])), shift[output]
        )
        for output in centre
    }

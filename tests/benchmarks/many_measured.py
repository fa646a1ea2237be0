"""Quantities with their doubt for many draws at once, as `uncertainty.measured` has one.

A numpy copy for benchmarks that decide tens of thousands of times. `test_hostile.py` holds it to
the package's own arithmetic, draw by draw.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from companion.uncertainty.measured import resolution_u
from companion.uncertainty.taking import DIGITS, SCALE, UNSAID, averages_away, line_of

Array = NDArray[np.float64]
Function = Callable[[dict[str, Array]], dict[str, Array]]

# As in `companion.uncertainty.measured`.
STEP_OF_U = 0.1
STEP_OF_VALUE = 1e-7
EVEN_FOLD = 1.0 + 1e-6


@dataclass(frozen=True)
class Many:
    """n values, each with what every base reading adds to its doubt (n each, 0 where nothing)."""

    values: Array
    parts: Mapping[str, Array]

    @cached_property
    def u(self) -> Array:
        """Combined standard uncertainty, n."""
        total = np.zeros_like(self.values)
        for part in self.parts.values():
            total = total + part * part
        root: Array = np.sqrt(total)
        return root

    def of(self, rows: NDArray[np.intp]) -> Many:
        """Some of the draws."""
        return Many(self.values[rows], {name: part[rows] for name, part in self.parts.items()})

    def plus(self, name: str, u: float | Array) -> Many:
        """With one more line of doubt."""
        return Many(self.values, {**self.parts, name: np.broadcast_to(u, self.values.shape)})


def many(name: str, values: Array, u: float | Array) -> Many:
    """Base readings called `name`, all of one doubt or each of its own."""
    return Many(values, {}).plus(name, u) if np.any(np.asarray(u) > 0.0) else Many(values, {})


def takes(
    name: str,
    values: Array,
    *,
    resolution: float = 0.0,
    scatters: float = 0.0,
    stays: float = 0.0,
    unsaid: float = 0.0,
) -> list[Many]:
    """All takes of one reading, n x takes, as `uncertainty.taking.taken` has each of them.

    Where the same digits come back the rounding is the same error: it is named by the first take
    that had them.
    """
    rounding = resolution_u(resolution)
    found = []
    for take in range(values.shape[1]):
        parts: dict[str, Array] = {}
        shape = values[:, take].shape
        if scatters > 0.0:
            parts[line_of(name, take + 1)] = np.full(shape, scatters)
        if rounding > 0.0:
            same = values[:, : take + 1] == values[:, take : take + 1]
            first = np.argmax(same, axis=1)
            for earlier in range(take + 1):
                parts[f"{name} {DIGITS} {earlier}"] = np.where(first == earlier, rounding, 0.0)
        if stays > 0.0:
            parts[f"{name} {SCALE}"] = np.full(shape, stays)
        if unsaid > 0.0:
            parts[f"{name} {UNSAID}"] = np.full(shape, unsaid)
        found.append(Many(values[:, take], parts))
    return found


def propagate_many(function: Function, inputs: Mapping[str, Many]) -> dict[str, Many]:
    """As `uncertainty.measured.propagate`: central differences by a tenth of u."""
    values = {name: item.values for name, item in inputs.items()}
    centre = function(dict(values))
    parts: dict[str, dict[str, Array]] = {output: {} for output in centre}
    for name, item in inputs.items():
        if not item.parts:
            continue
        step = np.maximum(STEP_OF_U * item.u, STEP_OF_VALUE * np.abs(item.values))
        above = function(values | {name: item.values + step})
        below = function(values | {name: item.values - step})
        for output, middle in centre.items():
            rise, fall = above[output] - middle, middle - below[output]
            steeper = np.where(EVEN_FOLD * np.abs(rise) >= np.abs(fall), rise, fall) / step
            slope = np.where(rise * fall < 0.0, steeper, (rise + fall) / (2.0 * step))
            if np.any(slope):
                _add(parts[output], item.parts, slope)
    return {output: Many(value, parts[output]) for output, value in centre.items()}


def _add(collected: dict[str, Array], parts: Mapping[str, Array], weight: Array | float) -> None:
    for name, part in parts.items():
        more = weight * part
        collected[name] = collected[name] + more if name in collected else more


def mean_of_many(terms: Sequence[Many]) -> Many:
    """The mean; what the terms share stays correlated."""
    parts: dict[str, Array] = {}
    for term in terms:
        _add(parts, term.parts, 1.0 / len(terms))
    values: Array = np.sum([term.values for term in terms], axis=0) / len(terms)
    return Many(values, parts)


def scaled(item: Many, noise: Array, ripple: Array, seen: frozenset[str]) -> Many:
    """What scatters wider by the larger of the two, what the misfits would show by `ripple`."""
    both = np.maximum(noise, ripple)
    return Many(
        item.values,
        {
            name: part * both if averages_away(name) else (part * ripple if name in seen else part)
            for name, part in item.parts.items()
        },
    )


def lines_together(pair: Sequence[Many]) -> dict[str, Array]:
    """What each line adds to both axes, n x 2."""
    names = dict.fromkeys(name for axis in pair for name in axis.parts)
    zero = np.zeros_like(pair[0].values)
    return {
        name: np.stack([axis.parts.get(name, zero) for axis in pair], axis=-1) for name in names
    }


def outer(parts: Array) -> Array:
    """n x 2 to n x 2 x 2."""
    product: Array = parts[:, :, None] * parts[:, None, :]
    return product


def covariance_of(lines: Iterable[Array], count: int) -> Array:
    """The sum of the lines' products, n x 2 x 2."""
    total = np.zeros((count, 2, 2))
    for parts in lines:
        total = total + outer(parts)
    return total

"""How far echo levels scatter that should be alike: what sets of readings tell of their own noise.

A set is one row of levels, always at the same places of the plate. Three things show noise alone:
sets at one position of the screws differ by nothing but a common shift of the radar's display;
some sums of a row's levels are zero whatever the aim (the same place read twice, what no parabola
explains); others are the same at every aim (how much the beam bends). Sums are weights of a row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from companion.errors import MeasureError
from companion.uncertainty.agreement import NO_SCATTER, Scatter, scatter_of

Weights = Sequence[float]
Rows = Sequence[Sequence[float]]


@dataclass(frozen=True)
class AlwaysZero:
    """A sum that no aim changes from zero. `u_fixed`: what else may stand in it, noise apart,
    for weights of length one."""

    weights: Weights
    u_fixed: float = 0.0


def scatter_of_levels(
    rounds: Sequence[Rows], u_level: float, zero: Sequence[AlwaysZero], same: Sequence[Weights] = ()
) -> Scatter:
    """Chi-square of the levels' noise over all rounds, in units of one level's `u_level`.

    `rounds`: for each position of the screws its sets, for each set its levels, all in one order.
    Raises MeasureError for rows of unequal length or a doubt that is not above zero.
    """
    if not u_level > 0.0:
        raise MeasureError(f"levels: found a doubt of {u_level}; wanted: more than 0")
    lengths = {len(row) for rows in rounds for row in rows}
    if len(lengths) > 1:
        raise MeasureError(f"levels: found rows of {sorted(lengths)} levels; wanted: one length")
    tables = [np.asarray(rows, dtype=np.float64) for rows in rounds if len(rows)]
    found = NO_SCATTER
    for table in tables:
        found = found + _within(table, u_level)
    bases = _side_by_side([item.weights for item in zero], same)
    for index, item in enumerate(zero):
        for table in tables:
            sums = float(table.mean(axis=0) @ bases[index])
            variance = u_level**2 / len(table) + item.u_fixed**2
            found = found + Scatter(sums**2 / variance, 1)
    for base in bases[len(zero) :]:
        sums_of = [float(table.mean(axis=0) @ base) for table in tables]
        found = found + scatter_of(sums_of, [u_level / len(table) ** 0.5 for table in tables])
    return found


def _within(table: NDArray[np.float64], u_level: float) -> Scatter:
    """Sets of one round: what is left when each place's and each set's own mean is taken away."""
    sets, places = table.shape
    left = table - table.mean(axis=0) - table.mean(axis=1, keepdims=True) + table.mean()
    return Scatter(float((left**2).sum()) / u_level**2, (sets - 1) * (places - 1))


def _side_by_side(zero: Sequence[Weights], same: Sequence[Weights]) -> list[NDArray[np.float64]]:
    """The sums made independent of one another, length one each; the zeros first, among themselves.

    A sum that is the same at every aim stays so when multiples of zeros are taken off it.
    """
    kept: list[NDArray[np.float64]] = []
    for weights in (*zero, *same):
        rest = np.asarray(weights, dtype=np.float64)
        for other in kept:
            rest = rest - float(rest @ other) * other
        length = float(np.linalg.norm(rest))
        if length < 1e-9:
            raise MeasureError("levels: one of the sums follows from the others; wanted: others")
        kept.append(rest / length)
    return kept

"""What a result's own left-over sums allow: one misread level, and doubts that nothing checks.

A set with more levels than unknowns leaves sums that no aim changes from zero. A level that was
misread stands in them, so they tell how far it can have been off, and what the aim is without it.
What stands in none of them nobody has checked: its entered doubt has to bear being wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from companion.uncertainty.agreement import NO_SCATTER, Scatter
from companion.uncertainty.measured import Measured

Array = NDArray[np.float64]
GroupOf = Callable[[str], str | None]
"""Which figure of the files, or which instrument, a budget line rests on; None: it is exact."""

# An entered doubt that nothing in the job checks may be wrong by so many times.
WRONG_BY = 3.0


def scatter_of_misfits(misfits: Sequence[Measured]) -> Scatter:
    """Chi-square of sums that are zero for every aim, each in units of its own doubt."""
    found = NO_SCATTER
    for misfit in misfits:
        if misfit.u > 0.0:
            found = found + Scatter((misfit.value / misfit.u) ** 2, 1)
    return found


def lines_in(misfits: Sequence[Measured]) -> frozenset[str]:
    """The budget lines that the misfits would show."""
    return frozenset(name for misfit in misfits for name, part in misfit.contributions if part)


def without_each_line(
    aim: tuple[Measured, Measured], misfits: Sequence[Measured], lines: Sequence[Iterable[str]]
) -> tuple[Array, Array] | None:
    """The aim (n x 2) and its covariance (n x 2 x 2) with each level in turn left out.

    `lines`: for each level its budget lines, of all sets. To leave a level out of a least-squares
    fit is to give it an error of its own and fit that as well (R. D. Cook, Technometrics 19 (1977)
    15-18, case deletion): the misfits tell that error. None where they do not see every level.
    """
    base = _covariance(aim)
    means, spreads = [], []
    for level in lines:
        names = frozenset(level)
        slopes = [_part(misfit, names) for misfit in misfits]
        doubts = [misfit.u**2 for misfit in misfits]
        seen = sum(s * s / u for s, u in zip(slopes, doubts, strict=True) if u > 0.0)
        moves = np.array([_part(axis, names) for axis in aim])
        if not np.any(moves):
            continue
        if seen < 1e-12:
            return None
        error = (
            sum(
                s * misfit.value / u
                for s, misfit, u in zip(slopes, misfits, doubts, strict=True)
                if u > 0.0
            )
            / seen
        )
        means.append([axis.value - move * error for axis, move in zip(aim, moves, strict=True)])
        spreads.append(base + np.outer(moves, moves) / seen)
    if not means:
        return None
    return np.array(means), np.array(spreads)


def with_each_doubt_wrong(
    aim: tuple[Measured, Measured], checked: frozenset[str], group_of: GroupOf
) -> tuple[tuple[str, ...], Array]:
    """The aim's covariance (n x 2 x 2) were the doubt of one figure after another `WRONG_BY` times.

    Lines in `checked` are left out: the job's own readings hold them against what is seen.
    """
    groups: dict[str, Array] = {}
    by_line: dict[str, Array] = {}
    for axis, result in enumerate(aim):
        for name, part in result.contributions:
            by_line.setdefault(name, np.zeros(2))[axis] += part
    for name, parts in by_line.items():
        group = None if name in checked else group_of(name)
        if group is not None:
            groups[group] = groups.get(group, np.zeros((2, 2))) + np.outer(parts, parts)
    base = _covariance(aim)
    return tuple(groups), np.array([base + (WRONG_BY**2 - 1.0) * item for item in groups.values()])


def _part(result: Measured, names: frozenset[str]) -> float:
    return sum(part for name, part in result.contributions if name in names)


def _covariance(aim: tuple[Measured, Measured]) -> Array:
    rows: dict[str, Array] = {}
    for axis, result in enumerate(aim):
        for name, part in result.contributions:
            rows.setdefault(name, np.zeros(2))[axis] += part
    table = np.array(list(rows.values())).reshape(-1, 2)
    product: Array = table.T @ table
    return product

"""What a result's own left-over sums allow: one misread level, and doubts that nothing checks.

A set with more levels than unknowns leaves sums that no aim changes from zero. A level that was
misread stands in them, so they tell how far it can have been off, and what the aim is without it.
What stands in none of them nobody has checked: its entered doubt has to bear being wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from companion.uncertainty.agreement import NO_SCATTER, Scatter
from companion.uncertainty.measured import Measured

Array = NDArray[np.float64]
GroupOf = Callable[[str], str | None]
"""Which figure of the files, or which instrument, a budget line rests on; None: it is exact."""

# An entered doubt that nothing in the job checks may be wrong by so many times.
WRONG_BY = 3.0
# A level of whose error the misfits show no more than this nobody has checked.
_UNSEEN = 1e-12


def scatter_of_misfits(misfits: Sequence[Measured]) -> Scatter:
    """Chi-square of sums that are zero for every aim, each in units of its own doubt."""
    found = NO_SCATTER
    for misfit in misfits:
        if misfit.u > 0.0:
            found = found + Scatter((misfit.value / misfit.u) ** 2, 1)
    return found


@dataclass(frozen=True)
class Lines:
    """The budget lines of an aim and of the misfits beside it, side by side in one table.

    `names` of the lines; `aim` lines x 2 and `misfits` lines x m, what each adds, with its sign;
    `values` of the aim and of the misfits.
    """

    names: tuple[str, ...]
    aim: Array
    misfits: Array
    aim_values: Array
    misfit_values: Array

    @staticmethod
    def of(aim: tuple[Measured, Measured], misfits: Sequence[Measured] = ()) -> Lines:
        """The table of these results; lines that are in none of them are not there."""
        results = (*aim, *misfits)
        place: dict[str, int] = {}
        for result in results:
            for name, _ in result.contributions:
                place.setdefault(name, len(place))
        rows = [[0.0] * len(place) for _ in results]
        for row, result in zip(rows, results, strict=True):
            for name, part in result.contributions:
                row[place[name]] += part
        table = np.array(rows).T
        values = np.array([result.value for result in results])
        return Lines(tuple(place), table[:, :2], table[:, 2:], values[:2], values[2:])

    @cached_property
    def covariance(self) -> Array:
        """Of the aim, 2 x 2."""
        product: Array = self.aim.T @ self.aim
        return product

    def without_each(self, levels: Sequence[Iterable[str]]) -> tuple[Array, Array] | None:
        """The aim (n x 2) and its covariance (n x 2 x 2) with each level in turn left out.

        `levels`: for each level its budget lines, of all sets. To leave a level out of a
        least-squares fit is to give it an error of its own and fit that as well (R. D. Cook,
        Technometrics 19 (1977) 15-18, case deletion): the misfits tell that error. None where they
        do not see every level.
        """
        place = {name: index for index, name in enumerate(self.names)}
        of_level = np.zeros((len(levels), len(self.names)))
        for row, level in enumerate(levels):
            of_level[row, [place[name] for name in frozenset(level) if name in place]] = 1.0
        moves, slopes = of_level @ self.aim, of_level @ self.misfits
        in_aim = moves.any(axis=1)
        moves, slopes = moves[in_aim], slopes[in_aim]
        variances = (self.misfits**2).sum(axis=0)
        doubtful = variances > 0.0
        weighed = slopes[:, doubtful] / variances[doubtful]
        seen = (weighed * slopes[:, doubtful]).sum(axis=1)
        if not len(moves) or bool(np.any(seen < _UNSEEN)):
            return None
        errors = weighed @ self.misfit_values[doubtful] / seen
        spreads = moves[:, :, None] * moves[:, None, :] / seen[:, None, None]
        return self.aim_values - moves * errors[:, None], self.covariance + spreads

    def with_each_doubt_wrong(
        self, checked: frozenset[str], group_of: GroupOf | None
    ) -> tuple[tuple[str, ...], Array]:
        """The aim's covariance (n x 2 x 2) were one figure's doubt after another `WRONG_BY` times.

        Lines in `checked` are left out: the job's own readings hold them against what is seen.
        """
        groups: dict[str, int] = {}
        rows, places = [], []
        if group_of is not None:
            for index in np.flatnonzero(self.aim.any(axis=1)).tolist():
                name = self.names[index]
                group = None if name in checked else group_of(name)
                if group is not None:
                    rows.append(index)
                    places.append(groups.setdefault(group, len(groups)))
        of_group = np.zeros((len(groups), len(rows)))
        of_group[places, range(len(rows))] = 1.0
        parts = self.aim[rows]
        squares = (parts[:, :, None] * parts[:, None, :]).reshape(-1, 4)
        spreads = self.covariance + (WRONG_BY**2 - 1.0) * (of_group @ squares).reshape(-1, 2, 2)
        return tuple(groups), spreads

"""What a result's own left-over sums allow: one misread level, and doubts that nothing checks.

A set with more levels than unknowns leaves sums that no aim changes from zero. A level that was
misread stands in them, so they tell how far it can have been off, and what the aim is without it.
What stands in none of them nobody has checked: its entered doubt has to bear being wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from companion.uncertainty.agreement import NO_SCATTER, Scatter
from companion.uncertainty.measured import Measured
from companion.uncertainty.taking import reading_of

Array = NDArray[np.float64]
GroupOf = Callable[[str], str | None]
"""Which figure of the files, or which instrument, a budget line rests on; None: it is exact."""

# An entered doubt that nothing in the job checks may be wrong by so many times.
WRONG_BY = 3.0
# A figure counts as checked by the misfits where, were it so wrong, they would scatter so many
# times as much in the mean square: less would be taken for chance.
NOTICED = 2.0
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
    """The budget lines of sets of an aim and of the misfits beside them, side by side in one table.

    `names` of the lines; `readings`: of one that scatters from take to take the reading's name,
    else nothing. `sets`: what each line adds to yaw and elevation of one set after another, with
    its sign, lines x 2 n; `misfits` lines x m. `set_values` and `misfit_values`: the results.
    """

    names: tuple[str, ...]
    readings: tuple[str, ...]
    sets: Array
    set_values: Array
    misfits: Array
    misfit_values: Array

    @staticmethod
    def of(aim: tuple[Measured, Measured], misfits: Sequence[Measured] = ()) -> Lines:
        """The table of one set."""
        return Lines.of_sets([aim], [[misfit] for misfit in misfits])

    @staticmethod
    def of_sets(
        sets: Sequence[tuple[Measured, Measured]], misfits: Sequence[Sequence[Measured]]
    ) -> Lines:
        """The table of these sets; of each misfit the mean of its takes."""
        results = [axis for pair in sets for axis in pair]
        results += [take for takes in misfits for take in takes]
        lines = [line for result in results for line in result.contributions]
        names = {name: index for index, name in enumerate(dict.fromkeys([n for n, _ in lines]))}
        rows = np.repeat(np.arange(len(results)), [len(result.contributions) for result in results])
        # A name may stand in a result twice: one error by two ways.
        flat = np.bincount(
            rows * len(names) + np.array([names[n] for n, _ in lines], dtype=np.intp),
            np.array([part for _, part in lines], dtype=np.float64),
            len(results) * len(names),
        )
        table = flat.astype(np.float64).reshape(len(results), len(names)).T
        values = np.array([result.value for result in results], dtype=np.float64)
        counts = np.array([len(takes) for takes in misfits], dtype=np.intp)
        weights = np.zeros((int(counts.sum()), len(misfits)))
        weights[np.arange(len(weights)), np.repeat(np.arange(len(misfits)), counts)] = 1.0
        weights /= np.maximum(counts, 1)
        of_sets = 2 * len(sets)
        return Lines(
            tuple(names),
            tuple([reading_of(name) for name in names]),
            table[:, :of_sets],
            values[:of_sets],
            table[:, of_sets:] @ weights,
            values[of_sets:] @ weights,
        )

    @property
    def _of_each_set(self) -> Array:
        """Lines x sets x 2."""
        return self.sets.reshape(len(self.names), len(self.set_values) // 2, 2)

    @cached_property
    def aim(self) -> Array:
        """What each line adds to the mean of the sets, lines x 2."""
        mean: Array = self._of_each_set.mean(axis=1)
        return mean

    @cached_property
    def aim_values(self) -> Array:
        """The mean of the sets."""
        mean: Array = self.set_values.reshape(-1, 2).mean(axis=0)
        return mean

    @property
    def mean(self) -> tuple[Measured, Measured]:
        """The mean of the sets, yaw and elevation."""
        yaw, elevation = (
            Measured(
                value,
                tuple([(n, part) for n, part in zip(self.names, parts, strict=True) if part]),
            )
            for value, parts in zip(self.aim_values.tolist(), self.aim.T.tolist(), strict=True)
        )
        return yaw, elevation

    @cached_property
    def covariance(self) -> Array:
        """Of the aim, 2 x 2."""
        product: Array = self.aim.T @ self.aim
        return product

    @cached_property
    def _seen(self) -> NDArray[np.bool_]:
        """The lines that are in some misfit."""
        return np.asarray(self.misfits.any(axis=1))

    def scatter_of_misfits(self) -> Scatter:
        """As the function of this name, of the mean misfits."""
        variances = (self.misfits**2).sum(axis=0)
        some = variances > 0.0
        return Scatter(
            float((self.misfit_values[some] ** 2 / variances[some]).sum()), int(some.sum())
        )

    def widened(self, noise: float, ripple: float) -> Lines:
        """What scatters wider by `noise`, and what the misfits would have shown by `ripple`."""
        scatters = max(noise, ripple)
        if scatters == 1.0:
            return self
        by = np.where(self._seen, ripple, 1.0)
        by[np.array(list(map(bool, self.readings)))] = scatters
        return replace(self, sets=self.sets * by[:, None])

    def doubts_so_far(self) -> list[list[float]]:
        """Standard uncertainty of the mean of the first set, of the first two, ...: both axes."""
        sets = self._of_each_set.cumsum(axis=1)
        u = np.sqrt((sets * sets).sum(axis=0)) / np.arange(1, sets.shape[1] + 1)[:, None]
        doubts: list[list[float]] = u.T.tolist()
        return doubts

    def without_each(self, levels: Sequence[str]) -> tuple[Array, Array] | None:
        """The aim (n x 2) and its covariance (n x 2 x 2) with each level in turn left out.

        `levels`: the readings' names. To leave a level out of a least-squares fit is to give it an
        error of its own and fit that as well (R. D. Cook, Technometrics 19 (1977) 15-18, case
        deletion): the misfits tell that error. None where they do not see every level.
        """
        row = {name: index for index, name in enumerate(levels)}
        # Of earlier positions of the screws there are takes in the misfits alone.
        in_aim: list[bool] = np.asarray(self.aim.any(axis=1)).tolist()
        at = [(row[r], i) for i, r in enumerate(self.readings) if r in row and in_aim[i]]
        of_level = np.zeros((len(levels), len(self.names)))
        of_level[[item for item, _ in at], [index for _, index in at]] = 1.0
        moves, slopes = of_level @ self.aim, of_level @ self.misfits
        counts = moves.any(axis=1)
        moves, slopes = moves[counts], slopes[counts]
        variances = (self.misfits**2).sum(axis=0)
        doubtful = variances > 0.0
        weighed = slopes[:, doubtful] / variances[doubtful]
        seen = (weighed * slopes[:, doubtful]).sum(axis=1)
        if not len(moves) or bool(np.any(seen < _UNSEEN)):
            return None
        errors = weighed @ self.misfit_values[doubtful] / seen
        spreads = moves[:, :, None] * moves[:, None, :] / seen[:, None, None]
        return self.aim_values - moves * errors[:, None], self.covariance + spreads

    def with_each_doubt_wrong(self, group_of: GroupOf | None) -> tuple[tuple[str, ...], Array]:
        """The aim's covariance (n x 2 x 2) were one figure's doubt after another `WRONG_BY` times.

        Figures that the misfits would show to be so wrong are left out, and so is what scatters
        in them from take to take: the job's own readings hold them against what is seen.
        """
        groups: dict[str, int] = {}
        rows, places = [], []
        if group_of is not None:
            scatters = np.array(list(map(bool, self.readings)))
            in_question = self.aim.any(axis=1) & ~(self._seen & scatters)
            for index in np.flatnonzero(in_question).tolist():
                group = group_of(self.names[index])
                if group is not None:
                    rows.append(index)
                    places.append(groups.setdefault(group, len(groups)))
        of_group = np.zeros((len(groups), len(rows)))
        of_group[places, range(len(rows))] = 1.0
        parts = self.aim[rows]
        squares = (parts[:, :, None] * parts[:, None, :]).reshape(-1, 4)
        kept = ~self._noticed(of_group @ self.misfits[rows] ** 2)
        spreads = self.covariance + (WRONG_BY**2 - 1.0) * (of_group @ squares).reshape(-1, 2, 2)
        return tuple(g for g, keep in zip(groups, kept, strict=True) if keep), spreads[kept]

    def _noticed(self, squares: Array) -> NDArray[np.bool_]:
        """Whether the misfits would show each figure to be wrong; its variance in them, n x m."""
        variances = (self.misfits**2).sum(axis=0)
        doubtful = variances > 0.0
        if not doubtful.any():
            return np.zeros(len(squares), dtype=np.bool_)
        more = (WRONG_BY**2 - 1.0) * squares[:, doubtful] / variances[doubtful]
        return np.asarray(1.0 + more.mean(axis=1) >= NOTICED)

"""What a result's own left-over sums allow: one misread level, and doubts that nothing checks.

A set with more levels than unknowns leaves sums that no aim changes from zero. A level that was
misread stands in them, so they tell how far it can have been off, and what the aim is without it.
What stands in none of them nobody has checked: its entered doubt has to bear being wrong.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from companion.uncertainty.agreement import NO_SCATTER, Scatter
from companion.uncertainty.measured import Measured
from companion.uncertainty.taking import averages_away, reading_of

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

    `names` of the lines. `sets`: what each line adds to yaw and elevation of one set after
    another, with its sign, lines x 2 n; `misfits` lines x m. `set_values` and `misfit_values`:
    the results.
    """

    names: tuple[str, ...]
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
        rows: dict[str, list[float]] = {}
        nothing = [0.0] * len(results)
        for column, result in enumerate(results):
            for name, part in result.contributions:
                row = rows.get(name)
                if row is None:
                    row = rows[name] = nothing.copy()
                # A name may stand in a result twice: one error by two ways.
                row[column] += part
        names = tuple(rows)
        table = np.array(list(rows.values()), dtype=np.float64).reshape(-1, len(results))
        values = np.array([result.value for result in results], dtype=np.float64)
        counts = np.array([len(takes) for takes in misfits], dtype=np.intp)
        weights = np.zeros((int(counts.sum()), len(misfits)))
        weights[np.arange(len(weights)), np.repeat(np.arange(len(misfits)), counts)] = 1.0
        weights /= np.maximum(counts, 1)
        of_sets = 2 * len(sets)
        return Lines(
            names,
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
        sets = self._of_each_set
        mean: Array = np.add.reduce(sets, axis=1) / sets.shape[1]
        return mean

    @cached_property
    def aim_values(self) -> Array:
        """The mean of the sets."""
        values = self.set_values.reshape(-1, 2)
        mean: Array = np.add.reduce(values) / len(values)
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
    def _misfit_variances(self) -> Array:
        variances: Array = np.add.reduce(self.misfits * self.misfits)
        return variances

    @cached_property
    def _scatters(self) -> NDArray[np.bool_]:
        """The lines that scatter from take to take."""
        return np.array(list(map(averages_away, self.names)), dtype=np.bool_)

    @cached_property
    def _seen(self) -> NDArray[np.bool_]:
        """The lines that are in some misfit."""
        return np.asarray(self.misfits.any(axis=1))

    def scatter_of_misfits(self) -> Scatter:
        """As the function of this name, of the mean misfits."""
        squares = [
            value**2 / variance
            for value, variance in zip(
                self.misfit_values.tolist(), self._misfit_variances.tolist(), strict=True
            )
            if variance > 0.0
        ]
        return Scatter(math.fsum(squares), len(squares))

    def widened(self, noise: float, ripple: float) -> Lines:
        """What scatters wider by `noise`, and what the misfits would have shown by `ripple`."""
        scatters = max(noise, ripple)
        if scatters == 1.0:
            return self
        by = np.where(self._seen, ripple, 1.0)
        by[self._scatters] = scatters
        wider = self.sets * by[:, None]
        return Lines(self.names, wider, self.set_values, self.misfits, self.misfit_values)

    def doubts_so_far(self) -> list[list[float]]:
        """Standard uncertainty of the mean of the first set, of the first two, ...: both axes."""
        sets = np.add.accumulate(self._of_each_set, axis=1)
        u = np.sqrt(np.add.reduce(sets * sets)) / np.arange(1, sets.shape[1] + 1)[:, None]
        doubts: list[list[float]] = u.T.tolist()
        return doubts

    def without_each(self, levels: Sequence[str]) -> tuple[Array, Array] | None:
        """The aim (n x 2) and its covariance (n x 2 x 2) with each level in turn left out.

        `levels`: the readings' names, or those of single takes. To leave a level out of a
        least-squares fit is to give it an error of its own and fit that as well (R. D. Cook,
        Technometrics 19 (1977) 15-18, case deletion): the misfits tell that error. None where they
        do not see every level.
        """
        # Of earlier positions of the screws there are takes in the misfits alone.
        in_aim = np.flatnonzero(self.aim.any(axis=1) & self._scatters).tolist()
        lines_of: dict[str, list[int]] = {level: [] for level in levels}
        for index in in_aim:
            name = self.names[index]
            found = lines_of.get(name, lines_of.get(reading_of(name)))
            if found is not None:
                found.append(index)
        of_level = np.zeros((len(levels), len(self.names)))
        for level, lines in enumerate(lines_of.values()):
            of_level[level, lines] = 1.0
        moves, slopes = of_level @ self.aim, of_level @ self.misfits
        counts = moves.any(axis=1)
        moves, slopes = moves[counts], slopes[counts]
        # A misfit without doubt stands in no line, so its slopes are nothing as well.
        weighed = slopes / np.where(self._misfit_variances > 0.0, self._misfit_variances, 1.0)
        seen = np.einsum("lm,lm->l", weighed, slopes)
        if not len(moves) or seen.min() < _UNSEEN:
            return None
        errors = weighed @ self.misfit_values / seen
        spreads = moves[:, :, None] * (moves / seen[:, None])[:, None, :]
        return self.aim_values - moves * errors[:, None], self.covariance + spreads

    def with_each_doubt_wrong(self, group_of: GroupOf | None) -> tuple[tuple[str, ...], Array]:
        """The aim's covariance (n x 2 x 2) were one figure's doubt after another `WRONG_BY` times.

        Figures that the misfits would show to be so wrong are left out, and so is what scatters
        in them from take to take: the job's own readings hold them against what is seen.
        """
        more = WRONG_BY**2 - 1.0
        # Of each figure: what it adds to the two variances, to the covariance, and to the misfits.
        groups: dict[str, list[float]] = {}
        if group_of is not None:
            in_question = np.flatnonzero(self.aim.any(axis=1) & ~(self._seen & self._scatters))
            parts = zip(
                in_question.tolist(),
                self.aim[in_question].tolist(),
                self._seen_in_misfits(in_question).tolist(),
                strict=True,
            )
            for index, (yaw, elevation), seen in parts:
                group = group_of(self.names[index])
                if group is not None:
                    sums = groups.get(group)
                    if sums is None:
                        sums = groups[group] = [0.0, 0.0, 0.0, 0.0]
                    sums[0] += yaw * yaw
                    sums[1] += yaw * elevation
                    sums[2] += elevation * elevation
                    sums[3] += seen
        kept = {group: sums for group, sums in groups.items() if 1.0 + more * sums[3] < NOTICED}
        extra = [(yy, ye, ye, ee) for yy, ye, ee, _ in kept.values()]
        spreads = np.array(extra, dtype=np.float64).reshape(-1, 2, 2)
        return tuple(kept), self.covariance + more * spreads

    def _seen_in_misfits(self, lines: NDArray[np.intp]) -> Array:
        """The share of each of these lines in the misfits' variances, in the mean of those."""
        weights = [1.0 / v if v > 0.0 else 0.0 for v in self._misfit_variances.tolist()]
        doubtful = sum(map(bool, weights))
        shares: Array = self.misfits[lines] ** 2 @ (np.array(weights) / max(doubtful, 1))
        return shares

"""Looking more than once without more risk: alpha spending over the largest number of looks.

Every look at the same position of the screws could call an aim inside that is not. The stated risk
is handed out to the looks beforehand; what a look has had is spent, whether its readings were kept
or taken back. Method: K. K. G. Lan and D. L. DeMets, Biometrika 70 (1983) 659-663; probabilities
of crossing by the recursion of P. Armitage, C. K. McPherson and B. C. Rowe, JRSS A 132 (1969).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import NormalDist
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from companion.errors import MeasureError
from companion.uncertainty.bivariate import below

Array = NDArray[np.float64]
Spending = Literal["pocock", "obrien_fleming"]

_NORMAL = NormalDist()
_ROOT_2_PI = math.sqrt(2.0 * math.pi)
_REACH_SD = 8.0
_PANELS = 12
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_HALVINGS = 60
# Newton's steps shrink by their own square: the one after this is below 1e-13.
_NEARLY_SETTLED = 3e-7
# So many tables of places stay within a processor's memory.
_AT_ONCE = 64
# Two looks closer than this in information are one look taken again.
_SAME_INFORMATION = 1e-9
# Information counts to this part, so that looks of many jobs share what was worked out.
_INFORMATION_PLACES = 3


@dataclass(frozen=True)
class Look:
    """What a look is allowed: the level to reach, and the risk that is spent after it.

    `level`: probability of being inside that counts as inside. `spent`: of the whole risk, so far.
    """

    number: int
    most: int
    level: float
    spent: float


def spent(spending: Spending, risk: float, fraction: float) -> float:
    """How much of `risk` may be used up at this fraction (0 to 1) of all looks.

    "pocock": risk ln(1 + (e - 1) t); "obrien_fleming": 2 - 2 Phi(z(risk / 2) / sqrt t); both one
    sided. Raises MeasureError for a risk outside 0 to 0.5 or a fraction below 0.
    """
    if not (0.0 < risk < 0.5 and fraction >= 0.0):
        raise MeasureError(
            f"looks: found a risk of {risk} at {fraction}; wanted: 0 to 0.5, and 0 or more"
        )
    part = min(fraction, 1.0)
    if part == 0.0:
        return 0.0
    if spending == "pocock":
        return risk * math.log(1.0 + (math.e - 1.0) * part)
    z = _NORMAL.inv_cdf(1.0 - risk / 2.0)
    return 2.0 - 2.0 * _NORMAL.cdf(z / math.sqrt(part))


def bounds(
    risk: float, most: int, spending: Spending = "pocock", information: Sequence[float] = ()
) -> tuple[float, ...]:
    """Critical values z of `most` looks: past the first one reached, the answer stands.

    `information`: of each look, 1 / u^2 in any unit, for as many looks as are known; the rest are
    taken to add alike. A look without new information adds nothing that was known beforehand, and
    is bounded on its own (Bonferroni). One sided.
    """
    known = tuple(information[:most]) or (1.0,)
    step = known[0] if len(known) == 1 else max(known[-1] / len(known), _SAME_INFORMATION)
    whole = known + tuple(known[-1] + step * (i + 1) for i in range(most - len(known)))
    return _bounds(risk, most, spending, _parts(whole))


def look_at(
    confidence: float,
    number: int,
    most: int,
    standard_uncertainties: Sequence[float] = (),
    spending: Spending = "pocock",
) -> Look:
    """The level that counts at look `number` of at most `most` (from 1).

    `standard_uncertainties`: of the mean at each look so far, this one last; looks that averaged
    what stays identical add little, and the bounds know it. Left out: every look adds alike.
    Raises MeasureError past the last look, or for a confidence that is not within 0.5 to 1.
    """
    alike = [at**-0.5 for at in range(1, number + 1)]
    rows = (standard_uncertainties or alike,)
    return look_at_several(confidence, number, most, rows, spending)


def look_at_several(
    confidence: float,
    number: int,
    most: int,
    standard_uncertainties: Sequence[Sequence[float]],
    spending: Spending = "pocock",
) -> Look:
    """The strictest `look_at` of several means that are looked at together, one row of each."""
    if not 1 <= number <= most:
        raise MeasureError(f"looks: found look {number} of at most {most}; wanted: one of those")
    if not 0.5 < confidence < 1.0:
        raise MeasureError(f"looks: found a certainty of {confidence}; wanted: 0.5 to 1")
    risk = 1.0 - confidence
    so_far = spent(spending, risk, number / most)
    if number == 1:
        return Look(number, most, 1.0 - so_far, so_far)
    rows = dict.fromkeys(
        _parts([1.0 / max(u, 1e-9) ** 2 for u in row[:number]]) for row in standard_uncertainties
    )
    z = max(_bounds_of_rows(risk, most, spending, tuple(rows)))
    return Look(number, most, _NORMAL.cdf(z), so_far)


def levels_at(
    confidence: float,
    number: int,
    most: int,
    standard_uncertainties: NDArray[np.float64],
    spending: Spending = "pocock",
) -> NDArray[np.float64]:
    """The level of `look_at` for n means at once; n x number, each mean's doubt at every look."""
    information = 1.0 / np.maximum(standard_uncertainties, 1e-9) ** 2
    parts = np.round(information / information[:, -1:], _INFORMATION_PLACES)
    kinds, where = np.unique(parts, axis=0, return_inverse=True)
    z = bounds_of_each(1.0 - confidence, most, spending, kinds)[:, -1]
    levels = np.array([_NORMAL.cdf(item) for item in z.tolist()])
    found: NDArray[np.float64] = levels[where.reshape(-1)]
    return found


class Walk:
    """The score z sqrt(information) of what has not yet crossed, as weights on places.

    At the limit; `information` has to rise from look to look. The z of looks i < j have the
    correlation sqrt(information i / information j), as a mean's have when readings are added to it.

    n walks side by side: places and weights n x m.
    """

    def __init__(self, count: int) -> None:
        self._places = np.zeros((count, 1))
        self._weights = np.ones((count, 1))
        self._information = np.zeros(count)

    def beyond(self, z: Array, information: Array) -> tuple[Array, Array]:
        """Probability that the next look is the first to pass z, and how fast it falls with z."""
        sd = np.sqrt(information - self._information)
        root = np.sqrt(information)
        away = ((z * root)[:, None] - self._places) / sd[:, None]
        density = np.exp(-0.5 * away * away) / _ROOT_2_PI
        passed = np.einsum("nm,nm->n", self._weights, below(-away))
        falls = np.einsum("nm,nm->n", self._weights, density) * root / sd
        return passed, falls

    def cross(self, z: Array, information: Array) -> None:
        """Go on with what did not pass."""
        sd, root = np.sqrt(information - self._information), np.sqrt(information)
        low, high = -_REACH_SD * root, z * root
        half = (high - low) / (2.0 * _PANELS)
        middles = low[:, None] + half[:, None] * (2.0 * np.arange(_PANELS) + 1.0)
        places = (middles[:, :, None] + half[:, None, None] * _NODES).reshape(len(z), -1)
        steps = (places[:, :, None] - self._places[:, None, :]) / sd[:, None, None]
        density = np.exp(-0.5 * steps * steps)
        weights = np.einsum("npm,nm->np", density, self._weights)
        weights = weights / (_ROOT_2_PI * sd)[:, None]
        self._weights = weights * half[:, None] * np.tile(_WEIGHTS, _PANELS)
        self._places, self._information = places, information

    def go(self, new: NDArray[np.bool_], z: Array, information: Array) -> None:
        """`cross` for some of the walks; the others stay as they are."""
        if np.all(new):
            self.cross(z, information)
            return
        if not np.any(new):
            return
        moved = Walk(0)
        moved._places, moved._weights = self._places[new], self._weights[new]
        moved._information = self._information[new]
        moved.cross(z[new], information[new])
        self._places = _rows(self._places, moved._places, new)
        self._weights = _rows(self._weights, moved._weights, new)
        self._information = np.where(new, information, self._information)


def _rows(kept: Array, moved: Array, new: NDArray[np.bool_]) -> Array:
    """Both kinds of rows in one table; the shorter ones are filled up with weights of nothing."""
    table = np.zeros((len(kept), max(kept.shape[1], moved.shape[1])))
    table[:, : kept.shape[1]] = kept
    table[new] = 0.0
    table[new, : moved.shape[1]] = moved
    return table


def _parts(information: Sequence[float]) -> tuple[float, ...]:
    return tuple(round(item / information[-1], _INFORMATION_PLACES) for item in information)


@lru_cache(maxsize=8192)
def _bounds_of_rows(
    risk: float, most: int, spending: Spending, rows: tuple[tuple[float, ...], ...]
) -> tuple[float, ...]:
    """What each row's last look has to pass."""
    return tuple(bounds_of_each(risk, most, spending, np.array(rows))[:, -1].tolist())


@lru_cache(maxsize=8192)
def _bounds(
    risk: float, most: int, spending: Spending, information: tuple[float, ...]
) -> tuple[float, ...]:
    return tuple(bounds_of_each(risk, most, spending, np.array([information]))[0].tolist())


def bounds_of_each(
    risk: float, most: int, spending: Spending, information: NDArray[np.float64]
) -> NDArray[np.float64]:
    """As `bounds`, for n rows of information, n x the looks that are known; only of those looks."""
    if len(information) > _AT_ONCE:
        pieces = np.array_split(information, -(-len(information) // _AT_ONCE))
        return np.concatenate([bounds_of_each(risk, most, spending, part) for part in pieces])
    walk = Walk(len(information))
    found = np.empty_like(information)
    reached, before = np.zeros(len(information)), 0.0
    looks = information.shape[1]
    for number in range(1, looks + 1):
        at = information[:, number - 1]
        allowed = spent(spending, risk, number / most)
        share, before = allowed - before, allowed
        alone = _NORMAL.inv_cdf(1.0 - share)
        new = at > reached + _SAME_INFORMATION
        if number == 1:
            z = np.full(len(at), alone)
        else:
            z = np.where(new, _crossed_by(walk, share, np.where(new, at, reached + 1.0)), alone)
        found[:, number - 1] = z
        if number < looks:
            walk.go(new, z, at)
        reached = np.where(new, at, reached)
    return found


def _crossed_by(walk: Walk, share: float, information: Array) -> Array:
    """The z that `share` of each walk passes: Newton's method, halving where that leads astray.

    On the scale of normal quantiles, where what passes falls nearly straight with z.
    """
    low = np.full(len(information), -2.0)
    high = np.full(len(information), _REACH_SD)
    wanted = _NORMAL.inv_cdf(share)
    # Never above what it would be without earlier looks.
    z = np.full(len(information), -wanted)
    for _ in range(_HALVINGS):
        passed, falls = walk.beyond(z, information)
        too_low = passed > share
        low, high = np.where(too_low, z, low), np.where(too_low, high, z)
        quantile = np.array([_quantile(part) for part in passed.tolist()])
        density = np.exp(-0.5 * quantile * quantile) / _ROOT_2_PI
        step = (quantile - wanted) * density / np.maximum(falls, 1e-300)
        nearer: Array = z + step
        size = np.abs(step)
        if float(size.max()) < _NEARLY_SETTLED:
            return nearer
        astray = (size >= _NEARLY_SETTLED) & ~((nearer > low) & (nearer < high))
        z = np.where(astray, (low + high) / 2.0, nearer)
    return z


def _quantile(part: float) -> float:
    return _NORMAL.inv_cdf(min(max(part, 1e-300), 1.0 - 1e-16))

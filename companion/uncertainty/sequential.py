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

Spending = Literal["pocock", "obrien_fleming"]

_NORMAL = NormalDist()
_REACH_SD = 8.0
_PANELS = 12
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_HALVINGS = 40
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
            f"looks: found a risk of {risk} at {fraction}; wanted are 0 to 0.5, and 0 or more"
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
    known = tuple(information[:most])
    if not known:
        known = (1.0,)
    step = known[0] if len(known) == 1 else max(known[-1] / len(known), _SAME_INFORMATION)
    whole = known + tuple(known[-1] + step * (i + 1) for i in range(most - len(known)))
    parts = tuple(round(item / whole[-1], _INFORMATION_PLACES) for item in whole)
    return _bounds(risk, most, spending, parts)


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
    if not 1 <= number <= most:
        raise MeasureError(f"looks: found look {number} of at most {most}; wanted is one of those")
    if not 0.5 < confidence < 1.0:
        raise MeasureError(f"looks: found a certainty of {confidence}; wanted is 0.5 to 1")
    information = [1.0 / max(u, 1e-9) ** 2 for u in standard_uncertainties[:number]]
    z = bounds(1.0 - confidence, most, spending, information)[number - 1]
    return Look(number, most, _NORMAL.cdf(z), spent(spending, 1.0 - confidence, number / most))


class Walk:
    """The score z sqrt(information) of what has not yet crossed, as weights on places.

    At the limit; `information` has to rise from look to look. The z of looks i < j have the
    correlation sqrt(information i / information j), as a mean's have when readings are added to it.
    """

    def __init__(self) -> None:
        self._places: NDArray[np.float64] = np.zeros(1)
        self._weights: NDArray[np.float64] = np.ones(1)
        self._information = 0.0

    def beyond(self, z: float, information: float) -> float:
        """Probability that the next look is the first to pass z."""
        sd = math.sqrt(information - self._information)
        away = (z * math.sqrt(information) - self._places) / sd
        return float(self._weights @ below(-away))

    def cross(self, z: float, information: float) -> float:
        """As `beyond`, and go on with what did not pass."""
        passed = self.beyond(z, information)
        sd = math.sqrt(information - self._information)
        low, high = -_REACH_SD * math.sqrt(information), z * math.sqrt(information)
        edges = np.linspace(low, high, _PANELS + 1)
        half = (edges[1] - edges[0]) / 2.0
        places = (edges[:-1, None] + half * (1.0 + _NODES)).ravel()
        steps = (places[:, None] - self._places) / sd
        density = np.exp(-0.5 * steps * steps) / (math.sqrt(2.0 * math.pi) * sd)
        self._weights = (density @ self._weights) * np.tile(half * _WEIGHTS, _PANELS)
        self._places, self._information = places, information
        return passed


@lru_cache(maxsize=8192)
def _bounds(
    risk: float, most: int, spending: Spending, information: tuple[float, ...]
) -> tuple[float, ...]:
    walk = Walk()
    found: list[float] = []
    reached = 0.0
    before = 0.0
    for number, at in enumerate(information, 1):
        allowed = spent(spending, risk, number / most)
        share = allowed - before
        before = allowed
        if at <= reached + _SAME_INFORMATION:
            found.append(_NORMAL.inv_cdf(1.0 - share))
            continue
        low, high = -2.0, _REACH_SD
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            if walk.beyond(middle, at) > share:
                low = middle
            else:
                high = middle
        # The side on which a little less than the share is spent.
        found.append(high)
        walk.cross(high, at)
        reached = at
    return tuple(found)

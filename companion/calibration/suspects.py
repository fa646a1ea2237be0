"""Which reading is most likely the misread one where two ways to a result disagree."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from companion.errors import MeasureError
from companion.uncertainty.measured import Measured, covariance_matrix


@dataclass(frozen=True)
class Suspect:
    """One possible cause of a disagreement.

    `percent`: chance that it is the one reading that was misread, if one was. `error`: how far
    its reading would be off, in the reading's own unit, to explain all of it.
    """

    cause: str
    percent: float
    error: float


def suspects(
    disagreement: Measured,
    causes: Mapping[str, Sequence[str]],
    likely_error: Mapping[str, float],
    sensitivity: Mapping[str, float],
    slips: Mapping[str, Sequence[float]] = MappingProxyType({}),
) -> tuple[Suspect, ...]:
    """Which cause most likely explains a disagreement, the likeliest first.

    `causes`: the base readings behind each cause. `likely_error`: how large a misreading of that
    cause typically is (standard deviation, its unit); `sensitivity`: what one unit of it adds to
    the disagreement. Each cause is weighed by how well it alone would explain the disagreement
    beside the doubt of all others (Bayes' rule, one cause at a time, alike beforehand).
    `slips`: what particular slips in a cause would add to the disagreement (digits swapped, left
    taken for right); where given, a misreading is as likely one of them as anything else.
    """
    weights: dict[str, float] = {}
    errors: dict[str, float] = {}
    parts = dict(disagreement.contributions)
    for cause, readings in causes.items():
        slope = sensitivity[cause]
        own = math.hypot(0.0, *(parts.get(name, 0.0) for name in readings))
        rest = math.sqrt(max(disagreement.u**2 - own**2, 0.0))
        spread = math.hypot(rest, own, slope * likely_error[cause])
        if not (slope != 0.0 and spread > 0.0):
            raise MeasureError(f"suspects: {cause} cannot add to the disagreement; leave it out")
        weights[cause] = _normal(disagreement.value, spread)
        doubt, particular = math.hypot(rest, own), slips.get(cause, ())
        if particular and doubt > 0.0:
            as_slip = math.fsum(_normal(disagreement.value - slip, doubt) for slip in particular)
            weights[cause] = (weights[cause] + as_slip / len(particular)) / 2.0
        errors[cause] = disagreement.value / slope
    total = math.fsum(weights.values())
    if total == 0.0:
        # Far beyond every cause: the widest one explains it least badly.
        widest = max(causes, key=lambda cause: abs(sensitivity[cause]) * likely_error[cause])
        weights[widest] = total = 1.0
    found = [Suspect(c, 100.0 * weights[c] / total, errors[c]) for c in causes]
    return tuple(sorted(found, key=lambda item: (-item.percent, item.cause)))


def suspects_together(
    disagreements: Sequence[Measured],
    slack: Sequence[float],
    likely_error: Mapping[str, float],
    sensitivity: Mapping[str, Sequence[float]],
    slips: Mapping[str, Sequence[Sequence[float]]] = MappingProxyType({}),
) -> tuple[Suspect, ...]:
    """As `suspects`, from several results at once: which reading bends them all as they are bent.

    `disagreements`: how far each of n results is from where it belongs; what they share keeps them
    correlated. `slack`: how far each may truly be from there (standard deviation). `sensitivity`:
    what one unit of the cause's misreading adds to each result. `slips`: what particular slips add
    to each. Raises MeasureError where a cause adds to none, or the results have no doubt at all.
    """
    off = np.array([result.value for result in disagreements])
    known = covariance_matrix(disagreements) + np.diag(np.square(np.array(slack)))
    if not np.linalg.eigvalsh(known)[0] > 0.0:
        raise MeasureError("suspects: the results leave no doubt of their own; wanted: some slack")
    logs: dict[str, float] = {}
    errors: dict[str, float] = {}
    for cause, slopes in sensitivity.items():
        slope = np.array(slopes)
        if not slope.any():
            raise MeasureError(f"suspects: {cause} cannot add to the disagreement; leave it out")
        broad = _log_normal(off, known + likely_error[cause] ** 2 * np.outer(slope, slope))
        each = [_log_normal(off - np.array(slip), known) for slip in slips.get(cause, ())]
        as_slip = float(np.logaddexp.reduce(each)) - math.log(len(each)) if each else broad
        # Half of either: what every cause has makes no difference.
        logs[cause] = float(np.logaddexp(broad, as_slip))
        weighed = np.linalg.solve(known, slope)
        errors[cause] = float(weighed @ off / (weighed @ slope))
    most = max(logs.values())
    weights = {cause: math.exp(log - most) for cause, log in logs.items()}
    total = math.fsum(weights.values())
    found = [Suspect(c, 100.0 * weight / total, errors[c]) for c, weight in weights.items()]
    return tuple(sorted(found, key=lambda item: (-item.percent, item.cause)))


def _log_normal(off: NDArray[np.float64], spread: NDArray[np.float64]) -> float:
    """Logarithm of the density of a normal spread about nought, but for a constant."""
    _, log_determinant = np.linalg.slogdet(spread)
    return -0.5 * float(off @ np.linalg.solve(spread, off) + log_determinant)


def _normal(value: float, spread: float) -> float:
    """Density of a normal spread, but for a constant factor."""
    return math.exp(-0.5 * (value / spread) ** 2) / spread

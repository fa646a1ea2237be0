"""Run-out from any number of stops of the wheel, evenly spaced or not; and beams that disagree."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from companion.errors import MeasureError
from companion.measure.doubt import Measured, propagate
from companion.measure.fitting import Fit, Outlier, least_squares, worst_outlier


@dataclass(frozen=True)
class RunOutFit:
    """First harmonic of the spot against the wheel's turn.

    `run_out_deg` and `run_out_heading_deg` as in `RunOut`, with the doubt that the readings'
    scatter leaves. `outlier` is None where fewer than five stops were read.
    """

    run_out_deg: Measured
    run_out_heading_deg: Measured
    fit: Fit
    outlier: Outlier | None


def _design(turned_deg: Sequence[float]) -> list[list[float]]:
    return [[1.0, math.cos(math.radians(a)), math.sin(math.radians(a))] for a in turned_deg]


def fit_run_out(
    turned_deg: Sequence[float],
    spots_mm: Sequence[float],
    path_mm: Measured,
    grows_to_left: float,
    u_spot_mm: float,
    name: str = "run-out",
) -> RunOutFit:
    """spot = middle + a cos(turn) + b sin(turn) by least squares over three or more stops.

    `turned_deg`: how far the wheel stood from its start mark at each stop; `spots_mm` on that
    side's arm scale, each with `u_spot_mm`. For four even quarters it is `run_out` itself.
    Raises MeasureError for too few or coinciding stops.
    """
    if grows_to_left not in (1.0, -1.0):
        raise MeasureError(f"run-out: grows_to_left is {grows_to_left}; wanted is 1 or -1")
    if len(turned_deg) != len(spots_mm) or len(spots_mm) < 3:
        raise MeasureError(
            f"run-out: found {len(turned_deg)} stops and {len(spots_mm)} spots; wanted are three "
            "or more pairs"
        )
    design = _design(turned_deg)
    fit = least_squares(design, spots_mm)
    _, a, b = fit.measured(name, u_spot_mm)

    def angles(values: dict[str, float]) -> dict[str, float]:
        size = math.hypot(values["a"], values["b"])
        return {
            "run_out_deg": math.degrees(math.atan(size / values["path"])),
            "run_out_heading_deg": math.degrees(
                math.atan(grows_to_left * values["a"] / values["path"])
            ),
        }

    outputs = propagate(angles, {"a": a, "b": b, "path": path_mm})
    return RunOutFit(
        run_out_deg=outputs["run_out_deg"],
        run_out_heading_deg=outputs["run_out_heading_deg"],
        fit=fit,
        outlier=worst_outlier(design, spots_mm, u_spot_mm) if len(spots_mm) >= 5 else None,
    )


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


def _normal(value: float, spread: float) -> float:
    """Density of a normal spread, but for a constant factor."""
    return math.exp(-0.5 * (value / spread) ** 2) / spread

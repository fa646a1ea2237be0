"""Slips of people who read scales: how far off they put a reading, and which echo level has one."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal

import numpy as np

from companion.calibration.fitting import least_squares
from companion.calibration.suspects import Suspect
from companion.errors import MeasureError

_TWO_WAY_DB = 24.0
# A level misread in no particular way is off by about this much.
_LIKELY_ERROR_DB = 1.5


def reading_slips(value: float, resolution: float, has_direction: bool) -> tuple[float, ...]:
    """How far off (said minus true) the usual slips would put this reading.

    Ten steps of the scale, two neighbouring digits in the wrong order, one direction taken for
    the other. In the reading's unit.
    """
    errors = [10.0 * resolution, -10.0 * resolution]
    if has_direction and value != 0.0:
        errors.append(2.0 * value)
    steps = str(abs(round(Decimal(str(value)) / Decimal(str(resolution)))))
    sign = -1.0 if value < 0.0 else 1.0
    for place in range(len(steps) - 1):
        swapped = steps[:place] + steps[place + 1] + steps[place] + steps[place + 2 :]
        if swapped != steps:
            errors.append(sign * (int(steps) - int(swapped)) * resolution)
    return tuple(errors)


def misread_level(
    places_deg: Mapping[str, tuple[float, float]],
    levels_db: Mapping[str, float],
    beam_width_lean_deg: float,
    beam_width_swing_deg: float,
    u_level_db: float,
    resolution_db: float,
) -> tuple[Suspect, ...]:
    """Which one level was misread, the likeliest first; `error` in dB.

    `places_deg`: lean and swing of the plate at each level. With the known bends taken out
    (-24 (angle / width)^2 each way) all levels lie on one plane over lean and swing. Each level in
    turn is left out: it is as likely as the others then agree, and as its excess looks like a slip
    (Bayes' rule, alike beforehand). The two ends of one lean balance each other, so only the kind
    of slip tells them apart. Raises MeasureError for fewer than five levels or widths not above 0.
    """
    if not (beam_width_lean_deg > 0.0 and beam_width_swing_deg > 0.0) or len(places_deg) < 5:
        raise MeasureError(
            f"misread level: found {len(places_deg)} levels and beams {beam_width_lean_deg} and "
            f"{beam_width_swing_deg} degrees wide; wanted: five levels and widths above 0"
        )
    names = list(places_deg)
    design = np.array([[1.0, *places_deg[name]] for name in names])
    flat = [
        levels_db[name]
        + _TWO_WAY_DB
        * (
            (places_deg[name][0] / beam_width_lean_deg) ** 2
            + (places_deg[name][1] / beam_width_swing_deg) ** 2
        )
        for name in names
    ]
    logs, errors = [], []
    for index, name in enumerate(names):
        others = [i for i in range(len(names)) if i != index]
        fit = least_squares(design[others], [flat[i] for i in others])
        excess = flat[index] - float(design[index] @ np.array(fit.coefficients))
        foretold = float(design[index] @ np.array(fit.unit_covariance) @ design[index])
        spread = u_level_db * math.sqrt(1.0 + foretold)
        slips = reading_slips(levels_db[name], resolution_db, False)
        chance = 0.5 * _normal(excess, math.hypot(spread, _LIKELY_ERROR_DB)) + 0.5 * math.fsum(
            _normal(excess - slip, spread) for slip in slips
        ) / len(slips)
        logs.append(math.log(max(chance, 1e-300)) - 0.5 * fit.chi_square(u_level_db))
        errors.append(excess)
    most = max(logs)
    weights = [math.exp(item - most) for item in logs]
    total = math.fsum(weights)
    found = [
        Suspect(name, 100.0 * weight / total, error)
        for name, weight, error in zip(names, weights, errors, strict=True)
    ]
    return tuple(sorted(found, key=lambda item: (-item.percent, item.cause)))


def _normal(value: float, spread: float) -> float:
    return math.exp(-0.5 * (value / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))

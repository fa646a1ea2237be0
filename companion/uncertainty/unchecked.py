"""Doubts that nothing in a job checks: what a result's doubt is were one of them too small.

What a scale shows differently from take to take is held against the takes; what repeats alike (a
figure of a file, a scale's own error) nobody sees. So "inside" has to bear any one of these being
`WRONG_BY` times as large as it was entered.
"""

from __future__ import annotations

import math

from companion.uncertainty.conformity import decide
from companion.uncertainty.measured import Measured
from companion.uncertainty.redundancy import WRONG_BY, GroupOf
from companion.uncertainty.taking import averages_away


def variances_of(value: Measured, group_of: GroupOf) -> dict[str, float]:
    """By what a doubt rests on: its part of the variance that no repeated reading checks."""
    found: dict[str, float] = {}
    for line, part in value.contributions:
        group = None if averages_away(line) else group_of(line)
        if group is not None:
            found[group] = found.get(group, 0.0) + part * part
    return found


def u_if_wrong(u: float, variance: float) -> float:
    """The doubt were that part of its variance from a doubt `WRONG_BY` times as large."""
    return math.sqrt(u * u + (WRONG_BY**2 - 1.0) * variance)


def worst_of(value: Measured, group_of: GroupOf) -> tuple[str, float]:
    """What is worst for this one result were it so wrong, and the doubt then; "" where nothing."""
    found = variances_of(value, group_of)
    group = max(found, key=lambda name: found[name], default="")
    return group, u_if_wrong(value.u, found.get(group, 0.0))


def surely_inside(
    value: Measured,
    limits: tuple[float, float],
    confidence: float,
    confidence_if_wrong: float,
    group_of: GroupOf,
) -> bool:
    """Inside at `confidence` as entered, and at the other were any one doubt so wrong."""
    if decide(value.value, value.u, *limits, confidence).answer != "inside":
        return False
    _, u = worst_of(value, group_of)
    return decide(value.value, u, *limits, confidence_if_wrong).answer == "inside"

"""Doubts that nothing in a job checks: what a result's doubt is were one of them too small.

What a scale shows differently from take to take is held against the takes; what repeats alike (a
figure of a file, a scale's own error) nobody sees. So "inside" has to bear any one of these being
`WRONG_BY` times as large as it was entered.
"""

from __future__ import annotations

import math

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

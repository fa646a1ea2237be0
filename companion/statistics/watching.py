"""Watching a series job by job: a self-starting CUSUM on sequential ranks.

Each value is ranked among those up to it and itself. While nothing changes, these sequential ranks
are independent of each other and evenly spread whatever the values' distribution is: nothing has
to be known of a bay beforehand, skew residuals are borne, and rounded readings (mid-ranks) only
make it slower. The rank is turned into a normal score z = Phi^-1((rank - 1/2) / n) and summed up on
either side as E. S. Page's CUSUM, S = max(0, S + z - 1/2): D. McDonald, A cusum procedure based on
sequential ranks, Naval Research Logistics 37 (1990); D. M. Hawkins, Self-starting cusum charts for
location and scale, The Statistician 36 (1987), for the idea (all from memory).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

ALLOWANCE = 0.5
"""Half of the shift, in standard deviations, that is found the soonest."""
LIMIT = 7.9
"""The nine charts of a car's job, in a bay at rest, signal once in a thousand jobs (simulated)."""
LEAST_VALUES = 16
"""Values that must be there before a signal is believed."""

_NORMAL = NormalDist()


@dataclass(frozen=True)
class Signal:
    """`place` is the value (counted from 0) that gave it, `since` where the change likely began."""

    place: int
    since: int


def watched(values: Sequence[float]) -> tuple[Signal, ...]:
    """Every signal in the series; after one the watch begins anew with the values since then."""
    found: list[Signal] = []
    start = 0
    while (signal := _first_signal(values, start)) is not None:
        found.append(signal)
        start = signal.since
    return tuple(found)


def _first_signal(values: Sequence[float], start: int) -> Signal | None:
    seen: list[float] = []
    up = down = 0.0
    up_since = down_since = start
    for place in range(start, len(values)):
        value = values[place]
        low, high = bisect_left(seen, value), bisect_right(seen, value)
        seen.insert(high, value)
        # The mean of the ranks from low + 1 to high + 1 that the value and its equals hold.
        score = _NORMAL.inv_cdf(((low + high + 2) / 2 - 0.5) / len(seen))
        up, down = max(0.0, up + score - ALLOWANCE), max(0.0, down - score - ALLOWANCE)
        up_since = up_since if up else place + 1
        down_since = down_since if down else place + 1
        if len(seen) > LEAST_VALUES and max(up, down) > LIMIT:
            # From the start on there is no earlier level that it could have changed from.
            since = up_since if up > down else down_since
            return Signal(place, since if since > start else place)
    return None

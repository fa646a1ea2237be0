"""Control charts for single values: is what should stay the same drifting?

Individuals and moving-range chart: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, and
its rules, 6.3.2 (from memory). Rules 1 to 4 are those of the Western Electric Statistical
Quality Control Handbook (1956); the trend rule is the third of L. S. Nelson, Journal of Quality
Technology 16 (1984) (both from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

# Mean of the range of two values of a normal spread, in standard deviations: 2/sqrt(pi).
D2_OF_TWO = 1.128
# Upper limit of a range of two, in mean ranges (D4 for two).
D4_OF_TWO = 3.267
LEAST_VALUES = 8
"""With fewer values the limits say next to nothing."""

BEYOND_3 = "one value beyond three sigma"
TWO_OF_THREE = "two of three beyond two sigma, on one side"
FOUR_OF_FIVE = "four of five beyond one sigma, on one side"
EIGHT_ON_A_SIDE = "eight in a row on one side of the centre"
SIX_TREND = "six in a row that rise, or fall"
RANGE_TOO_LARGE = "a jump larger than the usual ones allow"


@dataclass(frozen=True)
class Signal:
    """A rule that the values break; `place` is where (counted from 0) it is complete."""

    place: int
    rule: str


@dataclass(frozen=True)
class ControlChart:
    """Values in time order, their centre, one sigma (from the moving ranges), and signals."""

    values: tuple[float, ...]
    centre: float
    sigma: float
    mean_range: float
    signals: tuple[Signal, ...]

    @property
    def low(self) -> float:
        """Lower control limit."""
        return self.centre - 3 * self.sigma

    @property
    def high(self) -> float:
        """Upper control limit."""
        return self.centre + 3 * self.sigma


def control_chart(values: Sequence[float], baseline: int | None = None) -> ControlChart:
    """The chart of two values or more; limits come from the first `baseline` (or from all).

    Raises ValueError for fewer than two values.
    """
    if len(values) < 2:
        raise ValueError(f"a control chart of {len(values)} values; wanted: two or more")
    kept = tuple(values)
    base = kept if baseline is None or baseline < 2 else kept[:baseline]
    ranges = [abs(later - earlier) for earlier, later in pairwise(base)]
    # Within the values also where rounding would put the mean of equal ones beside them.
    centre = min(max(math.fsum(base) / len(base), min(base)), max(base))
    mean_range = math.fsum(ranges) / len(ranges)
    sigma = mean_range / D2_OF_TWO
    return ControlChart(kept, centre, sigma, mean_range, _signals(kept, centre, sigma, mean_range))


def _signals(
    values: tuple[float, ...], centre: float, sigma: float, mean_range: float
) -> tuple[Signal, ...]:
    if sigma <= 0:
        return tuple(Signal(n, BEYOND_3) for n, value in enumerate(values) if value != centre)
    z = [(value - centre) / sigma for value in values]
    found = [
        *_windows(z, 1, BEYOND_3, lambda side: side[0] > 3),
        *_windows(z, 3, TWO_OF_THREE, lambda side: side[-1] > 2 and _above(side, 2) >= 2),
        *_windows(z, 5, FOUR_OF_FIVE, lambda side: side[-1] > 1 and _above(side, 1) >= 4),
        *_windows(z, 8, EIGHT_ON_A_SIDE, lambda side: min(side) > 0),
        *_windows(z, 6, SIX_TREND, lambda side: all(b > a for a, b in pairwise(side))),
        *(
            Signal(place, RANGE_TOO_LARGE)
            for place, (earlier, later) in enumerate(pairwise(values), start=1)
            if abs(later - earlier) > D4_OF_TWO * mean_range
        ),
    ]
    return tuple(sorted(set(found), key=lambda signal: (signal.place, signal.rule)))


def _above(side: Sequence[float], sigmas: float) -> int:
    return sum(value > sigmas for value in side)


def _windows(
    z: Sequence[float], length: int, rule: str, breaks: Callable[[Sequence[float]], bool]
) -> list[Signal]:
    """Where the rule holds on either side: each is asked of the values and of their negatives."""
    return [
        Signal(end - 1, rule)
        for end in range(length, len(z) + 1)
        if breaks(z[end - length : end]) or breaks([-value for value in z[end - length : end]])
    ]

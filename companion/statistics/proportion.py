"""A rate with its interval."""

from __future__ import annotations

import math

Z_95 = 1.959963984540054
"""Two-sided 95 % point of the normal distribution."""


def wilson_interval(hits: int, trials: int, z: float = Z_95) -> tuple[float, float]:
    """Score interval of a proportion, 0 to 1; (0, 1) when nothing was tried.

    E. B. Wilson, Journal of the American Statistical Association 22 (1927) (from memory). It
    stays sensible for few trials and for rates near 0 and 1.
    """
    if trials <= 0:
        return 0.0, 1.0
    share = hits / trials
    spread = z * math.sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials))
    middle = share + z * z / (2 * trials)
    scale = 1 + z * z / trials
    return max(0.0, (middle - spread) / scale), min(1.0, (middle + spread) / scale)

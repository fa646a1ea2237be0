"""How far from the middle a value may lie and still be called inside: the guard in numbers."""

from __future__ import annotations

from statistics import NormalDist

_NORMAL = NormalDist()
_HALVINGS = 60


def accepted_up_to(u: float | None, limit: float | None, level: float | None) -> float | None:
    """The largest value that lies within ±limit with at least this probability (normal, `u`).

    What is left to the limit is the guard. None where no value at all would be accepted, or where
    a figure is not recorded. Method: conformance probability of JCGM 106:2012, solved by halving.
    """
    if u is None or limit is None or level is None or not limit > 0.0:
        return None
    if u <= 0.0:
        return limit

    def inside(value: float) -> float:
        return _NORMAL.cdf((limit - value) / u) - _NORMAL.cdf((-limit - value) / u)

    if inside(0.0) < level:
        return None
    low, high = 0.0, limit
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if inside(middle) >= level else (low, middle)
    return low

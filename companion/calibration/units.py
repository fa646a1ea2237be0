"""Conversions between the units a bay uses."""

from __future__ import annotations

import math


def degrees_from_mm_per_m(mm_per_m: float) -> float:
    """Angle of a slope: atan(s / 1000)."""
    return math.degrees(math.atan(mm_per_m / 1000.0))

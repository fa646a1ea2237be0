"""What is said about shims and the floor."""

from __future__ import annotations

from decimal import Decimal

from companion.facts.message import Amount, Message
from companion.steps.shared.advice import size


def shim(spot: str, thickness_mm: Decimal) -> Message:
    return Message("shim", {"spot": spot, "thickness": Amount(thickness_mm, "mm")})


def floor_counts(slope_up_deg: float) -> Message:
    if round(slope_up_deg, 2) == 0:
        return Message("floor-level")
    way = "floor-rises" if slope_up_deg > 0 else "floor-falls"
    return Message(way, {"slope": size(slope_up_deg, "deg")})

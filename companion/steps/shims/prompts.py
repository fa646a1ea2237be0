"""What is said about shims."""

from __future__ import annotations

from decimal import Decimal

from companion.facts.message import Amount, Message


def shim(spot: str, thickness_mm: Decimal) -> Message:
    return Message("shim", {"spot": spot, "thickness": Amount(thickness_mm, "mm")})

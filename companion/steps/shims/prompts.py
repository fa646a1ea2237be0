"""What is said about shims and the floor."""

from __future__ import annotations

from decimal import Decimal

from companion.dialogue.prompts import sentence
from companion.steps.shared.advice import size
from companion.words.told import figure, tell


def shim(spot: str, thickness_mm: Decimal) -> str:
    told = tell("{thickness} under {spot}", thickness=figure(thickness_mm, "mm"), spot=spot)
    return sentence(told)


def floor_counts(slope_up_deg: float) -> str:
    if round(slope_up_deg, 2) == 0:
        return "The floor is level to the front."
    way = "rises" if slope_up_deg > 0 else "falls"
    return tell(
        "The floor {way} {size} to the front. That is taken into account.",
        way=way,
        size=size(slope_up_deg, "deg"),
    )

"""What is said about shims and the floor."""

from __future__ import annotations

from decimal import Decimal

from companion.dialogue.prompts import sentence
from companion.steps.shared.advice import size
from companion.words.speaking import say_figure


def shim(spot: str, thickness_mm: Decimal) -> str:
    return f"{sentence(say_figure(thickness_mm, 'mm'))[:-1]} under {spot}. Say done."


def floor_counts(slope_up_deg: float) -> str:
    if round(slope_up_deg, 2) == 0:
        return "The floor is level to the front."
    way = "rises" if slope_up_deg > 0 else "falls"
    return f"The floor {way} {size(slope_up_deg, 'deg')} to the front. That is taken into account."

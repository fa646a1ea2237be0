"""What several kinds of step say: sizes, what was misread, what can never pass.

As in the conversation's own prompts: one thing at a time, the key word last, never a sign.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from companion.dialogue.prompts import CORRECT_AND_BEGIN_ANEW
from companion.words.speaking import say_cardinal, say_list
from companion.words.told import figure, tell

MEASURED_AGAIN = "Measured again after the move."


def size(value: float, unit: str | None) -> str:
    """A size without its sign, to two figures that matter."""
    decimals = 0 if abs(value) >= 10 else 1 if abs(value) >= 1 else 2
    rounded = Decimal(str(round(abs(value), decimals))).quantize(Decimal(1).scaleb(-decimals))
    whole = rounded.to_integral_value()
    return figure(whole if whole == rounded else rounded, unit)


def too_close_for(readings: int | None) -> str:
    """Too close to call, and how many readings would settle it (None: no number of them)."""
    if readings is None:
        return "Too close to call, and more readings would not settle it."
    times = "once" if readings == 1 else f"{say_cardinal(readings)} times"
    return f"Too close to call. Read {times}, averaged, it would settle."


def cannot_pass(title: str, doubt: float, half_width: float, unit: str | None) -> str:
    return tell(
        "{title}: no reading could pass. The doubt is {doubt}, allowed are {half_width}. {then}",
        title=title,
        doubt=size(doubt, unit),
        half_width=size(half_width, unit),
        then=CORRECT_AND_BEGIN_ANEW,
    )


def went_the_wrong_way(title: str = "") -> str:
    return f"{title}: that went the wrong way." if title else "That went the wrong way."


def suspected(say: str, names: Iterable[str]) -> str:
    """What does not fit, and what is most likely behind it."""
    first, *_ = say.split(". ")
    return f"{first.rstrip('.')}. Likely misread: {say_list(list(names), 'or')}."

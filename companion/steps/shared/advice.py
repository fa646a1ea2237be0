"""What several kinds of step say: sizes, what was misread, what can never pass.

As in the conversation's own prompts: one thing at a time, the key word last, never a sign.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from companion.facts.message import Amount, Message, Told, as_message

MEASURED_AGAIN = Message("measured-again")


def size(value: float, unit: str | None) -> Amount:
    """A size without its sign, to two figures that matter."""
    decimals = 0 if abs(value) >= 10 else 1 if abs(value) >= 1 else 2
    rounded = Decimal(str(round(abs(value), decimals))).quantize(Decimal(1).scaleb(-decimals))
    whole = rounded.to_integral_value()
    return Amount(whole if whole == rounded else rounded, unit)


def too_close_for(readings: int | None) -> Message:
    """Too close to call, and how many readings would settle it (None: no number of them)."""
    if readings is None:
        return Message("too-close-for-any")
    return Message("too-close-for", {"times": readings})


def cannot_pass(title: str, doubt: float, half_width: float, unit: str | None) -> Message:
    limits = {"doubt": size(doubt, unit), "allowed": size(half_width, unit)}
    return Message("cannot-pass", {"title": title, **limits})


def went_the_wrong_way(title: str = "") -> Message:
    return Message("wrong-way-at", {"title": title}) if title else Message("wrong-way")


def suspected(what: Told, names: Iterable[str]) -> Message:
    """What does not fit, and what is most likely behind it."""
    return Message("suspected", {"what": as_message(what), "names": tuple(names)})

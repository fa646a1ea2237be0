"""Sentences of advice: what to move, what was misread, what can never pass.

As in `prompts`: one thing at a time, the key word last, never a sign.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from companion.dialogue.prompts import sentence
from companion.measure.coupling import Quantity
from companion.words.speaking import say_cardinal, say_figure, say_list

CORRECT_AND_BEGIN_ANEW = "Correct the doubt in the file, or read on a finer scale, and begin anew."
MEASURED_AGAIN = "Measured again after the move."


def size(value: float, unit: str | None) -> str:
    """A size without its sign, to two figures that matter."""
    decimals = 0 if abs(value) >= 10 else 1 if abs(value) >= 1 else 2
    rounded = Decimal(str(round(abs(value), decimals))).quantize(Decimal(1).scaleb(-decimals))
    whole = rounded.to_integral_value()
    return say_figure(whole if whole == rounded else rounded, unit)


def too_close_for(readings: int | None) -> str:
    """Too close to call, and how many readings would settle it (None: no number of them)."""
    if readings is None:
        return "Too close to call, and more readings would not settle it."
    times = "once" if readings == 1 else f"{say_cardinal(readings)} times"
    return f"Too close to call. Read {times}, averaged, it would settle."


def too_close_sets(more: int | None) -> str:
    """The same for sets of aim readings: how many more."""
    if more is None:
        return "Too close to call, and more sets would hardly settle it."
    sets = "One more set" if more == 1 else f"{say_cardinal(more).capitalize()} more sets"
    return f"Too close to call. {sets} should settle it."


def cannot_pass(title: str, doubt: float, half_width: float, unit: str | None) -> str:
    return (
        f"{title}: no reading could pass. The doubt is {size(doubt, unit)}, allowed are "
        f"{size(half_width, unit)}. {CORRECT_AND_BEGIN_ANEW}"
    )


def could_never_pass(titles: Iterable[str]) -> str:
    """Before any work: with the doubts in the files these could not come out inside."""
    where = say_list([title.lower() for title in titles])
    return f"With the doubts in the files nothing could pass at {where}. {CORRECT_AND_BEGIN_ANEW}"


def went_the_wrong_way(title: str = "") -> str:
    return f"{title}: that went the wrong way." if title else "That went the wrong way."


def suspected(say: str, names: Iterable[str]) -> str:
    """What does not fit, and what is most likely behind it."""
    first, *_ = say.split(". ")
    return f"{first.rstrip('.')}. Likely misread: {say_list(list(names), 'or')}."


_PLACES: Mapping[Quantity, str] = {
    "turn": "the turn",
    "sideways": "the place sideways",
    "distance": "the distance",
    "height": "the height",
}


def stand_moves(count: int, disturbed: Iterable[Quantity]) -> str:
    """How many moves come, and what they disturb beside what they put right."""
    several = f"{say_cardinal(count).capitalize()} moves, one after the other." if count > 1 else ""
    too = [_PLACES[quantity] for quantity in disturbed]
    if not too:
        return several
    they = "They disturb" if count > 1 else "The next move disturbs"
    again = "it is measured again" if len(too) == 1 else "they are measured again"
    return f"{several} {they} {say_list(too)} too: {again}.".strip()


def shim(spot: str, thickness_mm: Decimal) -> str:
    return sentence(f"{say_figure(thickness_mm, 'mm')} under {spot}")


def floor_counts(slope_up_deg: float) -> str:
    if round(slope_up_deg, 2) == 0:
        return "The floor is level to the front."
    way = "rises" if slope_up_deg > 0 else "falls"
    return f"The floor {way} {size(slope_up_deg, 'deg')} to the front. That is taken into account."

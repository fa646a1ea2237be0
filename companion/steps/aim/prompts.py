"""What is said about the aim and the screws that set it.

As in the conversation's own prompts: one thing at a time, the key word last, never a sign.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import assert_never

from companion.measure.stories import StoryKind
from companion.words.speaking import say_cardinal, say_figure, say_turns

CLOCKWISE = "Clockwise is as you face the screw's head from in front."
ONCE_MORE_TO_BE_SURE = "Inside. Once more, to be sure."
WIDENED = "The readings scatter more than was entered. Their doubt is widened."
LOCK_SCREWS = "Lock the screws, as the maker says, without turning them. Say done."
SETS_DISAGREE = "The two sets do not agree. We measure them again."
UNSETTLED = "The readings do not settle. Check the plate, its detents and the scan tool."
WHAT_INSIDE_MEANS = (
    "That means inside the entered limits, with the entered uncertainties. "
    "It does not say that the driver assistance is safe."
)


def turn_screw(name: str, direction: str, turns: Fraction) -> str:
    return f"{name[0].upper()}{name[1:]}, {direction}, {say_turns(turns)}. Say done."


def angle(value_deg: float, positive: str, negative: str) -> str:
    """An angle to a hundredth of a degree with its way in words; never with a sign."""
    hundredths = Decimal(str(round(abs(value_deg), 2))).quantize(Decimal("0.01"))
    if hundredths == 0:
        return "zero"
    return say_figure(hundredths, "deg", positive if value_deg > 0 else negative)


def aim(yaw_deg: float, elevation_deg: float) -> str:
    return (
        f"Sideways {angle(yaw_deg, 'left', 'right')}, height {angle(elevation_deg, 'up', 'down')}"
    )


def aim_to_correct(yaw_deg: float, elevation_deg: float) -> str:
    return f"Not inside yet. {aim(yaw_deg, elevation_deg)}."


def cannot_reach(yaw_deg: float, elevation_deg: float) -> str:
    return (
        "The screws cannot bring the aim inside. The best that they could leave is: "
        f"{aim(yaw_deg, elevation_deg).lower()}. Check the bracket and its fastening."
    )


def looks_as_if(what: str) -> str:
    return f"Stop. It looks as if {what}."


def looks_like_either(first: str, second: str) -> str:
    return f"Stop. It looks as if either {first}, or {second}."


def slip(kind: StoryKind, screws: Sequence[str], instead: Sequence[str]) -> str:
    """What may have happened at the screws; `instead`: which ones were turned in their place."""
    names = " and the ".join(screws)
    match kind:
        case "wrong_way":
            return f"the {names} went the wrong way"
        case "wrong_screw" if len(screws) == 1:
            return f"the {instead[0]} was turned in place of the {names}"
        case "wrong_screw":
            return f"the {names} were taken for each other"
        case "not_turned":
            whose = "its" if len(screws) == 1 else "their"
            return f"the {names} did not get all of {whose} turns"
        case "wrong_amount":
            return f"the {names} was not turned as far as I said"
        case "as_planned":
            return "all was turned as I said and the mount answers otherwise"
        case _:
            assert_never(kind)


UNEXPLAINED_MOVE = "Stop. The aim moved in a way that the screws do not explain."


def finished_inside(yaw_deg: float, elevation_deg: float, misses: str) -> str:
    told = (f"Inside. {aim(yaw_deg, elevation_deg)}.", misses, WHAT_INSIDE_MEANS)
    return " ".join(part for part in told if part)


def miss(range_m: float, sideways_m: float, u_m: float) -> str:
    """What is left sideways at a range, to a centimetre, with twice its doubt."""
    centimetres, doubt = round(100 * abs(sideways_m)), max(1, round(200 * u_m))
    where, span = f"At {say_figure(int(range_m))} metres it looks", say_figure(doubt)
    if centimetres == 0:
        return f"{where} at its mark, give or take {span} centimetres."
    side, noun = "left" if sideways_m > 0 else "right", "centimetre"
    noun += "" if centimetres == 1 else "s"
    return f"{where} {say_figure(centimetres)} {noun} to the {side}, give or take {span}."


def too_close_sets(more: int | None) -> str:
    """The same for sets of aim readings: how many more."""
    if more is None:
        return "Too close to call, and more sets would hardly settle it."
    sets = "One more set" if more == 1 else f"{say_cardinal(more).capitalize()} more sets"
    return f"Too close to call. {sets} should settle it."

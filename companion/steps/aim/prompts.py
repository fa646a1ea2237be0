"""What is said about the aim and the screws that set it: `grammars/<language>/steps.ftl`.

As in the conversation's own prompts: one thing at a time, the key word last, never a sign.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import assert_never

from companion.calibration.hypotheses import StoryKind
from companion.facts.message import Amount, Arg, Message, in_a_row

ONCE_MORE_TO_BE_SURE = Message("once-more-to-be-sure")
WIDENED = Message("scatter-widened")
NOT_INSIDE_YET = Message("not-inside-yet")
LOCK_SCREWS = Message("lock-screws")
LOCK_SCREWS_AGAIN = Message("lock-screws-again")
SETS_DISAGREE = Message("sets-disagree")
LEVELS_DO_NOT_FIT = Message("levels-do-not-fit")
LEVELS_MISFIT = Message("levels-misfit")
LEVELS_KEEP_MISFITTING = Message("levels-keep-misfitting")
UNSETTLED = Message("unsettled")
WHAT_INSIDE_MEANS = Message("what-inside-means")
MOUNT_DOUBTED = Message("mount-doubted")
LEARNED_ANEW = Message("learned-anew")
UNEXPLAINED_MOVE = Message("unexplained-move")


def turn_screw(
    name: str, direction: str, turns: Fraction, *, back: bool
) -> tuple[Message, Message]:
    """How far to turn it, and the same for who may have turned a part of it already.

    `back`: of the screw that was turned just before, the other way; mostly by the smallest turn
    there is, which has no parts.
    """
    told: dict[str, Arg] = {"screw": name, "sense": direction, "turns": Amount(turns, "turns")}
    if back:
        return Message("turn-screw-back", told), Message("turn-screw-back", told)
    return Message("turn-screw", told), Message("turn-screw-from-before", told)


def angle(value_deg: float, positive: str, negative: str) -> Amount:
    """An angle to a hundredth of a degree with its way; never with a sign."""
    hundredths = Decimal(str(round(abs(value_deg), 2))).quantize(Decimal("0.01"))
    if hundredths == 0:
        return Amount(0)
    return Amount(hundredths, "deg", positive if value_deg > 0 else negative)


def _aim(yaw_deg: float, elevation_deg: float) -> dict[str, Amount]:
    return {
        "yaw": angle(yaw_deg, "left", "right"),
        "elevation": angle(elevation_deg, "up", "down"),
    }


def aim_to_correct(yaw_deg: float, elevation_deg: float) -> Message:
    """In hundredths of a degree, whose unit the screen shows."""
    bare = {
        name: Amount(amount.value, None, amount.direction)
        for name, amount in _aim(yaw_deg, elevation_deg).items()
    }
    return Message("aim-to-correct", {**bare})


def cannot_reach(yaw_deg: float, elevation_deg: float) -> Message:
    return Message("cannot-reach", {**_aim(yaw_deg, elevation_deg)})


def looks_as_if(what: Message) -> Message:
    return Message("looks-as-if", {"what": what})


def looks_like_either(first: Message, second: Message) -> Message:
    return Message("looks-like-either", {"first": first, "second": second})


def slip(kind: StoryKind, screws: Sequence[str], instead: Sequence[str]) -> Message:
    """What may have happened at the screws; `instead`: which ones were turned in their place."""
    names = tuple(_the(screw) for screw in screws)
    told: dict[str, Arg] = {"screws": names, "count": len(names)}
    match kind:
        case "wrong_way":
            return Message("slip-wrong-way", told)
        case "wrong_screw" if len(screws) == 1:
            return Message("slip-wrong-screw", {"screw": names[0], "instead": _the(instead[0])})
        case "wrong_screw":
            return Message("slip-taken-for-each-other", {"screws": names})
        case "not_turned":
            return Message("slip-not-turned", told)
        case "twice_as_far":
            return Message("slip-twice-as-far", told)
        case "half_as_far":
            return Message("slip-half-as-far", told)
        case "as_planned":
            return Message("slip-as-planned")
        case "sides_swapped_before":
            return Message("slip-sides-swapped-before")
        case "ends_swapped_before":
            return Message("slip-ends-swapped-before")
        case _:
            assert_never(kind)


def _the(screw: str) -> Message:
    return Message("the-screw", {"screw": screw})


def finished_inside(yaw_deg: float, elevation_deg: float, misses: Message | None) -> Message:
    """The result, what is left at a range, and what it means."""
    found = Message("found-inside", {**_aim(yaw_deg, elevation_deg)})
    return in_a_row(found, misses, WHAT_INSIDE_MEANS)


def miss(range_m: float, sideways_m: float) -> Message:
    """What is left sideways at a range, to a centimetre; how surely, the report tells."""
    centimetres = round(100 * abs(sideways_m))
    told: dict[str, Arg] = {"metres": int(range_m)}
    if centimetres == 0:
        return Message("miss-at-mark", told)
    side = "left" if sideways_m > 0 else "right"
    return Message("miss", {**told, "sideways": Amount(centimetres, "cm", side)})


def too_close_sets(more: int | None) -> Message:
    """Too close to call, and how many more sets of aim readings would settle it."""
    return (
        Message("too-close-for-sets") if more is None else Message("too-close-sets", {"more": more})
    )

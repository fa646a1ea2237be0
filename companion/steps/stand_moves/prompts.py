"""What is said about the moves of the stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from companion.calibration.coupling import Quantity
from companion.facts.message import Arg, Message, in_a_row

_PLACES: Mapping[Quantity, Message] = {
    "turn": Message("place-turn"),
    "sideways": Message("place-sideways"),
    "distance": Message("place-distance"),
    "height": Message("place-height"),
}


def stand_moves(count: int, disturbed: Iterable[Quantity]) -> Message | None:
    """How many moves come, and what they disturb beside what they put right; None: say nothing."""
    several = Message("stand-moves", {"count": count}) if count > 1 else None
    places = tuple(_PLACES[quantity] for quantity in disturbed)
    if not places:
        return several
    told: dict[str, Arg] = {"count": count, "places": places, "disturbed": len(places)}
    return in_a_row(several, Message("stand-moves-disturb", told))

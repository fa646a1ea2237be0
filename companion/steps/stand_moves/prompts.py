"""What is said about the moves of the stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from companion.measure.coupling import Quantity
from companion.words.speaking import say_cardinal, say_list

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

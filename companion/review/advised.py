"""What the companion advised or suspected, each in one short sentence for a supervisor."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from companion.facts.figures import Quantity
from companion.facts.plain import number
from companion.record import StoredEvent
from companion.review import wording
from companion.review.values import mapping, quantity, sequence, text

_MOVED = {
    "turn": ("turned", "deg", 2, "to the left", "to the right"),
    "sideways": ("moved", "mm", 0, "to the left", "to the right"),
    "distance": ("moved", "mm", 0, "away from the car", "towards the car"),
    "height": ("plate", "mm", 0, "up", "down"),
}
_MOST_SUSPECTS = 3


@dataclass(frozen=True)
class StandMoves:
    """Moves of the stand that were asked for in one go, in their order, and when."""

    seq: int
    told: str


def screw_title(screw_id: object) -> str:
    """A screw's id in words."""
    return text(screw_id).replace("_", " ")


def story(body: Mapping[str, Any]) -> str:
    """What may have happened at the screws, as a record's event or one of its stories tells it."""
    kind = text(body.get("kind")).replace("_", " ")
    names = " and ".join(map(screw_title, sequence(body.get("screw_ids"))))
    instead = " and ".join(map(screw_title, sequence(body.get("instead_ids"))))
    told = f"{kind}, {names}" if names else kind
    return f"{told} (the {instead} in its place)" if instead else told


def stories(body: Mapping[str, Any]) -> str:
    """The verdict on a move; where it could not be told, every story with its chance."""
    kind = text(body.get("kind"))
    found = [mapping(name) for name in sequence(body.get("names"))]
    if kind != "ambiguous" or not found:
        return story(body)
    told = (f"{story(name)} ({wording.percent(number(name.get('probability')))})" for name in found)
    return "either " + ", or ".join(told)


def suspects(body: Mapping[str, Any]) -> str:
    """Which readings were most likely misread, and which were read again."""
    found = [mapping(item) for item in sequence(body.get("suspects"))]
    found = sorted(found, key=lambda item: -(number(item.get("percent")) or 0.0))
    likely = ", ".join(
        f"{text(item.get('cause'))} ({number(item.get('percent')) or 0.0:.0f}\u00a0%)"
        for item in found[:_MOST_SUSPECTS]
    )
    again = ", ".join(map(text, sequence(body.get("asked_again")))) or "all of them"
    return f"{likely or 'nothing in particular'}; read again: {again}"


def shims(body: Mapping[str, Any]) -> str:
    """What was laid under which wheel, and why."""
    under = ", ".join(
        f"{thickness:g} mm under {name}"
        for name, thickness in mapping(body.get("under")).items()
        if isinstance(thickness, int | float)
    )
    twist = wording.amount(quantity(body, "mm"), "floor_twist_mm")
    allowed = wording.limits(number(body.get("low")), number(body.get("high")), "mm")
    return f"{under} for a floor twist of {twist} (without shims {allowed})"


def cannot_pass(body: Mapping[str, Any]) -> str:
    """What nothing could have passed, with its doubt and limits."""
    unit, half = text(body.get("unit")), number(body.get("half_width"))
    limits = wording.limits(None if half is None else -half, half, unit)
    when = ", seen before any work" if body.get("before_the_work") is True else ""
    doubt = wording.doubt(quantity(body, unit))
    return f"{text(body.get('title'))}: standard uncertainty {doubt}, limits {limits}{when}"


def to_settle(event: StoredEvent) -> str:
    """How much more would settle what was too close to call; nothing where it was settled."""
    body = event.body
    if text(body.get("answer")) != "too_close" or body.get("level") is None:
        return ""
    name, one = (
        ("more_sets_to_settle", "more set of readings")
        if event.kind == "aim_decided"
        else ("readings_to_settle", "reading, averaged,")
    )
    if name not in body:
        return ""
    count = number(body.get(name))
    if count is None:
        return "more readings would hardly settle it"
    noun = one if count == 1 else one.replace("set", "sets", 1).replace("reading,", "readings,")
    return f"{count:.0f} {noun} should settle it"


def stand_moves(events: Iterable[StoredEvent]) -> tuple[StandMoves, ...]:
    """The moves of the stand, round after round."""
    found = []
    for event in events:
        moves = map(mapping, sequence(event.body.get("moves")))
        if event.kind == "stand_moves":
            told = ", then ".join(filter(None, map(_moved, moves)))
            found.append(StandMoves(event.seq, told or "none"))
    return tuple(found)


def _moved(move: Mapping[str, Any]) -> str:
    by, known = number(move.get("by")), _MOVED.get(text(move.get("quantity")))
    if by is None or known is None:
        return ""
    verb, unit, decimals, positive, negative = known
    told = wording.amount(Quantity(abs(by), None, unit), "", decimals)
    return f"{verb} {told} {positive if by > 0 else negative}"

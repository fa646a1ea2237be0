"""What was advised and why, out of the record: moves, shims, suspects, screws, the result."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from companion.facts.figures import Quantity
from companion.facts.plain import number
from companion.record import StoredEvent
from companion.review import advised, wording
from companion.review.values import mapping, quantity, sequence, text

# A doubt is told as twice the standard uncertainty, which is about 95 % of a normal spread.
COVERAGE_FACTOR = 2
# How the lines begin that go beyond what was advised.
ASIDE = ("    ", "  what the doubt", "  formula:", "  source:")
ADVICE = (
    "shims",
    "stand_moves",
    "suspected",
    "screw_plan",
    "move_judged",
    "cannot_pass",
    "finished",
)


def with_doubt(told: Quantity, name: str = "") -> str:
    """The value with twice its standard uncertainty."""
    expanded = None if told.u is None else COVERAGE_FACTOR * told.u
    return (
        f"{wording.amount(told, name)} ± {wording.doubt(Quantity(None, expanded, told.unit))}"
        f"  (twice the standard uncertainty of {wording.doubt(told)})"
    )


def method(event: StoredEvent) -> list[str]:
    """The formula in words and its source, as the event carries them; nothing where it does not."""
    body = event.body
    if not text(body.get("text")) or not text(body.get("source")):
        return []
    return [f"  formula: {text(body.get('text'))}", f"  source: {text(body.get('source'))}"]


def is_about(event: StoredEvent, name: str) -> bool:
    """Whether the advice is about the result or step of this name."""
    body = event.body
    return event.kind in ADVICE and name in (body.get("step_id"), body.get("result"))


def advice(event: StoredEvent) -> list[str]:
    """Lines about one piece of advice."""
    body = event.body
    match event.kind:
        case "shims":
            lines = _shims(body)
        case "stand_moves":
            lines = _stand_moves(body)
        case "suspected":
            lines = _suspected(body)
        case "screw_plan":
            lines = _screw_plan(body)
        case "move_judged":
            lines = _move_judged(body)
        case "cannot_pass":
            lines = _cannot_pass(body)
        case _:
            lines = _finished(body)
    first, *rest = lines
    return [f"{first}, event {event.seq}", *rest, *method(event)]


def shares(rows: object, indent: str = "    ") -> list[str]:
    """Who adds how much to a doubt, by the names of the budget."""
    pairs = [row for row in map(sequence, sequence(rows)) if len(row) == 2]
    return [f"{indent}{number(share) or 0.0:5.1f} %  {text(name)}" for name, share in pairs]


def _shims(body: Mapping[str, Any]) -> list[str]:
    low, high = number(body.get("low")), number(body.get("high"))
    under = ", ".join(
        f"{thickness:g} mm under {name}"
        for name, thickness in mapping(body.get("under")).items()
        if isinstance(thickness, int | float)
    )
    lines = [
        f"Shims: {under or 'none'}",
        f"  floor twist {with_doubt(quantity(body, 'mm'), 'floor_twist_mm')}; "
        f"without shims {wording.limits(low, high, 'mm')}",
    ]
    for name, told in mapping(body.get("taken_into_account")).items():
        lines.append(
            f"  taken into account: {wording.title_of(name)} "
            f"{with_doubt(quantity(told, 'deg'), name)}"
        )
    return [*lines, "  what the doubt of the twist is made of:", *shares(body.get("budget"))]


def _stand_moves(body: Mapping[str, Any]) -> list[str]:
    moves = [mapping(item) for item in sequence(body.get("moves"))]
    foot = mapping(body.get("foot"))
    lines = [f"Moves of the stand, in their order: {len(moves)}"]
    for move in moves:
        by, u = number(move.get("by")) or 0.0, number(move.get("u")) or 0.0
        stale = ", ".join(map(text, sequence(move.get("stale"))))
        lines.append(
            f"  {text(move.get('quantity'))} by {wording.plain_number(by, 2)} (u {u:.2g}): "
            f"{text(move.get('text'))} It makes {stale} stale."
        )
    ahead, left, u = (number(foot.get(k)) or 0.0 for k in ("ahead_mm", "left_mm", "u_mm"))
    return [*lines, f"  foot {ahead:g} mm ahead and {left:g} mm left of the centre (u {u:g} mm)"]


def _suspected(body: Mapping[str, Any]) -> list[str]:
    lines = [f"Suspects ({text(body.get('step_id')).replace('_', ' ')})"]
    for item in map(mapping, sequence(body.get("suspects"))):
        error = number(item.get("error")) or 0.0
        lines.append(
            f"  {number(item.get('percent')) or 0.0:5.1f} %  {text(item.get('cause'))}, "
            f"misread by {wording.plain_number(error, 2)} if it was that"
        )
    again = ", ".join(map(text, sequence(body.get("asked_again"))))
    return [*lines, f"  read again: {again or 'all of them'}"]


def _screw_plan(body: Mapping[str, Any]) -> list[str]:
    predicted = mapping(body.get("predicted"))
    turns = "; ".join(
        f"{screw_id.replace('_', ' ')} {wording.turns_words(wording.turns_of(told))}"
        for screw_id, told in mapping(body.get("turns")).items()
    )
    lines = [f"Screws, round {text(body.get('round'))}: {turns}"]
    for axis in ("yaw", "elevation"):
        told = Quantity(
            number(predicted.get(f"{axis}_deg")), number(predicted.get(f"u_{axis}")), "deg"
        )
        name = f"aim_{axis}_deg"
        lines.append(f"  foretold {wording.title_of(name)}: {with_doubt(told, name)}")
    chance = wording.percent(number(predicted.get("probability_inside")))
    return [*lines, f"  foretold chance of both axes inside: {chance}"]


def _move_judged(body: Mapping[str, Any]) -> list[str]:
    chance = number(body.get("probability"))
    lines = [f"Move judged: {advised.stories(body)}"]
    if chance is not None:
        lines.append(f"  probability of that story: {wording.percent(chance)}")
    for name, told in mapping(body.get("moved")).items():
        value = Quantity(number(told), None, "deg")
        lines.append(f"  moved {wording.amount(value, f'aim_{name}')}")
    return lines


def _cannot_pass(body: Mapping[str, Any]) -> list[str]:
    unit, half = text(body.get("unit")), number(body.get("half_width"))
    limits = wording.limits(None if half is None else -half, half, unit)
    return [
        f"No reading could pass: {text(body.get('title'))} ({text(body.get('result'))})",
        f"  standard uncertainty {wording.doubt(quantity(body, unit))}; limits: {limits}",
        "  what the doubt is made of:",
        *shares(body.get("budget")),
    ]


def _finished(body: Mapping[str, Any]) -> list[str]:
    lines = [f"Result: {text(body.get('result')).replace('_', ' ')}"]
    for axis in ("yaw", "elevation"):
        told, name = mapping(body.get(axis)), f"aim_{axis}_deg"
        if told:
            title = wording.title_of(name)
            lines.append(f"  {title}: {with_doubt(quantity(told, 'deg'), name)}")
            lines += shares(told.get("budget"))
    for miss in map(mapping, sequence(body.get("misses_m"))):
        lines.append(f"  at {number(miss.get('range_m')) or 0.0:g} m: {_beside(miss)}")
    return lines


def _beside(miss: Mapping[str, Any]) -> str:
    parts: Sequence[tuple[str, str]] = (
        ("sideways", "aim_yaw_deg"),
        ("height", "aim_elevation_deg"),
    )
    return ", ".join(
        with_doubt(
            Quantity(number(miss.get(f"{axis}_m")), number(miss.get(f"u_{axis}_m")), "m"), name
        )
        for axis, name in parts
    )

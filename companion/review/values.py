"""Reading values out of event bodies without trusting their shape.

A report must come out of any record, also one from another version of the program, so an
absent or odd value is `None` (shown as "not recorded"), never an error.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Quantity:
    """A value with its standard uncertainty `u`, both in `unit`; None where not recorded."""

    value: float | None
    u: float | None
    unit: str


def number(value: object) -> float | None:
    """The finite number that this is, or that this text says; else None."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        converted = float(value)
    except ValueError:
        return None
    return converted if math.isfinite(converted) else None


def text(value: object) -> str:
    """The text, or an empty one."""
    if value is None:
        return ""
    return value if isinstance(value, str) else flat(value)


def words(value: object) -> str:
    """Heard words as one line, whether kept as text or as a list of words."""
    return " ".join(text(word) for word in value) if isinstance(value, list) else text(value)


def mapping(value: object) -> Mapping[str, Any]:
    """The mapping, or an empty one."""
    return value if isinstance(value, Mapping) else {}


def sequence(value: object) -> Sequence[Any]:
    """The list, or an empty one."""
    return value if isinstance(value, list | tuple) else ()


def quantity(value: object, unit: str = "") -> Quantity:
    """A `{value, u, unit}` mapping, or a bare number."""
    if isinstance(value, Mapping):
        return Quantity(
            number(value.get("value")), number(value.get("u")), text(value.get("unit")) or unit
        )
    return Quantity(number(value), None, unit)


def flat(value: object) -> str:
    """Any JSON value as one readable line."""
    match value:
        case None:
            return "none"
        case bool():
            return "yes" if value else "no"
        case str():
            return value
        case Mapping():
            return ", ".join(f"{name}: {flat(item)}" for name, item in value.items())
        case list() | tuple():
            return ", ".join(flat(item) for item in value)
        case _:
            return f"{value}"


def flat_rows(value: object, name: str = "") -> list[tuple[str, str]]:
    """A nested JSON value as (path, value) rows in its own order."""
    if isinstance(value, Mapping) and value:
        return [
            row
            for key, item in value.items()
            for row in flat_rows(item, f"{name} · {key}" if name else str(key))
        ]
    if isinstance(value, list | tuple) and any(isinstance(item, Mapping | list) for item in value):
        return [
            row
            for place, item in enumerate(value, start=1)
            for row in flat_rows(item, f"{name} {place}" if name else str(place))
        ]
    return [(name, flat(value))]

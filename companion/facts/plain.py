"""Values out of JSON whose shape nobody vouches for.

A record may be another version's, or odd; what a report cannot read is "not recorded", never an
error.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping


def number(value: object) -> float | None:
    """The finite number that this is, or that this text says; else None."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        converted = float(value)
    except ValueError:
        return None
    return converted if math.isfinite(converted) else None


def flat(value: object, word: Callable[[str], str] = str) -> str:
    """Any JSON value as one readable line; `word` says "yes", "no" and "none"."""
    match value:
        case None:
            return word("none")
        case bool():
            return word("yes" if value else "no")
        case str():
            return value
        case Mapping():
            return ", ".join(f"{name}: {flat(item, word)}" for name, item in value.items())
        case list() | tuple():
            return ", ".join(flat(item, word) for item in value)
        case _:
            return f"{value}"


def text(value: object) -> str:
    """The text, or an empty one; anything else as one line."""
    return "" if value is None else flat(value)


def flat_rows(
    value: object, name: str = "", word: Callable[[str], str] = str
) -> list[tuple[str, str]]:
    """A nested JSON value as (path, value) rows in its own order; `word` as in `flat`."""
    if isinstance(value, Mapping) and value:
        return [
            row
            for key, item in value.items()
            for row in flat_rows(item, f"{name} · {key}" if name else str(key), word)
        ]
    if isinstance(value, list | tuple) and any(isinstance(item, Mapping | list) for item in value):
        return [
            row
            for place, item in enumerate(value, start=1)
            for row in flat_rows(item, f"{name} {place}" if name else str(place), word)
        ]
    return [(name, flat(value, word))]

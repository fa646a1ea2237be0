"""Reading values out of event bodies without trusting their shape.

A report must come out of any record, also one from another version of the program, so an
absent or odd value is `None` (shown as "not recorded"), never an error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from companion.facts.figures import Quantity
from companion.facts.plain import flat, number


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

"""The one table of units, directions and digit words: how each is said and how it may be heard."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class UnitWords:
    """How a unit is spoken of one and of many; `heard` are all phrases accepted for it.

    No short forms that mean something else in a workshop are accepted ("mil" is also a
    thousandth of an inch).
    """

    singular: str
    plural: str
    heard: tuple[str, ...]


UNITS: Mapping[str, UnitWords] = MappingProxyType(
    {
        "mm": UnitWords(
            "millimetre",
            "millimetres",
            ("millimetre", "millimetres", "millimeter", "millimeters"),
        ),
        "deg": UnitWords("degree", "degrees", ("degree", "degrees")),
        "db": UnitWords("decibel", "decibels", ("decibel", "decibels")),
        "bar": UnitWords("bar", "bar", ("bar",)),
        "volt": UnitWords("volt", "volts", ("volt", "volts")),
        "celsius": UnitWords(
            "degree celsius",
            "degrees celsius",
            ("degree", "degrees", "degree celsius", "degrees celsius"),
        ),
        "mm_per_m": UnitWords(
            "millimetre per metre",
            "millimetres per metre",
            (
                "millimetre per metre",
                "millimetres per metre",
                "millimeter per meter",
                "millimeters per meter",
            ),
        ),
        "turns": UnitWords("turn", "turns", ("turn", "turns")),
    }
)


@dataclass(frozen=True, slots=True)
class DirectionWords:
    """How a direction is said, and what is accepted for it.

    Only single words are accepted: "to the left" would put the sound of "two" beside a number.
    """

    spoken: str
    heard: tuple[str, ...]


DIRECTIONS: Mapping[str, DirectionWords] = MappingProxyType(
    {
        "left": DirectionWords("left", ("left",)),
        "right": DirectionWords("right", ("right",)),
        "up": DirectionWords("up", ("up",)),
        "down": DirectionWords("down", ("down",)),
        "in": DirectionWords("in", ("in", "inward")),
        "out": DirectionWords("out", ("out", "outward")),
        "towards": DirectionWords("towards", ("towards", "toward")),
        "away": DirectionWords("away", ("away",)),
        "clockwise": DirectionWords("clockwise", ("clockwise",)),
        "anticlockwise": DirectionWords("anticlockwise", ("anticlockwise", "counterclockwise")),
    }
)

DIGIT_WORDS: tuple[str, ...] = (
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
)

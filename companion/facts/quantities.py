"""Units and directions by their ids: what a job file may name and every language has words for."""

from __future__ import annotations

UNIT_IDS: tuple[str, ...] = (
    "mm",
    "deg",
    "db",
    "bar",
    "volt",
    "celsius",
    "mm_per_m",
    "turns",
)
"""In the order in which a name is looked through for the unit that it ends with."""

SAID_UNIT_IDS: tuple[str, ...] = ("m", "cm")
"""Units that the companion says but never asks for."""

DIRECTION_IDS: tuple[str, ...] = (
    "left",
    "right",
    "up",
    "down",
    "in",
    "out",
    "towards",
    "away",
    "clockwise",
    "anticlockwise",
)

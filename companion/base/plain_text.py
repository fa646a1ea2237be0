"""Text that somebody else wrote, on its way to a terminal."""

from __future__ import annotations


def printable(text: str) -> str:
    """The text without signs that a terminal would obey, and with plain spaces alone."""
    return "".join(sign if sign.isprintable() else "·" for sign in text.replace("\u00a0", " "))

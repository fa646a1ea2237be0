"""What an attack raises when something happened that must never happen."""

from __future__ import annotations


class Broken(AssertionError):
    """An invariant does not hold."""


def must(condition: object, what: str, *shown: object) -> None:
    """Raise Broken unless the condition holds; stays when assertions are switched off."""
    if not condition:
        raise Broken(f"{what}: {shown}")

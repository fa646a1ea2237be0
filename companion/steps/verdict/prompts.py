"""What is said of several results together."""

from __future__ import annotations

from companion.facts.message import Message

TOO_CLOSE = Message("verdict-too-close")


def sets_disagree(title: str) -> Message:
    """The result whose two sets lie too far apart."""
    return Message("verdict-sets-disagree", {"title": title})

"""What a message says in English, for tests that read the conversation as a person hears it."""

from __future__ import annotations

from companion.facts.message import Told
from companion.words.loader import load_language


def said(told: Told) -> str:
    """The words of a message, or of a sentence of the job file."""
    return told if isinstance(told, str) else load_language().say(told)

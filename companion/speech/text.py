"""Making text safe and fit for a speech maker."""

from __future__ import annotations

import unicodedata

LONGEST_TEXT = 2_000

# Speech makers read these as markup (phonemes in double brackets, tags), not as words.
_MARKUP = frozenset("[]<>{}|\\`")


def speakable(text: str) -> str:
    """`text` with control characters and markup turned into spaces, cut at `LONGEST_TEXT`.

    The result is one line with single spaces; it is empty when nothing can be spoken.
    """
    kept = (
        " " if character in _MARKUP or unicodedata.category(character)[0] == "C" else character
        for character in text
    )
    words = " ".join("".join(kept).split())
    return words[:LONGEST_TEXT] if any(character.isalnum() for character in words) else ""

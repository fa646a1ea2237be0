"""What a person types into a search, as a query of the word index."""

from __future__ import annotations

import re
from typing import Literal

Place = Literal["anywhere", "said", "heard", "noted"]
"""Whose words: the companion's, the technician's, or what was kept."""

_PART = re.compile(r'"([^"]*)"|(\S+)')


def fts_query(typed: str, place: Place = "anywhere") -> str:
    """An FTS5 query: every word must stand in the same event, in any case and order.

    `"words in quotes"` must follow each other; a word ending in `*` may go on. Nothing else has a
    meaning of its own, so that whatever is typed is a query; one of no letters or digits is "".
    """
    parts = []
    for quoted, bare in _PART.findall(typed):
        words = quoted or bare
        if not any(sign.isalnum() for sign in words):
            continue
        stem = words.rstrip("*")
        ending = "*" if not quoted and stem != words else ""
        parts.append('"' + stem.replace('"', '""').replace("\0", " ") + '"' + ending)
    if not parts:
        return ""
    together = " AND ".join(parts)
    return together if place == "anywhere" else f"{{{place}}} : ({together})"

"""The store's last word to a box, kept beside the record for whoever looks after the box."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from companion.record.durable import read_plain, write_whole
from companion.record.place import RIGHTS

LONGEST = 10_000
"""Bytes of what a store says."""


@dataclass(frozen=True)
class LastWord:
    """When something was sent last; `told` is why it did not go, or ""; `refused` by the store."""

    at_utc: str
    told: str
    refused: bool


def state_path(record: Path) -> Path:
    """Where it lies."""
    return record.with_name(record.name + ".store")


def keep(record: Path, word: LastWord) -> None:
    """Keep it in place of the one before; raises `OSError`."""
    state = {"at": word.at_utc, "told": word.told, "refused": word.refused}
    write_whole(state_path(record), (json.dumps(state) + "\n").encode(), RIGHTS)


def last_word(record: Path) -> LastWord | None:
    """The last one; None where nothing was ever sent, or the file is none."""
    try:
        state = json.loads(read_plain(state_path(record), LONGEST) or b"")
        return LastWord(str(state["at"]), str(state["told"]), state["refused"] is True)
    except (OSError, ValueError, KeyError, TypeError):
        return None

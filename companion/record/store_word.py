"""The store's last word to a box, kept beside the record for the person who looks after the box."""

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
    """When something was sent last; `told` is why it did not go, or "". `what`: refused, and why.

    `files_told`: why files that were published to this box were refused, or "". `was_shown`:
    somebody who began a job was told it.
    """

    at_utc: str
    told: str = ""
    what: str = ""
    files_told: str = ""
    was_shown: bool = False

    @property
    def refused(self) -> bool:
        """Whether the store does not take the record, which no further try puts right."""
        return bool(self.what)

    def says_the_same(self, other: LastWord) -> bool:
        """Whether somebody who was told the one need not be told the other."""
        return (bool(self.told), self.what, self.files_told) == (
            bool(other.told),
            other.what,
            other.files_told,
        )


def state_path(record: Path) -> Path:
    """Where it lies."""
    return record.with_name(record.name + ".store")


def keep(record: Path, word: LastWord) -> None:
    """Keep it in place of the one before; raises `OSError`."""
    state = {
        "at": word.at_utc,
        "told": word.told,
        "what": word.what,
        "files_told": word.files_told,
        "was_shown": word.was_shown,
    }
    write_whole(state_path(record), (json.dumps(state) + "\n").encode(), RIGHTS)


def last_word(record: Path) -> LastWord | None:
    """The last one; None where nothing was ever sent, or the file is none."""
    try:
        state = json.loads(read_plain(state_path(record), LONGEST) or b"")
        # Before kinds of reason were kept it was only said that it was refused.
        what = state.get("what", "other" if state.get("refused") is True else "")
        return LastWord(
            str(state["at"]),
            str(state["told"]),
            str(what),
            str(state.get("files_told", "")),
            state.get("was_shown") is True,
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None

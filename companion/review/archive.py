"""A record opened for reviewing: the file itself to read, and its index brought up to date.

Opening brings the index up to date, which is quick unless the index is new. A page or command
opens an archive for each request; an archive belongs to the thread that opened it.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from companion.record import Database, StoredEvent, open_for_reading
from companion.review.index import index_path, open_index, refresh


@dataclass(frozen=True)
class Archive:
    """What the query functions of `listing` and `search` work on."""

    record: Database
    index: sqlite3.Connection

    @property
    def path(self) -> Path:
        """The record file."""
        return self.record.path


@contextlib.contextmanager
def open_archive(record_path: Path) -> Iterator[Archive]:
    """The record with its index; the record may be written meanwhile.

    Where the record's folder may not be written (an archive on a disc), the index is made in
    memory, for this opening alone. Raises `RecordError` when there is no such record, it cannot
    be read, or the file beside it with the index's name is something else.
    """
    with open_for_reading(record_path) as record, contextlib.ExitStack() as closing:
        try:
            index = open_index(index_path(record_path))
        except OSError:
            index = open_index(None)
        closing.callback(index.close)
        refresh(index, record)
        yield Archive(record, index)


def session_events(archive: Archive, session_id: str) -> tuple[StoredEvent, ...]:
    """One session's events in order; raises `RecordError` when the record has no such session."""
    return tuple(archive.record.events(session_id))

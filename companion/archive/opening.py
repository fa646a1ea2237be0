"""A record opened for reviewing: the file itself to read, and its index brought up to date.

Opening brings the index up to date, which is quick unless the index is new. A page or command
opens an archive for each request; an archive belongs to the thread that opened it.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from companion.archive.index import index_path, kept_index, make_anew
from companion.errors import RecordError
from companion.record import Database, StoredEvent, open_for_reading

Answer = TypeVar("Answer")


class IndexWrong(Exception):
    """The index says of a session what the record does not."""


@dataclass(frozen=True)
class Archive:
    """What the query functions of `listing` and `search` work on."""

    record: Database
    index: sqlite3.Connection

    @property
    def path(self) -> Path:
        """The record file."""
        return self.record.path

    def believing(self, asked: Callable[[], Answer]) -> Answer:
        """The answer out of the index; where that proves wrong, out of one made anew."""
        try:
            return asked()
        except IndexWrong:
            make_anew(self.index, self.record)
        try:
            return asked()
        except IndexWrong as error:
            raise RecordError(
                f"{self.path}: its index says otherwise even when it is rebuilt; is it being "
                "changed? Look at the record with 'companion verify'"
            ) from error


@contextlib.contextmanager
def open_archive(record_path: Path) -> Iterator[Archive]:
    """The record with its index; the record may be written meanwhile.

    Where the record's folder may not be written (an archive on a disc) or has no room, the index
    is made in memory, for this opening alone. Raises `RecordError` when there is no such record,
    it cannot be read, or the file beside it with the index's name is something else.
    """
    with (
        open_for_reading(record_path) as record,
        kept_index(index_path(record_path), record) as index,
    ):
        yield Archive(record, index)


def session_events(archive: Archive, session_id: str) -> tuple[StoredEvent, ...]:
    """One session's events in order; raises `RecordError` when the record has no such session."""
    return tuple(archive.record.events(session_id))

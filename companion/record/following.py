"""Following a record from outside while somebody else writes it.

Reads through a read-only connection and holds no transaction between two looks, so that a
follower can neither stop nor slow the writer.
"""

from __future__ import annotations

import contextlib
import os
from dataclasses import dataclass
from pathlib import Path

from companion.errors import RecordError
from companion.record.database import Database, open_for_reading
from companion.record.last_written import last_written_session_id
from companion.record.place import LOCK, beside
from companion.record.port import StoredEvent
from companion.record.rows import event_of_row

_SINCE = "SELECT * FROM event WHERE session_id = ? AND seq > ? ORDER BY seq"


@dataclass(frozen=True)
class News:
    """What has come since the last look. `begins` when it is the beginning of another session."""

    session_id: str
    begins: bool
    events: tuple[StoredEvent, ...]


class Follower:
    """Looks at the job written last in a record file, again and again; owned by one thread."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._database: Database | None = None
        self._file: tuple[int, int, bool] | None = None
        self._version: int | None = None
        self._session_id = ""
        self._seq = 0

    def look(self) -> News | None:
        """What is new; None when nothing is, also while there is no record yet.

        Raises `RecordError` when the file is there and cannot be read as a record.
        """
        database = self._opened()
        if database is None:
            return None
        version = database.read("PRAGMA data_version")[0]["data_version"]
        if version == self._version:
            return None
        news = self._news(database)
        self._version = version
        return news

    def writer_at_work(self) -> bool | None:
        """Whether somebody holds the record open to write; None where that cannot be known.

        Only looks at the list of locks: trying the lock could get in a writer's way.
        """
        try:
            inode = beside(self.path, LOCK).stat().st_ino
        except OSError:
            return False
        try:
            locks = Path("/proc/locks").read_text(encoding="ascii").splitlines()
        except OSError:
            return None
        wanted = f":{inode}"
        return any(
            "FLOCK" in fields and "WRITE" in fields and any(f.endswith(wanted) for f in fields)
            for fields in map(str.split, locks)
        )

    def close(self) -> None:
        """Let go of the file; the next look opens it anew."""
        if self._database is not None:
            self._database.close()
        self._database, self._file, self._version = None, None, None

    def _opened(self) -> Database | None:
        """The open record; opened anew when another file has taken its place."""
        try:
            found = os.stat(self.path)
        except OSError:
            self.close()
            return None
        # Without a write-ahead log the file may have been opened as one that never changes; when
        # the log appears, a writer is at work.
        log_there = beside(self.path, "-wal").exists()
        identity = (found.st_dev, found.st_ino, log_there)
        if identity != self._file:
            self.close()
        if self._database is None:
            if found.st_size == 0:
                return None  # The writer has just made the file and not yet written into it.
            with contextlib.suppress(_NotYet):
                self._database = _open(self.path)
                self._file = identity
        return self._database

    def _news(self, database: Database) -> News | None:
        session_id = last_written_session_id(database)
        if session_id is None:
            return None
        begins = session_id != self._session_id
        since = 0 if begins else self._seq
        rows = database.read(_SINCE, (session_id, since))
        events = tuple(event_of_row(row, self.path) for row in rows)
        if not events:
            return None
        self._session_id, self._seq = session_id, events[-1].seq
        return News(session_id, begins, events)


class _NotYet(Exception):
    """The file is there, its tables are not."""


def _open(path: Path) -> Database:
    database = open_for_reading(path)
    try:
        tables = database.read("SELECT name FROM sqlite_schema WHERE name = 'event'")
    except RecordError:
        database.close()
        raise
    if not tables:
        database.close()
        raise _NotYet
    return database

"""How far a record file is looked through before it is written: in full, or only where it changed.

A full check reads every page, which for a file of gigabytes takes a good part of a minute. So the
writer notes in its lock file how it left the record, and the next program to open that very file,
if it comes soon enough, only looks at what is read first and was written last. There is no note
while a writer is at work, nor after one that was killed; it holds for no file that was changed
since, however that was done.
"""

from __future__ import annotations

import json
import os
import sqlite3
import time
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from companion.errors import RecordError
from companion.record.place import beside
from companion.record.rfc3339 import format_rfc3339, parse_rfc3339

FULL_CHECK_EVERY = timedelta(hours=20)
"""Less than a day, so that what is started each night is checked each night."""

_LAST_SESSION = "SELECT id FROM session ORDER BY rowid DESC LIMIT 1"
_ITS_EVENTS = "SELECT body, hash FROM event WHERE session_id = ? ORDER BY seq"


@dataclass(frozen=True)
class Left:
    """How a writer left the record: when it was last checked in full, and the files as they were.

    `files` holds size in bytes and time of change in nanoseconds of the record and its logs.
    """

    checked: datetime
    files: tuple[tuple[int, int], ...]

    def note(self) -> str:
        """As it is written down."""
        return json.dumps({"checked": format_rfc3339(self.checked), "files": self.files})

    def holds(self, path: Path, now: datetime) -> bool:
        """Whether the files are still as they were and the full check is not long ago."""
        since = now - self.checked
        return timedelta(0) <= since < FULL_CHECK_EVERY and self.files == files_as_they_are(path)


def left_as(path: Path, checked: datetime) -> Left | None:
    """How the record is being left; None where that cannot be marked, so that nothing is claimed.

    The files get a time of change of their own: the file system counts in ticks of some
    milliseconds, so that a change right after the closing might else not show.
    """
    now_ns = time.time_ns()
    try:
        for file in _files(path):
            os.utime(file, ns=(now_ns, now_ns))
    except OSError:
        return None
    return Left(checked, files_as_they_are(path))


def read_note(text: str) -> Left | None:
    """What a note says; None for any other text, as a writer at work leaves it."""
    try:
        told: Any = json.loads(text)
        files = tuple((int(size), int(changed)) for size, changed in told["files"])
        return Left(parse_rfc3339(told["checked"]), files)
    except (ValueError, TypeError, KeyError, RecordError):
        return None


def files_as_they_are(path: Path) -> tuple[tuple[int, int], ...]:
    """Size and time of change of the record and, where there are any, of its logs."""
    found = [file.stat() for file in _files(path)]
    return tuple((status.st_size, status.st_mtime_ns) for status in found)


def _files(path: Path) -> list[Path]:
    """The files that hold something: a reader may make the log, too, but leaves it empty."""
    found = (path, beside(path, "-wal"), journal_path(path))
    return [file for file in found if file.exists() and file.stat().st_size]


def journal_path(path: Path) -> Path:
    """Where SQLite would put back an older state of the file from, before anybody writes it."""
    return beside(path, "-journal")


def damage(connection: sqlite3.Connection, most: int = 1, *, thorough: bool = False) -> list[str]:
    """What SQLite finds wrong with the file as a whole; reads every page.

    `thorough` holds the indexes against their tables too.
    """
    check = "integrity_check" if thorough else "quick_check"
    told = [row[0] for row in connection.execute(f"PRAGMA {check}({most:d})")]
    said = [line.decode("utf-8", "replace") if isinstance(line, bytes) else line for line in told]
    return [line for line in said if line != "ok"]


def require_whole(connection: sqlite3.Connection) -> None:
    """Raise `sqlite3.DatabaseError` where any page of the file is damaged."""
    if found := damage(connection):
        raise sqlite3.DatabaseError(f"malformed: {found[0]}")


def require_ends_whole(path: Path, connection: sqlite3.Connection) -> None:
    """The same for what a job begins with: the file's length, its first pages, its last session."""
    pages = connection.execute("PRAGMA page_count").fetchone()[0]
    page_bytes = connection.execute("PRAGMA page_size").fetchone()[0]
    # With a log the last pages may stand there.
    if _files(path) == [path] and path.stat().st_size != pages * page_bytes:
        raise sqlite3.DatabaseError("malformed: the file is not as long as its header says")
    for (session_id,) in connection.execute(_LAST_SESSION).fetchall():
        for _ in connection.execute(_ITS_EVENTS, (session_id,)):
            pass

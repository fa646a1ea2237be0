"""A damaged database beside the record is made anew in its place, if it is known to be such a one.

It is never unlinked: another program may have it open, and the next one would make another log
under the same name. What is something else is left as it is.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import sqlite3
import threading
import time
from collections.abc import Callable
from pathlib import Path

from companion.record.header import HEADER_BYTES, application_id_in, is_sqlite

_ONE_AT_A_TIME = threading.Lock()
_made = 0


def kind_of(error: sqlite3.Error) -> int:
    """What kind of error it is to SQLite; 0 of Python's own layer, which has no code for it."""
    # The lower byte is the kind; the others say which of its cases.
    return getattr(error, "sqlite_errorcode", 0) & 0xFF


def is_damage(error: sqlite3.Error) -> bool:
    """Whether SQLite says by this that the file is damaged, or does not begin as one of its own."""
    return kind_of(error) in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


def times_made_anew() -> int:
    """How often this program has made any such file anew."""
    return _made


def made_anew(
    path: Path,
    application_id: int,
    fill: Callable[[sqlite3.Connection], None],
    before: int,
    timeout_s: float,
) -> bool:
    """Put what `fill` makes in the place of a damaged file; False where it is something else.

    One whose header is lost is only emptied. Where this program has made one anew since `before`,
    nothing is done: it may be this one. Raises `OSError` and `sqlite3.Error` where it cannot be
    done.
    """
    global _made
    # Nobody else in this program has made it sound, and opened it, while its header is read.
    with _ONE_AT_A_TIME:
        if _made != before:
            return True
        done = _replaced(path, application_id, fill, timeout_s)
        _made += done
        return done


def _replaced(
    path: Path, application_id: int, fill: Callable[[sqlite3.Connection], None], timeout_s: float
) -> bool:
    with contextlib.closing(_connected(path, timeout_s)) as connection:
        try:
            found = connection.execute("PRAGMA application_id").fetchone()[0]
        except sqlite3.DatabaseError as error:
            if not is_damage(error):
                raise
        else:
            if found == application_id:
                _filled(connection, fill, timeout_s)
            return bool(found == application_id)
        return _cut_to_nothing(path, application_id)


def _connected(path: Path, timeout_s: float) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=timeout_s, isolation_level=None)
    # Else a file that is shorter than its header says would not be opened at all.
    connection.execute("PRAGMA writable_schema = ON")
    return connection


def _filled(
    connection: sqlite3.Connection, fill: Callable[[sqlite3.Connection], None], timeout_s: float
) -> None:
    """Every page anew, under SQLite's own locks."""
    until_s = time.monotonic() + timeout_s

    def require_time(*_: int) -> None:
        if time.monotonic() > until_s:
            raise TimeoutError("another program keeps it busy")

    with contextlib.closing(sqlite3.connect(":memory:", isolation_level=None)) as made:
        fill(made)
        made.backup(connection, progress=require_time, sleep=0.01)


def _cut_to_nothing(path: Path, application_id: int) -> bool:
    """An empty file is one that SQLite makes anew, and it drops the log that lies beside it.

    To close a file lets go of all locks that this program has on it; SQLite cannot open this one,
    so it has none. The lock here keeps out others that do the same: they look again after it.
    """
    descriptor = os.open(path, os.O_RDWR | os.O_NOFOLLOW | os.O_CLOEXEC)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX)
        header = os.pread(descriptor, HEADER_BYTES, 0)
        ours = application_id_in(header) == application_id
        if header and not ours and any(header):
            return False
        if not is_sqlite(header):
            os.ftruncate(descriptor, 0)
        return True
    finally:
        os.close(descriptor)

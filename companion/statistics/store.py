"""Summaries kept in a side file, so that statistics need not read every event again.

Like the word index it holds nothing that the record does not hold and may be deleted: each
summary belongs to a session's head hash and is made anew when that is another one.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from companion.archive.opening import Archive
from companion.errors import RecordError
from companion.record.rows import event_of_row
from companion.statistics.summary import KINDS, Summary, summary

APPLICATION_ID = 0x42435354
FORMAT = 3
SESSIONS_A_COMMIT = 200

_SCHEMA = (
    "CREATE TABLE session (number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, head TEXT NOT NULL,"
    " opened_utc TEXT NOT NULL, technician TEXT NOT NULL, bay TEXT NOT NULL,"
    " vehicle TEXT NOT NULL) STRICT",
    "CREATE TABLE measure (number INTEGER NOT NULL, name TEXT NOT NULL, value REAL NOT NULL,"
    " PRIMARY KEY (name, number)) STRICT, WITHOUT ROWID",
    "CREATE TABLE stage (number INTEGER NOT NULL, title TEXT NOT NULL, seconds REAL NOT NULL,"
    " PRIMARY KEY (number, title)) STRICT, WITHOUT ROWID",
    "CREATE TABLE heard (number INTEGER NOT NULL, noise INTEGER NOT NULL, outcome TEXT NOT NULL,"
    " times INTEGER NOT NULL, PRIMARY KEY (number, noise, outcome)) STRICT, WITHOUT ROWID",
    "CREATE INDEX session_by_bay ON session (bay, opened_utc)",
    f"PRAGMA application_id = {APPLICATION_ID}",
    f"PRAGMA user_version = {FORMAT}",
)


def summaries_path(record_path: Path) -> Path:
    """Where the summaries of a record lie: beside it."""
    return record_path.with_name(record_path.name + ".statistics")


@contextlib.contextmanager
def open_summaries(archive: Archive) -> Iterator[sqlite3.Connection]:
    """The summaries of every session, brought up to date.

    In a folder that may not be written they are made in memory, for this opening alone. Raises
    `RecordError` when the file with their name is something else: it is never overwritten.
    """
    path: Path | None = summaries_path(archive.path)
    try:
        os.close(os.open(str(path), os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600))
    except OSError:
        path = None
    try:
        store = sqlite3.connect(path or ":memory:", isolation_level=None, timeout=20)
        with contextlib.closing(store):
            prepared(store)
            refresh_summaries(store, archive)
            yield store
    except sqlite3.Error as error:
        raise RecordError(
            f"{path}: cannot be used for the statistics of the record ({error}); it holds nothing "
            "that is not in the record: delete it, and it is rebuilt"
        ) from error


def prepared(store: sqlite3.Connection) -> None:
    """Make an empty store ready; one of this format is left as it is."""
    store.execute("PRAGMA journal_mode = WAL")
    store.execute("PRAGMA synchronous = OFF")
    tables = store.execute("SELECT COUNT(*) FROM sqlite_schema").fetchone()[0]
    application = store.execute("PRAGMA application_id").fetchone()[0]
    if tables and application != APPLICATION_ID:
        raise sqlite3.DatabaseError("it is a database of another program")
    if tables and store.execute("PRAGMA user_version").fetchone()[0] == FORMAT:
        return
    with _writing(store):
        for name in ("session", "measure", "stage", "heard"):
            store.execute(f"DROP TABLE IF EXISTS {name}")
        for statement in _SCHEMA:
            store.execute(statement)


@contextlib.contextmanager
def _writing(store: sqlite3.Connection) -> Iterator[None]:
    store.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        store.execute("ROLLBACK")
        raise
    store.execute("COMMIT")


def refresh_summaries(store: sqlite3.Connection, archive: Archive) -> int:
    """Summarise the sessions that are new or went on, drop those that are gone; how many."""
    known = dict(store.execute("SELECT id, head FROM session"))
    present: dict[str, tuple[str, ...]] = {
        row[0]: row[1:]
        for row in archive.index.execute(
            "SELECT session_id, head_hash, opened_utc, technician, bay, vehicle FROM digest"
        )
    }
    gone = [session_id for session_id in known if session_id not in present]
    behind = [name for name, told in present.items() if known.get(name) != told[0]]
    if gone:
        with _writing(store):
            for session_id in gone:
                _forget(store, session_id)
    for start in range(0, len(behind), SESSIONS_A_COMMIT):
        with _writing(store):
            for session_id in behind[start : start + SESSIONS_A_COMMIT]:
                _forget(store, session_id)
                _keep(store, session_id, present[session_id], _summary_of(archive, session_id))
    return len(behind)


def _summary_of(archive: Archive, session_id: str) -> Summary:
    marks = ", ".join("?" * len(KINDS))
    rows = archive.record.read_what_can_be_read(
        f"SELECT * FROM event WHERE session_id = ? AND kind IN ({marks}) ORDER BY seq",  # noqa: S608
        (session_id, *KINDS),
    )
    events = []
    for row in rows:
        # What cannot be read adds nothing; the list says how many such events a session has.
        with contextlib.suppress(RecordError):
            events.append(event_of_row(row, archive.path))
    return summary(events)


def _forget(store: sqlite3.Connection, session_id: str) -> None:
    row = store.execute("SELECT number FROM session WHERE id = ?", (session_id,)).fetchone()
    if row is not None:
        for table in ("session", "measure", "stage", "heard"):
            store.execute(f"DELETE FROM {table} WHERE number = ?", row)  # noqa: S608


def _keep(store: sqlite3.Connection, session_id: str, told: tuple[str, ...], kept: Summary) -> None:
    number = store.execute(
        "INSERT INTO session (id, head, opened_utc, technician, bay, vehicle) "
        "VALUES (?, ?, ?, ?, ?, ?)",
        (session_id, *told),
    ).lastrowid
    store.executemany(
        "INSERT INTO measure VALUES (?, ?, ?)",
        [(number, name, value) for name, value in kept.measures.items()],
    )
    store.executemany(
        "INSERT INTO stage VALUES (?, ?, ?)",
        [(number, title, spent_s) for title, spent_s in kept.stages.items()],
    )
    store.executemany(
        "INSERT INTO heard VALUES (?, ?, ?, ?)",
        [(number, noise, outcome, times) for (noise, outcome), times in kept.heard.items()],
    )

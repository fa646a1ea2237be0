"""Summaries kept in a side file, so that statistics need not read every event again.

Like the word index it holds nothing that the record does not hold and may be deleted: each
summary belongs to a session's head hash and is made anew when that is another one. Which sessions
there are, in which order, and their heads come from the record, not from the index.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path

from companion.archive.index import writing
from companion.errors import RecordError
from companion.facts.opening import Opened
from companion.facts.workings import Computed
from companion.record import Database, StoredEvent
from companion.record.database import OFFICE
from companion.record.lock import require_own_files_beside
from companion.record.rows import event_of_row
from companion.statistics.summary import KINDS, MEASURES, Summary, summary

APPLICATION_ID = 0x42435354
FORMAT = 5
SESSIONS_A_COMMIT = 200
Charted = tuple[str, dict[str, float]]
"""The bay of a session, and its measures."""

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
    "CREATE INDEX session_by_bay ON session (bay, number)",
    f"PRAGMA application_id = {APPLICATION_ID}",
    f"PRAGMA user_version = {FORMAT}",
)
_OBJECTS = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY type, name"
_HEADS = """
    SELECT session.id, session.rowid AS number, session.opened_utc, last.hash AS head
    FROM session LEFT JOIN event AS last ON last.session_id = session.id
      AND last.seq = (SELECT MAX(seq) FROM event WHERE session_id = session.id)
    WHERE session.id <> ?
"""


def summaries_path(record_path: Path) -> Path:
    """Where the summaries of a record lie: beside it."""
    return record_path.with_name(record_path.name + ".statistics")


@contextlib.contextmanager
def store_at(path: Path | None) -> Iterator[sqlite3.Connection]:
    """The store in that file, ready but not brought up to date; None keeps it in memory.

    Raises `RecordError` when the file is something else: it is never overwritten.
    """
    try:
        if path is not None:
            require_own_files_beside(path)
        store = sqlite3.connect(path or ":memory:", isolation_level=None, timeout=20)
        with contextlib.closing(store):
            prepared(store)
            yield store
    except sqlite3.Error as error:
        raise RecordError(
            f"{path}: cannot be used for the statistics of the record ({error}); it holds nothing "
            "that is not in the record: delete it, and it is rebuilt"
        ) from error


def writable(path: Path) -> Path | None:
    """That path, made where there is nothing; None in a folder that may not be written."""
    try:
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW, 0o600))
    except OSError:
        return None
    return path


def prepared(store: sqlite3.Connection) -> None:
    """Make an empty store ready; one of this format is left as it is.

    One with another table, trigger or text in it than are made here is made anew.
    """
    store.execute("PRAGMA journal_mode = WAL")
    store.execute("PRAGMA synchronous = OFF")
    tables = store.execute("SELECT COUNT(*) FROM sqlite_schema").fetchone()[0]
    application = store.execute("PRAGMA application_id").fetchone()[0]
    if tables and application != APPLICATION_ID:
        raise sqlite3.DatabaseError("it is a database of another program")
    if (
        store.execute("PRAGMA user_version").fetchone()[0] != FORMAT
        or store.execute(_OBJECTS).fetchall() != _expected_objects()
    ):
        start_afresh(store)


def start_afresh(store: sqlite3.Connection) -> None:
    """Forget everything, also what is not ours."""
    found = (
        "SELECT type, name FROM sqlite_schema "
        "WHERE type IN ('trigger', 'view', 'table') AND substr(name, 1, 7) <> 'sqlite_' "
        "ORDER BY type = 'table'"
    )
    with writing(store):
        for kind, name in store.execute(found).fetchall():
            quoted = '"' + name.replace('"', '""') + '"'
            store.execute(f"DROP {kind} IF EXISTS {quoted}")
        for statement in _SCHEMA:
            store.execute(statement)


@cache
def _expected_objects() -> list[tuple[str, ...]]:
    with contextlib.closing(sqlite3.connect(":memory:")) as made:
        for statement in _SCHEMA:
            made.execute(statement)
        return made.execute(_OBJECTS).fetchall()


def refresh_summaries(store: sqlite3.Connection, record: Database) -> int:
    """Summarise the sessions that are new or went on, drop those that are gone; how many."""
    rows = store.execute("SELECT id, number, opened_utc, head FROM session")
    known = {row[0]: row[1:] for row in rows}
    present: dict[str, tuple[int, str, str]] = {
        row["id"]: (row["number"], str(row["opened_utc"]), str(row["head"] or ""))
        for row in record.read_what_can_be_read(_HEADS, (OFFICE,))
    }
    gone = [session_id for session_id in known if session_id not in present]
    behind = [name for name, told in present.items() if known.get(name) != told]
    # All that go first: a number may have been another session's in a record put back.
    with writing(store):
        for session_id in (*gone, *behind):
            _forget(store, session_id)
    for start in range(0, len(behind), SESSIONS_A_COMMIT):
        with writing(store):
            for session_id in behind[start : start + SESSIONS_A_COMMIT]:
                _keep(store, session_id, present[session_id], summary_of(record, session_id))
    return len(behind)


def summary_of(record: Database, session_id: str) -> Summary:
    """A session's summary out of the record."""
    return summary(_events(record, session_id, KINDS))


def charted_of(record: Database, session_id: str) -> Charted:
    """What charts show of a session, out of the record; quicker than all of its summary."""
    told = summary(_events(record, session_id, (Opened.KIND, Computed.KIND), MEASURES))
    return told.bay, told.measures


def kept_charted(store: sqlite3.Connection, session_id: str) -> Charted:
    """What charts show of a session, as the store has it."""
    kept = kept_summary(store, session_id)
    return kept.bay, kept.measures


def kept_summary(store: sqlite3.Connection, session_id: str) -> Summary:
    """What the store has of a session."""
    number, technician, bay, vehicle = store.execute(
        "SELECT number, technician, bay, vehicle FROM session WHERE id = ?", (session_id,)
    ).fetchone()
    stages = store.execute("SELECT title, seconds FROM stage WHERE number = ?", (number,))
    heard = store.execute("SELECT noise, outcome, times FROM heard WHERE number = ?", (number,))
    measures = store.execute("SELECT name, value FROM measure WHERE number = ?", (number,))
    return Summary(
        dict(measures),
        dict(stages),
        {(noise, outcome): times for noise, outcome, times in heard},
        technician,
        bay,
        vehicle,
    )


def _events(
    record: Database, session_id: str, kinds: Sequence[str], naming: Sequence[str] = ()
) -> list[StoredEvent]:
    """The events of these kinds; `naming`: of the computed ones, those with one of these words."""
    marks = ", ".join("?" * len(kinds))
    named = " OR ".join(["kind <> ?", *["instr(body, ?) > 0"] * len(naming)]) if naming else "1"
    rows = record.read_what_can_be_read(
        f"SELECT * FROM event WHERE session_id = ? AND kind IN ({marks}) AND ({named}) "  # noqa: S608
        "ORDER BY seq",
        (session_id, *kinds, *((Computed.KIND, *naming) if naming else ())),
    )
    events = []
    for row in rows:
        # What cannot be read adds nothing; the list says how many such events a session has.
        with contextlib.suppress(RecordError):
            events.append(event_of_row(row, record.path))
    return events


def _forget(store: sqlite3.Connection, session_id: str) -> None:
    row = store.execute("SELECT number FROM session WHERE id = ?", (session_id,)).fetchone()
    if row is not None:
        for table in ("session", "measure", "stage", "heard"):
            store.execute(f"DELETE FROM {table} WHERE number = ?", row)  # noqa: S608


def _keep(
    store: sqlite3.Connection, session_id: str, told: tuple[int, str, str], kept: Summary
) -> None:
    number, opened_utc, head = told
    for table in ("measure", "stage", "heard"):
        # Figures of no session of ours: somebody put them there.
        store.execute(f"DELETE FROM {table} WHERE number = ?", (number,))  # noqa: S608
    store.execute(
        "INSERT INTO session VALUES (?, ?, ?, ?, ?, ?, ?)",
        (number, session_id, head, opened_utc, kept.technician, kept.bay, kept.vehicle),
    )
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

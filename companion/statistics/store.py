"""Summaries kept in a side file, so that statistics need not read every event again.

Like the word index it holds nothing that the record does not hold and may be deleted: each
summary belongs to a session's head hash and is made anew when that is another one. Which sessions
there are, in which order, and their heads come from the record, not from the index.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Sequence
from pathlib import Path

from companion.archive.side_file import SideFile, writing
from companion.errors import RecordError
from companion.facts.opening import Opened
from companion.facts.workings import Computed
from companion.record import Database, StoredEvent
from companion.record.database import OFFICE
from companion.record.place import STATISTICS, beside
from companion.record.rows import event_of_row
from companion.statistics.summary import KINDS, MEASURES, Summary, summary

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
)
SUMMARIES = SideFile("the statistics of the record", 0x42435354, 5, _SCHEMA)
_HEADS = """
    SELECT session.id, session.rowid AS number, session.opened_utc, last.hash AS head
    FROM session LEFT JOIN event AS last ON last.session_id = session.id
      AND last.seq = (SELECT MAX(seq) FROM event WHERE session_id = session.id)
    WHERE session.id <> ?
"""


def summaries_path(record_path: Path) -> Path:
    """Where the summaries of a record lie: beside it."""
    return beside(record_path, STATISTICS)


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
    if gone:
        with writing(store):
            for session_id in gone:
                _forget(store, session_id)
    for start in range(0, len(behind), SESSIONS_A_COMMIT):
        # What is kept anew is never missing for another page that reads now.
        with writing(store):
            for session_id in behind[start : start + SESSIONS_A_COMMIT]:
                _forget(store, session_id)
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
    # Another page may have kept it meanwhile; and in a record that was put back its number may be
    # another session's, whose turn comes.
    store.execute(
        "INSERT OR REPLACE INTO session VALUES (?, ?, ?, ?, ?, ?, ?)",
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

"""Figures that are kept beside the record, held against it before anything is shown of them.

They are a file of its own, which anybody who may write beside the record can change. So at each
opening the sessions that the charts show are read from the record again, and of all others some
that are drawn by chance; where one is kept otherwise, all are made anew. The whole is compared when
the record is verified.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from secrets import SystemRandom

from companion.archive.opening import Archive
from companion.record import Database, open_for_reading
from companion.statistics.steadiness import MOST_SESSIONS_CHARTED
from companion.statistics.store import (
    SUMMARIES,
    charted_of,
    kept_charted,
    kept_summary,
    refresh_summaries,
    summaries_path,
    summary_of,
)

DRAWN = 10
"""Sessions that are looked at whole at each opening."""
_CHARTED = """
    SELECT DISTINCT id FROM (
      SELECT id, ROW_NUMBER() OVER (PARTITION BY bay ORDER BY number DESC) AS back FROM session
      UNION ALL
      SELECT id, ROW_NUMBER() OVER (PARTITION BY bay, name ORDER BY number DESC) AS back
      FROM measure JOIN session USING (number)
    ) WHERE back <= ?
"""
_STRAY = """
    SELECT COUNT(*) FROM (
      SELECT number FROM measure UNION SELECT number FROM stage UNION SELECT number FROM heard
    ) WHERE number NOT IN (SELECT number FROM session)
"""


@contextlib.contextmanager
def open_summaries(archive: Archive) -> Iterator[sqlite3.Connection]:
    """The summaries of every session, up to date, and what is charted of them as recorded.

    In a folder that may not be written they are made in memory, for this opening alone. Raises
    `RecordError` when the file with their name is something else: it is never overwritten.
    """
    with SUMMARIES.kept(
        summaries_path(archive.path), lambda store: _refresh(store, archive.record)
    ) as store:
        yield store


def _refresh(store: sqlite3.Connection, record: Database) -> None:
    refresh_summaries(store, record)
    if _first_wrong(store, record) is not None:
        _make_anew(store, record)


def _make_anew(store: sqlite3.Connection, record: Database) -> None:
    SUMMARIES.make_anew(store, lambda each: refresh_summaries(each, record))


def _first_wrong(store: sqlite3.Connection, record: Database) -> str | None:
    """A session that is kept otherwise than recorded, of those that are looked at."""
    if store.execute(_STRAY).fetchone()[0]:
        return "of no job"
    every: list[str] = [row[0] for row in store.execute("SELECT id FROM session")]
    for session_id in SystemRandom().sample(every, min(DRAWN, len(every))):
        if kept_summary(store, session_id) != summary_of(record, session_id):
            return session_id
    charted: list[str] = [row[0] for row in store.execute(_CHARTED, (MOST_SESSIONS_CHARTED,))]
    for session_id in charted:
        if kept_charted(store, session_id) != charted_of(record, session_id):
            return session_id
    return None


def figures_problems(record_path: Path) -> list[str]:
    """What the figures beside a record say otherwise than it; nothing where there are none.

    Those that do, or are damaged, are made anew. Reads the whole record. Raises `RecordError` when
    that cannot be done.
    """
    path = summaries_path(record_path)
    if os.path.islink(path):
        return ["the figures beside the record are a link to another place"]
    if not os.path.isfile(path):
        return []
    with open_for_reading(record_path) as record:
        return SUMMARIES.mending(path, lambda: _compared(path, record))


def _compared(path: Path, record: Database) -> list[str]:
    with (
        contextlib.closing(SUMMARIES.open(path)) as store,
        SUMMARIES.speaking_plainly(path),
    ):
        refresh_summaries(store, record)
        stray = store.execute(_STRAY).fetchone()[0]
        wrong = [
            session_id
            for (session_id,) in store.execute("SELECT id FROM session ORDER BY number").fetchall()
            if kept_summary(store, session_id) != summary_of(record, session_id)
        ]
        if not wrong and not stray:
            return []
        _make_anew(store, record)
    told = f"of session {wrong[0]}" if wrong else "of a session that is not there"
    return [f"the figures beside the record say otherwise than it {told}"]

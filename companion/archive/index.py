"""A side file that makes a record quick to list and search.

It holds nothing that the record does not hold, may be deleted at any time, and is brought up to
date from the record before each use. The record stays append-only and holds nothing twice; the
index keeps no text either, only which words stand in which event.

An event's place in the word index is `number << SEQ_BITS | seq`, `number` being the session's
row in `digest`: later sessions have higher places, and one session's events lie together.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from dataclasses import astuple, fields
from itertools import islice
from pathlib import Path
from typing import Any

from companion.archive.changes import fingerprint
from companion.archive.digest import Digest, digested, digested_unread, language_by, told_by
from companion.archive.side_file import SideFile, writing
from companion.errors import RecordError
from companion.record import Database, place
from companion.record.database import OFFICE
from companion.record.rows import event_of_row

SEQ_BITS = 24
TOKENS = "unicode61 remove_diacritics 2"
SESSIONS_A_COMMIT = 400

_DIGEST_COLUMNS = tuple(field.name for field in fields(Digest))
CHOSEN_BY = ("vehicle", "bay", "technician", "result")
_BOOLEANS = ("is_example", "is_rehearsal", "clock_trusted")
_NUMBERS = (
    "event_count",
    "readings",
    "refusals",
    "notes",
    "corrections",
    "signatures",
    "unreadable",
    "doubts",
    "taken_back",
    "odd_moves",
    "resumed",
)

_SCHEMA = (
    "CREATE TABLE digest (number INTEGER PRIMARY KEY, "
    + ", ".join(
        f"{name} {'INTEGER' if name in (*_BOOLEANS, *_NUMBERS) else 'TEXT'} NOT NULL"
        for name in _DIGEST_COLUMNS
    )
    + ") STRICT",
    "CREATE UNIQUE INDEX digest_by_id ON digest (session_id)",
    "CREATE INDEX digest_by_time ON digest (opened_utc)",
    # What the lists offer to choose from is read from these alone.
    *(f"CREATE INDEX digest_by_{column} ON digest ({column})" for column in (*CHOSEN_BY, "visit")),
    # Nothing is ranked, so the sizes of the columns need not be kept; nor the text itself.
    "CREATE VIRTUAL TABLE words USING fts5"
    f"(said, heard, noted, content='', columnsize=0, tokenize='{TOKENS}')",
    # What the record's fingerprint was when nothing was missing here.
    "CREATE TABLE seen (fingerprint TEXT NOT NULL) STRICT",
)
INDEX = SideFile("the index of the record", 0x42434958, 8, _SCHEMA)
_HEADS = """
    SELECT session.id, session.opened_utc, last.seq, last.hash
    FROM session LEFT JOIN event AS last ON last.session_id = session.id
      AND last.seq = (SELECT MAX(seq) FROM event WHERE session_id = session.id)
    WHERE session.id <> ? ORDER BY session.rowid
"""


class NoLongerTheSame(Exception):
    """The record is not a continuation of what was indexed."""


def index_path(record_path: Path) -> Path:
    """Where the index of a record lies: beside it."""
    return place.beside(record_path, place.INDEX)


def open_index(path: Path | None) -> sqlite3.Connection:
    """The index at that path, made where there is none; raises as `SideFile.open` does."""
    return _with_functions(INDEX.open(path))


@contextlib.contextmanager
def kept_index(path: Path, record: Database) -> Iterator[sqlite3.Connection]:
    """The index at that path, up to date; made in memory where it cannot be kept there."""
    with INDEX.kept(path, lambda index: refresh(index, record)) as index:
        yield _with_functions(index)


def _with_functions(index: sqlite3.Connection) -> sqlite3.Connection:
    index.create_function("casefolded", 1, str.casefold, deterministic=True)
    return index


def make_anew(index: sqlite3.Connection, record: Database) -> None:
    """Forget all that the index says and take it from the record."""
    with INDEX.speaking_plainly(index_path(record.path)):
        INDEX.make_anew(index, lambda each: refresh(each, record))


def refresh(index: sqlite3.Connection, record: Database) -> int:
    """Take in what the record holds and the index does not; the number of events taken in.

    Safe while the record is written and while another process refreshes the same index. Where
    the record is not a continuation of what was indexed (another file, an older one restored),
    the index is made anew.
    """
    with INDEX.speaking_plainly(index_path(record.path)):
        now = fingerprint(record)
        seen = index.execute("SELECT fingerprint FROM seen").fetchone() == (now,)
        if now and seen and _holds_as_many(index, record):
            return 0
        taken = _take_in_all(index, record)
        with writing(index):
            index.execute("DELETE FROM seen")
            index.execute("INSERT INTO seen VALUES (?)", (now,))
        return taken


def _holds_as_many(index: sqlite3.Connection, record: Database) -> bool:
    """Whether no session is missing that was there when the index was last brought up to date."""
    (indexed,) = index.execute("SELECT COUNT(*) FROM digest").fetchone()
    there = record.read("SELECT COUNT(*) AS n FROM session WHERE id <> ?", (OFFICE,))
    return bool(indexed == there[0]["n"])


def _take_in_all(index: sqlite3.Connection, record: Database) -> int:
    taken = 0
    wanted: dict[str, int] = {}
    while True:
        heads = _continued(index, record)
        if heads is None:
            _start_afresh_unless_continued(index, record)
            continue
        # What is appended from here on is left to the next refresh, or this one had no end.
        wanted = wanted or {session_id: seq for session_id, (_, seq) in heads.items()}
        behind = [one for one in _behind(index, wanted) if one in heads]
        if not behind:
            return taken
        try:
            with writing(index):
                for session_id in behind[:SESSIONS_A_COMMIT]:
                    taken += _take_in(index, record, session_id, heads[session_id][0])
        except NoLongerTheSame:
            with writing(index):
                INDEX.start_afresh(index)


def _known(index: sqlite3.Connection) -> dict[str, tuple[int, str]]:
    rows = index.execute("SELECT session_id, event_count, head_hash FROM digest")
    return {session_id: (count, head) for session_id, count, head in rows}


def _continued(index: sqlite3.Connection, record: Database) -> dict[str, tuple[str, int]] | None:
    """Opening and event count of each session, in order; None where the index knows of others.

    The index is read before the record: another process may be ahead of what was read here.
    """
    known = _known(index)
    rows = {row["id"]: row for row in record.read_what_can_be_read(_HEADS, (OFFICE,))}
    # What is missing can only be what came last: numbers go up in the record's order.
    if not known.keys() >= set(islice(rows, len(known))):
        return None
    for session_id, (count, head) in known.items():
        row = rows.get(session_id)
        now = -1 if row is None else row["seq"] or 0
        if count > now or (row is not None and 0 < count == now and head != row["hash"]):
            return None
    return {session_id: (row["opened_utc"], row["seq"] or 0) for session_id, row in rows.items()}


def _start_afresh_unless_continued(index: sqlite3.Connection, record: Database) -> None:
    with writing(index):
        if _continued(index, record) is None:
            INDEX.start_afresh(index)


def _behind(index: sqlite3.Connection, wanted: dict[str, int]) -> list[str]:
    """The sessions of which the index lacks something, in the record's order."""
    known = _known(index)
    return [sid for sid, count in wanted.items() if known.get(sid, (-1, ""))[0] < count]


def _take_in(index: sqlite3.Connection, record: Database, session_id: str, opened_utc: str) -> int:
    number, digest = _stored(index, session_id) or (None, Digest(session_id, opened_utc))
    if number is None:
        number = index.execute("SELECT COALESCE(MAX(number), 0) + 1 FROM digest").fetchone()[0]
    rows = record.read_what_can_be_read(
        "SELECT * FROM event WHERE session_id = ? AND seq > ? ORDER BY seq",
        (session_id, digest.event_count),
    )
    # Only what follows on what was indexed: a chain that is broken inside of the record stays so.
    if rows and digest.event_count and rows[0]["previous_hash"] != digest.head_hash:
        raise NoLongerTheSame
    words = []
    language = language_of(record, session_id)
    for row in rows:
        try:
            event = event_of_row(row, record.path)
        except RecordError:
            digest = digested_unread(digest, row["seq"], row["hash"])
            continue
        digest = digested(digest, event)
        told = told_by(event, language)
        if told is not None:
            words.append((number << SEQ_BITS | event.seq, told.said, told.heard, told.noted))
    marks = ", ".join("?" * (1 + len(_DIGEST_COLUMNS)))
    index.execute(f"INSERT OR REPLACE INTO digest VALUES ({marks})", (number, *astuple(digest)))  # noqa: S608
    index.executemany("INSERT INTO words (rowid, said, heard, noted) VALUES (?, ?, ?, ?)", words)
    return len(rows)


def language_of(record: Database, session_id: str) -> str:
    """The language that the session is held in; "" where its opening cannot be read."""
    rows = record.read_what_can_be_read(
        "SELECT * FROM event WHERE session_id = ? AND seq = 1", (session_id,)
    )
    try:
        return next((language_by(event_of_row(row, record.path)) for row in rows), "")
    except RecordError:
        return ""


def _stored(index: sqlite3.Connection, session_id: str) -> tuple[int, Digest] | None:
    row = index.execute("SELECT * FROM digest WHERE session_id = ?", (session_id,)).fetchone()
    return None if row is None else (row[0], digest_of_row(row[1:]))


def digest_of_row(row: tuple[Any, ...]) -> Digest:
    """The digest of a row of the index, its columns in order, without the number."""
    values: dict[str, Any] = dict(zip(_DIGEST_COLUMNS, row, strict=True))
    values |= {name: bool(values[name]) for name in _BOOLEANS}
    return Digest(**values)

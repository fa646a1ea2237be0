"""Whether the index says what the record says.

It is a file of its own, which anybody who may write beside the record can change. So what is shown
from it is folded from the record again, job by job; and the whole of it is compared with one made
anew when the record is verified.
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path

from companion.archive.digest import DIGESTED, Digest, digested, digested_unread
from companion.archive.index import INDEX, index_path, make_anew, open_index, refresh
from companion.errors import RecordError
from companion.facts.ending import WORKED_ON, Stopped
from companion.record import Database, open_for_reading
from companion.record.rows import event_of_row

_SEEN = "SELECT * FROM digest ORDER BY number"
_WORDS = "SELECT term, doc, col, offset FROM vocabulary"


def is_as_recorded(digest: Digest, record: Database) -> bool:
    """Whether the record's events, as far as the digest goes, make this digest.

    How many events cannot be read is left to the whole comparison: it takes reading them all.
    """
    folded = _folded(digest, record)
    return folded is not None and replace(folded, unreadable=digest.unreadable) == digest


def _folded(digest: Digest, record: Database) -> Digest | None:
    upto = (digest.session_id, digest.event_count)
    opened = record.read("SELECT opened_utc FROM session WHERE id = ?", upto[:1])
    told = record.read(
        "SELECT MIN(clock_trusted) AS trusted, MAX(seq) AS last, MAX(kind = ?) AS stops "
        "FROM event WHERE session_id = ? AND seq <= ?",
        (Stopped.KIND, *upto),
    )[0]
    if not opened or (told["last"] or 0) != digest.event_count:
        return None
    folded = Digest(digest.session_id, opened[0]["opened_utc"])
    kinds = sorted(DIGESTED | WORKED_ON if told["stops"] else DIGESTED)
    # The last event that can be read dates the digest: with damaged ones it may be any.
    which = f"? OR seq = ? OR kind IN ({', '.join('?' * len(kinds))})"
    rows = record.read_what_can_be_read(
        f"SELECT * FROM event WHERE session_id = ? AND seq <= ? AND ({which}) ORDER BY seq",  # noqa: S608
        (*upto, digest.unreadable > 0, digest.event_count, *kinds),
    )
    for row in rows:
        try:
            folded = digested(folded, event_of_row(row, record.path))
        except RecordError:
            folded = digested_unread(folded, row["seq"], row["hash"])
    return replace(folded, clock_trusted=told["trusted"] in (1, None))


def index_problems(record_path: Path) -> list[str]:
    """What the index beside a record says otherwise than the record; nothing where there is none.

    An index that does, or is damaged, is made anew. Reads and folds the whole record. Raises
    `RecordError` when that cannot be done.
    """
    path = index_path(record_path)
    if os.path.islink(path):
        return ["the index beside the record is a link to another place"]
    if not os.path.isfile(path):
        return []
    with open_for_reading(record_path) as record:
        return INDEX.mending(path, lambda: _compared(path, record))


def _compared(path: Path, record: Database) -> list[str]:
    with (
        contextlib.closing(open_index(path)) as kept,
        contextlib.closing(open_index(None)) as made,
        INDEX.speaking_plainly(path),
    ):
        refresh(kept, record)
        refresh(made, record)
        problems = list(_differences(kept, made))
        if problems:
            make_anew(kept, record)
        return problems


def _differences(kept: sqlite3.Connection, made: sqlite3.Connection) -> Iterator[str]:
    for one, other in zip_longest(kept.execute(_SEEN), made.execute(_SEEN)):
        if one != other:
            session_id = (other or one)[1]
            yield f"the index beside the record says otherwise than it of session {session_id}"
            return
    for index in (kept, made):
        index.execute(
            "CREATE VIRTUAL TABLE temp.vocabulary USING fts5vocab('main', 'words', 'instance')"
        )
    for one, other in zip_longest(kept.execute(_WORDS), made.execute(_WORDS)):
        if one != other:
            yield "the index beside the record finds other words than stand in it"
            return

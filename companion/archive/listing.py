"""Which sessions there are: all of them, or those that fit, newest first."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import islice

from companion.archive.digest import Digest
from companion.archive.index import CHOSEN_BY, SEQ_BITS, digest_of_row
from companion.archive.index_check import is_as_recorded
from companion.archive.opening import Archive, IndexWrong
from companion.archive.query import fts_query
from companion.archive.visits import find_visits
from companion.errors import CompanionError, RecordError

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{3}Z", re.ASCII)
ORDERS = {
    "newest": "number DESC",
    "oldest": "number",
    "stood_out": "doubts + taken_back + odd_moves + notes + unreadable DESC, number DESC",
    "not_understood": "refusals DESC, number DESC",
    "technician": "technician, number DESC",
    "vehicle": "vehicle, number DESC",
    "bay": "bay, number DESC",
    "result": "result, number DESC",
}
"""How a list may be sorted, by the order of recording whatever the dates.

What holds words is always the newest first.
"""
LEFT = {
    "": "1",
    "unsigned": "signatures = 0 AND result <> 'broken_off'",
    "signed": "signatures > 0",
    "stood_out": "doubts + taken_back + odd_moves + notes + unreadable > 0",
    "rehearsal": "is_rehearsal = 1",
    "no_rehearsal": "is_rehearsal = 0",
}
"""What a list may be narrowed down to besides names, days and results."""
# Up to so many sessions left by the other filters, each is asked for the words by itself.
FEW_SESSIONS = 500
MOST_JOBS = 50
"""Of one visit; a car has fewer sensors."""


@dataclass(frozen=True)
class Filters:
    """What the sessions have to fit; what is empty does not matter.

    `since` and `until` are days (YYYY-MM-DD, UTC, both included) or moments as the record writes
    them (the later not included). `only` is a key of `LEFT`. `vehicle`, `bay` and
    `technician` are parts of the names, in any case; `result` is whole. `text` is looked for in
    everything heard, said and noted (see `query.fts_query` for what it may hold). `visit` is whole;
    `car` is a part of the order, plate or VIN of the visit's car.
    """

    since: str = ""
    until: str = ""
    vehicle: str = ""
    bay: str = ""
    technician: str = ""
    result: str = ""
    text: str = ""
    only: str = ""
    visit: str = ""
    car: str = ""


@dataclass(frozen=True)
class Page:
    """One page of a list. `total` is None where only the sessions up to here were looked at."""

    sessions: tuple[Digest, ...]
    total: int | None
    has_more: bool


@dataclass(frozen=True)
class Choices:
    """The names and results that occur, for somebody to choose from."""

    vehicles: tuple[str, ...]
    bays: tuple[str, ...]
    technicians: tuple[str, ...]
    results: tuple[str, ...]


def list_sessions(
    archive: Archive,
    filters: Filters | None = None,
    *,
    limit: int = 50,
    offset: int = 0,
    order: str = "newest",
) -> Page:
    """The sessions that fit, in an order of `ORDERS`.

    Raises `CompanionError` for a day that is none.
    """
    wanted = filters or Filters()
    return archive.believing(lambda: _list_sessions(archive, wanted, limit, offset, order))


def _list_sessions(archive: Archive, wanted: Filters, limit: int, offset: int, order: str) -> Page:
    if wanted.text.strip():
        numbers = matching_numbers(archive, wanted, fts_query(wanted.text), limit + 1, offset)
        shown = confirmed(archive, (digest_of_number(archive, n) for n in numbers[:limit]))
        return Page(shown, None, len(numbers) > limit)
    where, values = _conditions(archive, wanted)
    (total,) = archive.index.execute(
        f"SELECT COUNT(*) FROM digest WHERE {where}",  # noqa: S608 - our own words
        values,
    ).fetchone()
    rows = archive.index.execute(
        f"SELECT * FROM digest WHERE {where} "  # noqa: S608
        f"ORDER BY {ORDERS.get(order, ORDERS['newest'])} LIMIT ? OFFSET ?",
        (*values, limit, offset),
    )
    shown = confirmed(archive, [digest_of_row(row[1:]) for row in rows])
    return Page(shown, total, offset + len(shown) < total)


def jobs_of_visit(archive: Archive, visit: str) -> tuple[Digest, ...]:
    """The visit's jobs, in the order of recording."""
    return list_sessions(archive, Filters(visit=visit), limit=MOST_JOBS, order="oldest").sessions


def confirmed(archive: Archive, shown: Iterable[Digest]) -> tuple[Digest, ...]:
    """The digests, each as the record's own events make it.

    Raises `IndexWrong` where one is not: then nothing of the index is to be believed.
    """
    told = tuple(shown)
    for digest in told:
        if not is_as_recorded(digest, archive.record):
            raise IndexWrong
    return told


def digest_of(archive: Archive, session_id: str) -> Digest:
    """What the list shows of one session; raises `RecordError` when there is no such session."""
    return archive.believing(lambda: confirmed(archive, (_digest_of(archive, session_id),)))[0]


def _digest_of(archive: Archive, session_id: str) -> Digest:
    row = archive.index.execute(
        "SELECT * FROM digest WHERE session_id = ?", (session_id,)
    ).fetchone()
    if row is None:
        raise RecordError(
            f"{archive.path}: holds no session {session_id!r}; 'companion review list' shows them",
            said="no-session",
            record=str(archive.path),
            session=session_id,
        )
    return digest_of_row(row[1:])


def choices(archive: Archive) -> Choices:
    """Every vehicle, bay, technician and result that occurs."""
    found = [
        tuple(
            row[0]
            for row in archive.index.execute(
                f"SELECT DISTINCT {column} FROM digest WHERE {column} <> '' ORDER BY {column}"  # noqa: S608
            )
        )
        for column in CHOSEN_BY
    ]
    return Choices(*found)


def matching_numbers(
    archive: Archive, filters: Filters, query: str, limit: int, offset: int = 0
) -> list[int]:
    """Numbers (in the index) of the sessions that fit and hold the words, newest first."""
    if not query:
        return []
    where, values = _conditions(archive, filters)
    fitting = [
        row[0]
        for row in archive.index.execute(
            f"SELECT number FROM digest WHERE {where} ORDER BY number DESC",  # noqa: S608
            values,
        )
    ]
    each = _one_by_one if len(fitting) <= FEW_SESSIONS else _from_match_to_match
    return list(islice(each(archive, query, fitting), offset, offset + limit))


def _one_by_one(archive: Archive, query: str, fitting: list[int]) -> Iterator[int]:
    for number in fitting:
        if _newest_place(archive, query, number << SEQ_BITS, (number + 1) << SEQ_BITS) is not None:
            yield number


def _from_match_to_match(archive: Archive, query: str, fitting: list[int]) -> Iterator[int]:
    """A common word has many places in each session: look for the next below this session's."""
    allowed = set(fitting)
    below = (fitting[0] + 1) << SEQ_BITS
    while (place := _newest_place(archive, query, 0, below)) is not None:
        number = place >> SEQ_BITS
        below = number << SEQ_BITS
        if number in allowed:
            yield number


def _newest_place(archive: Archive, query: str, start: int, end: int) -> int | None:
    row = archive.index.execute(
        "SELECT rowid FROM words WHERE words MATCH ? AND rowid >= ? AND rowid < ? "
        "ORDER BY rowid DESC LIMIT 1",
        (query, start, end),
    ).fetchone()
    return None if row is None else int(row[0])


def digest_of_number(archive: Archive, number: int) -> Digest:
    """What the list shows of the session with that number in the index."""
    row = archive.index.execute("SELECT * FROM digest WHERE number = ?", (number,)).fetchone()
    return digest_of_row(row[1:])


def _conditions(archive: Archive, filters: Filters) -> tuple[str, tuple[str, ...]]:
    parts, values = ["1"], []
    if filters.since:
        parts.append("opened_utc >= ?")
        is_moment = _MOMENT.fullmatch(filters.since) is not None
        values.append(filters.since if is_moment else day_of(filters.since))
    if filters.until:
        # Every moment of that day, and nothing of the next, sorts before "~".
        parts.append("opened_utc < ?")
        is_moment = _MOMENT.fullmatch(filters.until) is not None
        values.append(filters.until if is_moment else day_of(filters.until) + "~")
    for column in ("vehicle", "bay", "technician"):
        value = getattr(filters, column).strip()
        if value:
            parts.append(f"instr(casefolded({column}), casefolded(?)) > 0")
            values.append(value)
    for column in ("result", "visit"):
        if value := getattr(filters, column):
            parts.append(f"{column} = ?")
            values.append(value)
    if filters.car.strip():
        named = [seen.visit.id for seen in find_visits(archive, filters.car)]
        parts.append(f"visit IN ({', '.join('?' * len(named))})")
        values += named
    parts.append(LEFT.get(filters.only, "1"))
    return " AND ".join(parts), tuple(values)


def day_of(text: str) -> str:
    """The day, YYYY-MM-DD; raises `CompanionError` where it is none."""
    try:
        # `fromisoformat` takes days of weeks as well, and dates without their hyphens.
        there_is = _DAY.fullmatch(text) is not None and bool(date.fromisoformat(text))
    except ValueError:
        there_is = False
    if not there_is:
        raise CompanionError(
            f"{text!r} is not a date; wanted: YYYY-MM-DD, such as 2031-05-06",
            said="no-date",
            found=text,
        )
    return text

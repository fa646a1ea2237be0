"""The outside witness: a record held against what the store took from it, and when.

A box can rewrite all that it has, marks and seals too, if somebody has its key. What the store took
before stays as it was; whatever is otherwise in the file is named.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from psycopg import Connection

from companion.facts.message import Message
from companion.record.database import Database, open_for_reading
from companion.record.finding import Finding
from companion.store.connecting import StoreError
from companion.store.outbox import Outbox
from companion.store.redactions import only_names_went

_JOBS = """
    SELECT id, job, last_seq, encode(head, 'hex'), opened_utc, arrived FROM store.job
    WHERE box = %s ORDER BY job
"""
_HASHES = """
    SELECT e.sequence, encode(e.hash, 'hex') FROM store.event e JOIN store.job j USING (job, month)
    WHERE j.job = %s ORDER BY e.sequence
"""
_REDACTED = """
    SELECT DISTINCT j.job, e.sequence, e.body FROM store.erasure r JOIN store.job j USING (job)
    JOIN store.event e ON e.month = j.month AND e.box = j.box AND e.job = j.job
        AND e.sequence = r.sequence
    WHERE j.job = ANY (%s) ORDER BY j.job, e.sequence
"""
_FIRST_MARKS = "SELECT session_id, MIN(number) AS first FROM box_mark GROUP BY session_id"


@dataclass(frozen=True)
class Known:
    """One job as the store has it."""

    session_id: str
    job: int
    last_seq: int
    head: str
    opened_utc: str
    arrived: datetime


@dataclass(frozen=True)
class Witnessed:
    """What the store says of a record, and how far it knows it."""

    findings: tuple[Finding, ...]
    told: tuple[Message, ...] = ()


def witness(path: Path, connection: Connection, box: str | None = None) -> Witnessed:
    """The record held against the store; `box` names it where the login is not the box's own.

    Raises `StoreError` where the store shows this login no such box.
    """
    query = "SELECT box, name, last_mark, last_link, last_taken FROM store.box"
    values: tuple[str, ...] = ()
    if box is not None:
        query, values = f"{query} WHERE name = %s", (box,)
    found = connection.execute(query.encode(), values).fetchall()
    if len(found) != 1:
        raise StoreError(
            f"the store shows this login {len(found)} boxes"
            + (f" of the name {box!r}" if box else "; say which by --box")
        )
    number, name, last_mark, last_link, taken = found[0]
    known = {row[0]: Known(*row) for row in connection.execute(_JOBS, (number,)).fetchall()}
    keys = {
        bytes(key).hex()
        for (key,) in connection.execute(
            "SELECT public_key FROM store.box_key WHERE box = %s", (number,)
        ).fetchall()
    }
    with open_for_reading(path) as record:
        if not record.read("SELECT 1 FROM sqlite_schema WHERE name = 'box_mark'"):
            told = f"no box signed it, and the store took marks of {name} up to {last_mark}"
            return Witnessed((Finding("", 0, "store", told),) if last_mark else ())
    with open_for_reading(path) as record, Outbox(path) as outbox:
        findings = list(_of_jobs(record, connection, known))
        findings += _told_otherwise(record, connection, known)
        findings += _invented(record, known, last_mark)
        findings += _of_marks(outbox, last_mark, bytes(last_link), bool(findings))
        findings += _strangers(record, keys)
        waiting = outbox.waiting(last_mark) if not findings else None
    box_and_mark = {"box": name, "mark": str(last_mark)}
    known_by = [Message("verify-store", box_and_mark)]
    if taken is not None:
        known_by = [
            Message("verify-store-taken", {**box_and_mark, "when": f"{taken:%Y-%m-%d %H:%M}"})
        ]
    if waiting is not None:
        known_by.append(Message("verify-store-waiting", {"count": waiting.events}))
    return Witnessed(tuple(findings), tuple(known_by))


def _of_jobs(
    record: Database, connection: Connection, known: Mapping[str, Known]
) -> Iterator[Finding]:
    there = {row["id"]: row["opened_utc"] for row in record.read("SELECT * FROM session")}
    for session_id, one in known.items():
        since = f"the store, which took it {one.arrived:%Y-%m-%d %H:%M} UTC"
        if session_id not in there:
            told = f"the whole session is missing, known by {since}"
            yield Finding(session_id, 0, "store", told)
            continue
        if there[session_id] != one.opened_utc:
            told = f"it was opened at another time than known by {since}"
            yield Finding(session_id, 0, "store", told)
        session = record.session(session_id)
        if session.event_count < one.last_seq:
            told = (
                f"it ends here, and event {one.last_seq} is known by {since}: its end was dropped"
            )
            yield Finding(session_id, session.event_count, "store", told)
        seq = _first_other(record, connection, session_id, one)
        if seq:
            told = f"it is another one than known by {since}: it was rewritten"
            yield Finding(session_id, seq, "store", told)


def _first_other(record: Database, connection: Connection, session_id: str, one: Known) -> int:
    """The first event that is another one here than in the store; 0 where none is."""
    at_end = record.read(
        "SELECT hash FROM event WHERE session_id = ? AND seq = ?", (session_id, one.last_seq)
    )
    if one.last_seq == 0 or (at_end and at_end[0]["hash"] == one.head):
        return 0
    here = {
        row["seq"]: row["hash"]
        for row in record.read("SELECT seq, hash FROM event WHERE session_id = ?", (session_id,))
    }
    for seq, hashed in connection.execute(_HASHES, (one.job,)).fetchall():
        if seq in here and here[seq] != hashed:
            return int(seq)
    return 0


def _told_otherwise(
    record: Database, connection: Connection, known: Mapping[str, Known]
) -> Iterator[Finding]:
    """Events in which the store had names replaced: whether it tells the rest as the box does."""
    by_number = {one.job: one for one in known.values()}
    for job, seq, told in connection.execute(_REDACTED, (list(by_number),)).fetchall():
        session_id = by_number[job].session_id
        row = record.read(
            "SELECT body FROM event WHERE session_id = ? AND seq = ?", (session_id, seq)
        )
        if row and not only_names_went(row[0]["body"], told):
            what = "the store replaced a name in it, and tells the rest otherwise than this record"
            yield Finding(session_id, seq, "store", what)


def _invented(record: Database, known: Mapping[str, Known], last_mark: int) -> Iterator[Finding]:
    """Jobs that claim a place before the store's last mark, and never came."""
    for row in record.read(_FIRST_MARKS):
        if row["session_id"] and row["first"] <= last_mark and row["session_id"] not in known:
            told = (
                f"it claims mark {row['first']} of the box, and the store, which took all up to "
                f"mark {last_mark}, never got it: it was put in later"
            )
            yield Finding(row["session_id"], 0, "store", told)


def _strangers(record: Database, keys: Collection[str]) -> Iterator[Finding]:
    """Marks by keys that the store does not know as this box's; it takes nothing of them."""
    for row in record.read(
        "SELECT public_key, MIN(box_mark.number) AS first FROM box_mark JOIN box "
        "ON box.number = box_mark.box GROUP BY public_key"
    ):
        if row["public_key"] not in keys:
            told = (
                f"from mark {row['first']} on another box wrote it ({row['public_key'][:16]}…), "
                "which the store does not know as this one"
            )
            yield Finding("", 0, "store", told)


def _of_marks(outbox: Outbox, last: int, link: bytes, is_named: bool) -> Iterator[Finding]:
    """The chain of marks, of which one link stands for all before it."""
    if last == 0:
        return
    mark = outbox.mark(last)
    if mark is None:
        told = (
            f"it ends at mark {outbox.last_mark()} of the box, and the store has marks up to "
            f"{last}: its end was dropped or an older file was put in its place"
        )
        yield Finding("", 0, "store", told)
    elif mark.link != link and not is_named:
        told = (
            f"mark {last} of the box is not the one that the store took: the marks were made again"
        )
        yield Finding("", 0, "store", told)

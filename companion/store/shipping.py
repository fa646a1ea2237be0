"""Sending the store what it lacks: in order, in transactions, as often as one likes.

The store says at which mark of the box it is. From there on everything goes in batches, each whole
or not at all. Whatever breaks, the next time begins with the same question; so nothing is lost and
nothing goes twice.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from psycopg import Connection
from psycopg.types.json import Jsonb

from companion.store.connecting import StoreError, connected
from companion.store.migrating import one
from companion.store.outbox import Batch, Outbox, Waiting, readable

_COPIES = {
    "jobs": "COPY pg_temp.incoming_job (id, opened_utc) FROM STDIN",
    "marks": "COPY pg_temp.incoming_mark (number, public_key, what, job, sequence, head, "
    "previous, signature) FROM STDIN",
    "events": "COPY pg_temp.incoming_event (mark, job, sequence, kind, at_utc, monotonic_ns, "
    "clock_trusted, body, previous, hash) FROM STDIN",
    "sealed": "COPY pg_temp.incoming_sealed (number, job, sequence) FROM STDIN",
}


class Refused(StoreError):
    """The store does not take what the record holds; `what` is its kind of reason."""

    def __init__(self, what: str, told: str) -> None:
        super().__init__(f"the store does not take it ({what}): {told}")
        self.what = what
        self.told = told


@dataclass(frozen=True)
class Place:
    """Where the store is with this box."""

    name: str
    last_mark: int
    last_link: bytes
    sealed: int


@dataclass(frozen=True)
class Shipped:
    """What went this time."""

    box: str
    batches: int = 0
    events: int = 0
    last_mark: int = 0


def place_of(connection: Connection) -> Place:
    """Where the store is; raises `StoreError` for a login that is no box's."""
    name, last_mark, last_link, sealed = one(connection, "SELECT * FROM store.place()")
    return Place(name, last_mark, bytes(last_link), sealed)


def what_would_go(
    record: Path, store: str, password_file: Path | None = None
) -> tuple[Place, Waiting]:
    """What the store lacks; nothing is sent."""
    with connected(store, password_file) as connection, Outbox(record) as outbox:
        place = place_of(connection)
        return place, outbox.waiting(place.last_mark)


def ship(
    record: Path,
    store: str,
    password_file: Path | None = None,
    of_itself: Mapping[str, Any] | None = None,
    tell: Callable[[Shipped], None] = lambda shipped: None,
) -> Shipped:
    """Send everything that the store lacks; `tell` is called after each batch.

    Raises `Refused` with the store's reason, `NotReached` where the way to it broke (the same may
    be tried again at any time), `StoreError` for what has to be put right first.
    """
    try:
        with connected(store, password_file) as connection, Outbox(record) as outbox:
            return _ship(connection, outbox, of_itself or {}, tell)
    except sqlite3.Error as error:
        raise readable(error, record) from error


def _ship(
    connection: Connection,
    outbox: Outbox,
    of_itself: Mapping[str, Any],
    tell: Callable[[Shipped], None],
) -> Shipped:
    place = place_of(connection)
    _say(connection, outbox, place, of_itself)
    shipped = Shipped(place.name, last_mark=place.last_mark)
    for batch in outbox.batches(place.last_mark, place.sealed):
        added = send(connection, batch)
        shipped = Shipped(
            place.name, shipped.batches + 1, shipped.events + added, batch.marks[-1].number
        )
        tell(shipped)
    if shipped.batches:
        _say(connection, outbox, place_of(connection), of_itself)
    return shipped


def _say(
    connection: Connection, outbox: Outbox, place: Place, of_itself: Mapping[str, Any]
) -> None:
    """Tell the store how the box is; raises `Refused` where the record is not the one before."""
    standing = outbox.mark(place.last_mark)
    waiting = outbox.waiting(place.last_mark)
    told = {**of_itself, "outbox_events": waiting.events, "outbox_jobs": waiting.jobs}
    refused, words = one(
        connection,
        "SELECT * FROM store.say(%s, %s, %s)",
        (outbox.last_mark(), None if standing is None else standing.link, Jsonb(told)),
    )
    if refused is not None:
        raise Refused(refused, words)


def send(connection: Connection, batch: Batch) -> int:
    """One batch in one transaction; the events that it added. Raises `Refused`."""
    # A temporary table is made outside of the batch's transaction: it stays for the next ones.
    connection.execute("SELECT store.begin_batch()")
    with connection.transaction(), connection.cursor() as cursor:
        marks = [
            (m.number, m.public_key, m.what, m.session_id, m.seq, m.head, m.previous.hex(),
             m.signature.hex())
            for m in batch.marks
        ]  # fmt: skip
        for what, rows in (
            ("jobs", batch.jobs),
            ("marks", marks),
            ("events", batch.events),
            ("sealed", batch.sealed),
        ):
            if rows:
                with cursor.copy(_COPIES[what].encode()) as copy:
                    for row in rows:
                        copy.write_row(row)
        refused, words, added = one(connection, "SELECT * FROM store.take()")
    # What was refused is committed too: the store keeps the reason.
    if refused is not None:
        raise Refused(refused, words)
    return int(added)

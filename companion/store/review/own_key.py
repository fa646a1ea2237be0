"""The key that a supervisor signs with: at which boxes it is known, and asking one to know it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from psycopg import Connection
from psycopg.types.json import Jsonb

from companion.errors import RecordError
from companion.facts.afterwards import Signature
from companion.facts.message import Message
from companion.record.audit.keys import public_hex
from companion.record.roll import asking_statement
from companion.store.migrating import one
from companion.store.review.people import Visitor, unlocked_key
from companion.store.review.reading import StoreReading


@dataclass(frozen=True)
class KnownAt:
    """One box: whether the key is known there (`known`, in words), or was asked for."""

    box: int
    site: str
    name: str
    known: Message | None = None
    asked: datetime | None = None
    waits: bool = False
    told: str = ""


_BOXES = """
    SELECT b.box, s.name, b.name, a.made, a.answered IS NULL AND a.made IS NOT NULL,
        coalesce(a.told, ''), coalesce(a.taken, false)
    FROM store.box b JOIN store.site s USING (site) LEFT JOIN LATERAL (
        SELECT made, answered, told, taken FROM store.asking
        WHERE asking.box = b.box AND person = store.my_person() ORDER BY number DESC LIMIT 1
    ) AS a ON true WHERE b.retired IS NULL ORDER BY 2, 3
"""


def own_key(connection: Connection) -> str:
    """The public key of the person who asks; "" where they have none."""
    (key,) = one(connection, "SELECT public_key FROM store.my_key()")
    return str(key or "")


def known_at(connection: Connection, key: str) -> tuple[KnownAt, ...]:
    """Every box of this person's sites; of those that took the key what their record says of it."""
    reading = StoreReading(connection)
    found = []
    for box, site, name, asked, waits, told, taken in connection.execute(_BOXES).fetchall():
        known = None
        if taken:
            enrolled = reading.roll(box).of_key(key)
            if enrolled is not None and enrolled.until_seq is None:
                known = enrolled.told
        found.append(KnownAt(box, site, name, known, asked, waits, told))
    return tuple(found)


def ask(connection: Connection, visitor: Visitor, box: int, password: str) -> None:
    """Ask a box to know the key; raises `NotLetIn`, and `StoreError` for no box of theirs."""
    row = connection.execute(
        "SELECT encode(public_key, 'hex') FROM store.box_key WHERE box = %s "
        "ORDER BY since DESC LIMIT 1",
        (box,),
    ).fetchone()
    if row is None:
        raise RecordError("the store shows you no such box")
    key = unlocked_key(connection, password)
    public = public_hex(key)
    statement = asking_statement(visitor.name, "supervisor", public, row[0])
    own = Signature(public_key=public, value=key.sign(statement).hex())
    body = {
        "name": visitor.name,
        "role": "supervisor",
        "public_key": public,
        "box_key": row[0],
        "own": own.model_dump(mode="json"),
    }
    connection.execute("SELECT store.ask_box(%s, %s)", (box, Jsonb(body)))

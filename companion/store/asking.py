"""Supervisors who asked at the store's pages to sign at this box: fetched, and answered.

Nothing is taken over by itself: it waits beside the record until a supervisor with a PIN at the box
vouches for it or declines (`companion people accept`, `decline`).
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from psycopg import Connection
from pydantic import ValidationError

from companion.record.asked import Asked, Waiting, keep_waiting, waiting_at
from companion.record.database import open_for_reading
from companion.record.enrolling import read_roll
from companion.record.roll import Roll
from companion.store.connecting import connected


@dataclass(frozen=True)
class Answered:
    """What became of one asking; `told` says why it was declined."""

    name: str
    taken: bool
    told: str


def fetch_askings(
    record: Path, store: str, password_file: Path | None = None
) -> tuple[tuple[Answered, ...], tuple[Waiting, ...]]:
    """Answer what was decided here, and fetch what was asked since: (answered, waiting still).

    Raises `StoreError`, and `RecordError` where the file of them cannot be read or written.
    """
    with connected(store, password_file) as connection:
        return _fetch(record, connection)


def _fetch(
    record: Path, connection: Connection
) -> tuple[tuple[Answered, ...], tuple[Waiting, ...]]:
    rows = connection.execute("SELECT * FROM store.asked_of_my_box()").fetchall()
    before = waiting_at(record)
    if not rows and not before:
        return (), ()
    with open_for_reading(record) as database:
        roll = read_roll(database)
        boxes = {row["public_key"] for row in database.read("SELECT public_key FROM box")}
    declined = {one.number for one in before if one.declined}
    answered, waiting = [], []
    for number, body in rows:
        found = _looked_at(number, body, roll, boxes, declined)
        if isinstance(found, Waiting):
            waiting.append(found)
            continue
        connection.execute(
            "SELECT store.answer_asking(%s, %s, %s)", (number, found.taken, found.told)
        )
        answered.append(found)
    if tuple(waiting) != before:
        keep_waiting(record, tuple(waiting))
    return tuple(answered), tuple(waiting)


def _looked_at(
    number: int, body: str, roll: Roll, boxes: set[str], declined: set[int]
) -> Answered | Waiting:
    try:
        asked = Asked.model_validate(json.loads(body))
    except (ValueError, ValidationError):
        return Answered("somebody", False, "it is of a form that this box does not know")
    known = roll.of_key(asked.public_key)
    if known is not None and known.until_seq is None:
        return Answered(asked.name, True, "")
    if known is not None:
        return Answered(asked.name, False, "this key was removed at the box")
    if asked.box_key not in boxes or not asked.is_signed:
        return Answered(asked.name, False, "it was not asked of this box by that key")
    if number in declined:
        return Answered(asked.name, False, "a supervisor at the box declined")
    return Waiting(number=number, asked=asked)

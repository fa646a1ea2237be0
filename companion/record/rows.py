"""Events to table rows and back."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from companion.errors import RecordError
from companion.record.canonical import canonical_json, parsed_json
from companion.record.port import StoredEvent
from companion.record.tables import sqlite_utils

EVENT_KEY = ("session_id", "seq")


def insert(
    tables: sqlite_utils.Database, table: str, row: dict[str, Any], key: tuple[str, ...]
) -> None:
    """Insert one row and read it back by its key, within the caller's transaction.

    Raises `RecordError` where the file holds another row or none afterwards: a trigger that was
    put in can swallow an insertion without an error.
    """
    columns = tuple(row)
    done = tables.execute(insert_statement(table, columns), row)
    reading = _reading_back(table, columns, key)
    if done.rowcount != 1 or tables.execute(reading, row).fetchall() != [tuple(row.values())]:
        raise RecordError(
            f"the record did not keep what was written into it ({table}); nothing was written: "
            "run 'companion verify'"
        )


@cache
def insert_statement(table: str, columns: tuple[str, ...]) -> str:
    """SQL that inserts a row of these columns, each value under its column's name."""
    values = ", ".join(f":{column}" for column in columns)
    return f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({values})"  # noqa: S608 - our words


@cache
def _reading_back(table: str, columns: tuple[str, ...], key: tuple[str, ...]) -> str:
    which = " AND ".join(f"{column} = :{column}" for column in key)
    return f"SELECT {', '.join(columns)} FROM {table} WHERE {which}"  # noqa: S608 - our words


def row_of_event(event: StoredEvent) -> dict[str, Any]:
    """The row to insert, the body as canonical JSON text."""
    return {
        "session_id": event.session_id,
        "seq": event.seq,
        "kind": event.kind,
        "at_utc": event.at_utc,
        "monotonic_ns": event.monotonic_ns,
        "clock_trusted": int(event.clock_trusted),
        "body": canonical_json(event.body).decode("utf-8"),
        "previous_hash": event.previous_hash,
        "hash": event.hash,
    }


class BrokenText(str):
    """Text of a row that is not UTF-8, with signs in the place of what cannot be read."""

    __slots__ = ()


def text_as_far_as_readable(stored: bytes) -> str:
    """Stored text as a string; a `BrokenText` where it is not UTF-8."""
    try:
        return stored.decode("utf-8")
    except UnicodeDecodeError:
        return BrokenText(stored.decode("utf-8", "replace"))


def event_of_row(row: Mapping[str, Any], path: Path) -> StoredEvent:
    """The event of a row; raises `RecordError` naming it when it cannot be read."""
    if BrokenText in map(type, row.values()):
        raise _damaged(row, path)
    try:
        body = parsed_json(row.get("body", ""))
    except (TypeError, ValueError) as error:
        raise _damaged(row, path) from error
    if not isinstance(body, dict):
        raise _damaged(row, path)
    try:
        return StoredEvent(
            session_id=row["session_id"],
            seq=row["seq"],
            kind=row["kind"],
            at_utc=row["at_utc"],
            monotonic_ns=row["monotonic_ns"],
            clock_trusted=bool(row["clock_trusted"]),
            body=body,
            previous_hash=row["previous_hash"],
            hash=row["hash"],
        )
    except KeyError as error:
        raise RecordError(
            f"{path}: the events have no column {error}; verify the file and go on from a backup"
        ) from error


def _damaged(row: Mapping[str, Any], path: Path) -> RecordError:
    return RecordError(
        f"{path}: event {row.get('seq')} of session {row.get('session_id')} cannot be read "
        "(no JSON object in UTF-8); verify the file and go on from a backup"
    )

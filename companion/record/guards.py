"""What a record file has to hold besides rows: tables, indexes and triggers, and nothing else.

Compared is everything that SQLite's own list of them says, with what SQLite makes of the schema's
statements: so a trigger counts as put in whatever its name, and a text as altered by one letter.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from functools import cache

from companion.errors import RecordError
from companion.record.migrations import MIGRATIONS, statements_up_to
from companion.record.rfc3339 import parse_rfc3339

_OBJECTS = """
    SELECT CAST(name AS BLOB), CAST(type AS BLOB), CAST(tbl_name AS BLOB), CAST(sql AS BLOB)
    FROM sqlite_schema
"""
_VERSIONS = "SELECT number, CAST(name AS BLOB) FROM schema_version ORDER BY number"
_APPLIED = "SELECT number, CAST(applied_utc AS BLOB) FROM schema_version ORDER BY number"
_Object = tuple[bytes, bytes, bytes | None]


def schema_problems(connection: sqlite3.Connection) -> Iterator[str]:
    """What was taken off, put in or altered, each in words; nothing for a file as it was made."""
    versions = connection.execute(_VERSIONS).fetchall()
    known = [(step.number, step.name.encode("utf-8")) for step in MIGRATIONS]
    if versions != known[: len(versions)] or not versions:
        yield "its list of schema versions is not one that this program wrote"
    for number, applied in connection.execute(_APPLIED):
        if not _is_date(applied):
            yield f"schema version {number} is of {_told(applied)}, which is no date"
    expected = _expected(min(len(versions), len(known)))
    found: dict[bytes, _Object] = {}
    for name, kind, table, sql in connection.execute(_OBJECTS):
        if name in found or name is None:
            yield f"{_told(name)} stands twice in its schema"
        found[name] = (kind, table, sql)
    for name in sorted(expected.keys() | found.keys()):
        if name not in found:
            yield f"the guard {_told(name)} against changes was taken off"
        elif name not in expected:
            yield f"{_told(name)} is no part of a record and was put in"
        elif expected[name] != found[name]:
            yield f"the guard {_told(name)} against changes was altered"
    (user_version,) = connection.execute("PRAGMA user_version").fetchone()
    if user_version:
        yield f"its user version was set to {user_version}, which no record uses"


@cache
def _expected(version: int) -> dict[bytes, _Object]:
    """The objects of a file of that schema version, as SQLite lists them."""
    with closing(sqlite3.connect(":memory:")) as made:
        for statement in statements_up_to(version):
            made.execute(statement)
        return {name: (kind, table, sql) for name, kind, table, sql in made.execute(_OBJECTS)}


def _is_date(told: bytes) -> bool:
    try:
        parse_rfc3339(told.decode("ascii"))
    except (UnicodeDecodeError, RecordError):
        return False
    return True


def _told(name: bytes | None) -> str:
    return repr((name or b"").decode("utf-8", "replace"))

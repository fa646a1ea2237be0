"""The session that is no job: what concerns all jobs, in a chain of its own."""

from __future__ import annotations

from companion.record.database import OFFICE, Database
from companion.record.journal import SqliteLog


def office_log(database: Database) -> SqliteLog:
    """The office's log, begun where the record has none; needs the record opened for writing."""
    if not has_office(database):
        database.create_session(OFFICE)
    return SqliteLog(database, OFFICE)


def has_office(database: Database) -> bool:
    """Whether anything that concerns all jobs was ever recorded."""
    return bool(database.read("SELECT 1 FROM session WHERE id = ?", (OFFICE,)))

"""Which job is the record's last: the one written into last, which need not be the newest.

A job that was begun earlier may be gone on with. What is added to a job afterwards (a sign-off, a
correction, that its sound was let go) is no work on it.
"""

from __future__ import annotations

from companion.facts.afterwards import Amended, ClipsExpired, SignedOff
from companion.record.database import OFFICE, Database

_AFTERWARDS = (SignedOff.KIND, Amended.KIND, ClipsExpired.KIND)
# What a box found when it began to mark is in the order of the sessions' making.
_LAST_MARKED = f"""
    SELECT box_mark.session_id AS id FROM box_mark
    JOIN event ON event.session_id = box_mark.session_id AND event.seq = box_mark.seq
    WHERE box_mark.session_id <> ? AND (
        what = 'found'
        OR what = 'written' AND event.kind NOT IN ({", ".join("?" * len(_AFTERWARDS))})
    )
    ORDER BY box_mark.number DESC LIMIT 1
"""  # noqa: S608
_NEWEST = """
    SELECT id FROM session
    WHERE id <> ? AND EXISTS (SELECT 1 FROM event WHERE session_id = session.id)
    ORDER BY rowid DESC LIMIT 1
"""


def last_written_session_id(database: Database) -> str | None:
    """The job that was worked on last; None while no job has an event.

    By the marks of the box; a record that has none is read as before: its newest job.
    """
    found = []
    if database.read("SELECT 1 FROM sqlite_schema WHERE name = 'box_mark'"):
        found = database.read(_LAST_MARKED, (OFFICE, *_AFTERWARDS))
    found = found or database.read(_NEWEST, (OFFICE,))
    return str(found[0]["id"]) if found else None

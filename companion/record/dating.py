"""When a job was recorded at the latest, by dates that something vouched for.

The date of a clock that nothing vouches for may be any. So a job has the date of its own first
event with one that was vouched for; where it has none, it was recorded before whatever came after
it in the record and has one: a later job, or the office's own note of the date.
"""

from __future__ import annotations

from datetime import datetime

from companion.facts.office import DateVouched
from companion.record.database import OFFICE, Database
from companion.record.office import has_office
from companion.record.rfc3339 import parse_rfc3339

_FIRST_VOUCHED = """
    SELECT session.id, (
        SELECT at_utc FROM event
        WHERE session_id = session.id AND clock_trusted = 1 ORDER BY seq LIMIT 1
    ) AS at_utc
    FROM session WHERE id <> ? ORDER BY rowid DESC
"""


def recorded_by(database: Database) -> dict[str, datetime | None]:
    """The moment by which each job was recorded, the latest job first; None: it is not known."""
    noted = _noted(database)
    dates: dict[str, datetime | None] = {}
    later: datetime | None = None
    for row in database.read(_FIRST_VOUCHED, (OFFICE,)):
        session_id = row["id"]
        own = None if row["at_utc"] is None else parse_rfc3339(row["at_utc"])
        later = _earlier(later, noted.get(session_id))
        dates[session_id] = own or later
        later = _earlier(later, own)
    return dates


def _noted(database: Database) -> dict[str, datetime]:
    """The first vouched date that the office noted after a job, by that job."""
    noted: dict[str, datetime] = {}
    for event in database.events(OFFICE) if has_office(database) else ():
        if isinstance(event.fact, DateVouched) and event.clock_trusted:
            noted.setdefault(event.fact.session, parse_rfc3339(event.at_utc))
    return noted


def _earlier(one: datetime | None, other: datetime | None) -> datetime | None:
    return min(filter(None, (one, other)), default=None)

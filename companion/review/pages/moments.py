"""Moments of the record in the time of the place where the pages are served."""

from __future__ import annotations

from datetime import UTC, datetime

from companion.errors import RecordError
from companion.record.rfc3339 import parse_rfc3339

UNKNOWN = datetime(1970, 1, 1, tzinfo=UTC)


def local(at_utc: str) -> datetime:
    """The moment in this machine's time zone; what is no stamp is the beginning of 1970."""
    try:
        return parse_rfc3339(at_utc).astimezone()
    except RecordError:
        return UNKNOWN.astimezone()


def day(at_utc: str) -> str:
    """The day, YYYY-MM-DD, in local time."""
    return f"{local(at_utc):%Y-%m-%d}"


def day_and_time(at_utc: str) -> str:
    """The day and the minute in local time."""
    return f"{local(at_utc):%Y-%m-%d %H:%M}"


def utc_beside(at_utc: str) -> str:
    """The same moment in UTC, with its day where that is another; "UTC" in that time zone."""
    here = local(at_utc)
    there = here.astimezone(UTC)
    if here.utcoffset() == there.utcoffset():
        return "UTC"
    same_day = here.date() == there.date()
    return f"{there:%H:%M} UTC" if same_day else f"{there:%Y-%m-%d %H:%M} UTC"

"""Moments of the record in the time of the place where the pages are served."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from companion.errors import RecordError
from companion.record.rfc3339 import format_rfc3339, parse_rfc3339

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
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


def time(at_utc: str) -> str:
    """Hours, minutes and seconds in local time."""
    return f"{local(at_utc):%H:%M:%S}"


def time_zone() -> str:
    """The time zone that moments are told in, such as "UTC+02:00"."""
    offset = datetime.now().astimezone().strftime("%z")
    return "UTC" if offset in ("+0000", "") else f"UTC{offset[:3]}:{offset[3:]}"


def utc_beside(at_utc: str) -> str:
    """The same moment in UTC, with its day where that is another; "UTC" in that time zone."""
    here = local(at_utc)
    there = here.astimezone(UTC)
    if here.utcoffset() == there.utcoffset():
        return "UTC"
    same_day = here.date() == there.date()
    return f"{there:%H:%M} UTC" if same_day else f"{there:%Y-%m-%d %H:%M} UTC"


def begin_of_day(told: str, days_later: int = 0) -> str:
    """When that day (YYYY-MM-DD, of this place) begins, as the record tells time; "" for no day."""
    if _DAY.fullmatch(told) is None:
        return ""
    try:
        midnight = datetime.fromisoformat(told) + timedelta(days=days_later)
        return format_rfc3339(midnight.astimezone())
    except (ValueError, OverflowError, OSError):
        return ""

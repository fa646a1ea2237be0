"""Dates and times as RFC 3339 writes them, read strictly.

`datetime.fromisoformat` takes more (week dates, no offset) and less (the leap second)
than RFC 3339, so the grammar of its section 5.6 is checked here first.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta, timezone

from companion.errors import RecordError

_STAMP = re.compile(
    r"(\d{4})-(\d{2})-(\d{2})[Tt](\d{2}):(\d{2}):(\d{2})(?:\.(\d+))?([Zz]|[+-]\d{2}:\d{2})",
    re.ASCII,
)


def parse_rfc3339(text: str) -> datetime:
    """The moment in UTC; a leap second counts as the first second of the next minute.

    Raises `RecordError` for text that is not an RFC 3339 date and time with an offset.
    """
    matched = _STAMP.fullmatch(text)
    if matched is None:
        raise _refusal(text, "want YYYY-MM-DDThh:mm:ss with Z or an offset such as +02:00")
    year, month, day, hour, minute, second = (int(part) for part in matched.groups()[:6])
    microsecond = int(((matched[7] or "") + "000000")[:6])
    leap = second == 60
    try:
        local = datetime(
            year, month, day, hour, minute, 59 if leap else second, microsecond, _offset(matched[8])
        )
        moment = local.astimezone(UTC)
        if not leap:
            return moment
        if (moment.hour, moment.minute) != (23, 59):
            raise _refusal(text, "a leap second falls only at 23:59:60 UTC")
        return moment + timedelta(seconds=1)
    except (ValueError, OverflowError) as error:
        raise _refusal(text, str(error)) from error


def _offset(text: str) -> timezone:
    if text in "Zz":
        return UTC
    hours, minutes = int(text[1:3]), int(text[4:6])
    if hours > 23 or minutes > 59:
        raise ValueError("an offset has hours 00 to 23 and minutes 00 to 59")
    offset = timedelta(hours=hours, minutes=minutes)
    return timezone(-offset if text[0] == "-" else offset)


def _refusal(text: str, why: str) -> RecordError:
    return RecordError(f"{text!r} is not an RFC 3339 date and time: {why}")


def format_rfc3339(moment: datetime) -> str:
    """The moment in UTC to the millisecond, ending in Z; the moment must carry an offset."""
    if moment.tzinfo is None:
        raise RecordError(f"{moment!r} has no offset; a stamp in the record needs one")
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")

"""Dates and times at the edges of what RFC 3339 allows."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from companion.errors import RecordError
from companion.record.rfc3339 import format_rfc3339, parse_rfc3339


@pytest.mark.parametrize(
    ("offset", "day", "hour", "minute"),
    [
        ("+23:59", 5, 12, 1),
        ("-23:59", 7, 11, 59),
        ("+00:00", 6, 12, 0),
        ("+05:30", 6, 6, 30),
        ("-00:59", 6, 12, 59),
        ("Z", 6, 12, 0),
    ],
)
def test_an_offset_is_taken_off(offset: str, day: int, hour: int, minute: int) -> None:
    moment = parse_rfc3339(f"2031-05-06T12:00:00{offset}")
    assert moment == datetime(2031, 5, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize("offset", ["+24:00", "-24:00", "+02:60", "-00:60", "+00:99", "+99:00"])
def test_an_offset_beyond_a_day_or_an_hour_is_refused(offset: str) -> None:
    with pytest.raises(RecordError, match="hours 00 to 23 and minutes 00 to 59"):
        parse_rfc3339(f"2031-05-06T12:00:00{offset}")


def test_a_leap_second_is_the_first_of_the_next_minute_and_falls_only_there() -> None:
    assert format_rfc3339(parse_rfc3339("2016-12-31T23:59:60Z")) == "2017-01-01T00:00:00.000Z"
    assert parse_rfc3339("2017-01-01T01:59:60+02:00") == datetime(2017, 1, 1, tzinfo=UTC)
    with pytest.raises(RecordError, match="leap second"):
        parse_rfc3339("2016-12-31T22:59:60Z")


def test_a_moment_without_an_offset_is_not_written() -> None:
    with pytest.raises(RecordError, match="no offset"):
        format_rfc3339(datetime(2031, 5, 6))

"""A day typed on a page, as the record tells time."""

from __future__ import annotations

from datetime import datetime

import pytest

from companion.browse.moments import begin_of_day


def here(told: str) -> datetime:
    """A moment of the record in the time of this place, without its zone."""
    return datetime.fromisoformat(told).astimezone().replace(tzinfo=None)


def test_a_day_begins_at_midnight_of_this_place_and_until_it_means_to_its_end() -> None:
    assert here(begin_of_day("2031-03-05")) == datetime(2031, 3, 5)
    assert here(begin_of_day("2031-03-05", days_later=1)) == datetime(2031, 3, 6)
    assert here(begin_of_day("2031-12-31", days_later=1)) == datetime(2032, 1, 1)


@pytest.mark.parametrize("told", ["", "junk", "2031-13-40", "2031-3-5", "9999-12-31 "])
def test_what_is_no_day_begins_never(told: str) -> None:
    assert begin_of_day(told) == ""

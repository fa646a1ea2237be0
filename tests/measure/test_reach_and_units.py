"""What an error means down the road, and the units it may be told in."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import MeasureError
from companion.measure.doubt import exact, measured
from companion.measure.reach import miss_at_range_m
from companion.measure.units import (
    bar_from_psi,
    degrees_from_minutes,
    degrees_from_mm_per_m,
    minutes_from_degrees,
    mm_from_inches,
    mm_per_m_from_degrees,
    newton_metre_from_foot_pounds,
)


def test_the_miss_carries_the_aims_doubt_and_side() -> None:
    miss = miss_at_range_m(measured("aim", -0.5, 0.1), 100.0)
    assert miss.value < 0.0
    assert miss.u == pytest.approx(100.0 * math.radians(0.1), rel=1e-3)
    assert miss.contributions[0][0] == "aim"


def test_no_miss_beyond_a_right_angle_or_at_no_range() -> None:
    for angle, reach in ((90.0, 100.0), (1.0, -1.0), (1.0, math.inf)):
        with pytest.raises(MeasureError, match="wanted is an angle"):
            miss_at_range_m(exact(angle), reach)


@given(degrees=st.floats(-80.0, 80.0))
def test_slopes_convert_there_and_back(degrees: float) -> None:
    assert degrees_from_mm_per_m(mm_per_m_from_degrees(degrees)) == pytest.approx(
        degrees, abs=1e-12
    )


@given(minutes=st.floats(-600.0, 600.0))
def test_minutes_convert_there_and_back(minutes: float) -> None:
    assert minutes_from_degrees(degrees_from_minutes(0.0, minutes)) == pytest.approx(minutes)


def test_an_angle_with_two_directions_is_refused() -> None:
    with pytest.raises(MeasureError, match="one direction"):
        degrees_from_minutes(1.0, -30.0)
    with pytest.raises(MeasureError, match="under 90"):
        mm_per_m_from_degrees(90.0)


def test_zero_stays_zero_in_every_unit() -> None:
    assert mm_from_inches(0.0) == bar_from_psi(0.0) == newton_metre_from_foot_pounds(0.0) == 0.0

"""What an error means down the road, and the units it may be told in."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.reach import miss_at_range_m
from companion.calibration.units import degrees_from_mm_per_m
from companion.errors import MeasureError
from companion.uncertainty.measured import exact, measured


def test_the_miss_carries_the_aims_doubt_and_side() -> None:
    miss = miss_at_range_m(measured("aim", -0.5, 0.1), 100.0)
    assert miss.value < 0.0
    assert miss.u == pytest.approx(100.0 * math.radians(0.1), rel=1e-3)
    assert miss.contributions[0][0] == "aim"


def test_no_miss_beyond_a_right_angle_or_at_no_range() -> None:
    for angle, reach in ((90.0, 100.0), (1.0, -1.0), (1.0, math.inf)):
        with pytest.raises(MeasureError, match="wanted: an angle"):
            miss_at_range_m(exact(angle), reach)


@given(degrees=st.floats(-80.0, 80.0))
def test_a_slope_is_the_tangent_of_its_angle(degrees: float) -> None:
    slope_mm_per_m = 1000.0 * math.tan(math.radians(degrees))
    assert degrees_from_mm_per_m(slope_mm_per_m) == pytest.approx(degrees, abs=1e-12)

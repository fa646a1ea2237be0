"""Slopes as angles against their definition and published tables. Test ids are row ids."""

from __future__ import annotations

import math

import pytest
from scipy import constants

from companion.calibration.units import degrees_from_mm_per_m


# UNI-6. Definition: a milliradian is a millimetre per metre but for 3.3e-7.
def test_uni_6_milliradian() -> None:
    assert 1.0 - degrees_from_mm_per_m(1.0) / math.degrees(1e-3) == pytest.approx(3.3e-7, rel=0.02)


# PLA-7 and PLA-8. Definition.
def test_pla_7_and_8_slopes() -> None:
    assert degrees_from_mm_per_m(1.0) == pytest.approx(0.057295760, abs=1e-9)
    minutes = math.radians(degrees_from_mm_per_m(1.0)) / constants.arcminute
    assert minutes == pytest.approx(3.437746, abs=1e-6)
    assert degrees_from_mm_per_m(17.455064928) == pytest.approx(1.0, abs=1e-9)
    assert degrees_from_mm_per_m(1.745331024) == pytest.approx(0.1, abs=1e-9)


# LEV-2. Definition (atan), for the tilts that levels are graded by.
@pytest.mark.parametrize(
    ("tilt_mm_per_m", "seconds"),
    [(0.02, 4.125), (0.05, 10.313), (0.1, 20.626), (0.3, 61.879), (0.5, 103.132), (1.0, 206.265)],
)
def test_lev_2_grades_of_levels(tilt_mm_per_m: float, seconds: float) -> None:
    assert degrees_from_mm_per_m(tilt_mm_per_m) * 3600.0 == pytest.approx(seconds, abs=5e-4)


# LEV-3. eichhorn-gme.com (read) converts by asin: 2.062648 minutes for 0.6 mm/m; atan differs only
# in the seventh digit.
def test_lev_3_asin_and_atan_hardly_differ() -> None:
    assert math.degrees(math.asin(0.6 / 1000.0)) * 60.0 == pytest.approx(2.062648, abs=1e-6)
    assert degrees_from_mm_per_m(0.6) * 60.0 == pytest.approx(2.062648, rel=1e-6)


# LEV-4. DIN 2276-1 (extract, read second hand): labels, not equalities.
def test_lev_4_labels_are_not_equalities() -> None:
    for label_seconds, mm_per_m, seconds in ((10.0, 0.05, 10.313), (60.0, 0.3, 61.879)):
        exact = degrees_from_mm_per_m(mm_per_m) * 3600.0
        assert exact == pytest.approx(seconds, abs=5e-4)
        assert abs(exact - label_seconds) > 0.3

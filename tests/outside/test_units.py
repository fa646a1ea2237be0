"""Units against scipy.constants and their definitions. Test ids are row ids."""

from __future__ import annotations

import math

import pytest
from scipy import constants

from companion.measure.units import (
    PASCAL_PER_BAR,
    PASCAL_PER_PSI,
    bar_from_psi,
    degrees_from_minutes,
    degrees_from_mm_per_m,
    minutes_from_degrees,
    mm_from_inches,
    mm_per_m_from_degrees,
    newton_metre_from_foot_pounds,
    tilt_mm_per_m_from_bubble,
    vial_radius_m,
)


# UNI-1. scipy.constants; NIST SP 811 App. B prints exact factors in bold (read in a copy).
def test_uni_1_inch() -> None:
    assert mm_from_inches(1.0) == 25.4
    assert constants.inch == 0.0254


# UNI-2. Definition.
@pytest.mark.parametrize(
    ("inches", "millimetres"), [(1 / 64, 0.396875), (1 / 8, 3.175), (5 / 16, 7.9375)]
)
def test_uni_2_fractions_of_an_inch(inches: float, millimetres: float) -> None:
    assert mm_from_inches(inches) == pytest.approx(millimetres, rel=1e-15)


# UNI-3. scipy.constants.
def test_uni_3_degree_minute_second() -> None:
    assert math.radians(degrees_from_minutes(1.0)) == pytest.approx(constants.degree, rel=1e-15)
    assert math.radians(degrees_from_minutes(0.0, 1.0)) == pytest.approx(constants.arcminute)
    assert math.radians(degrees_from_minutes(0.0, 0.0, 1.0)) == pytest.approx(constants.arcsecond)


# UNI-4. scipy.constants.
def test_uni_4_pressure() -> None:
    assert pytest.approx(constants.psi, rel=1e-12) == PASCAL_PER_PSI
    assert constants.bar == PASCAL_PER_BAR
    assert bar_from_psi(1.0) == pytest.approx(0.06894757293168, rel=1e-12)


# UNI-5. scipy.constants: pound-force times foot.
def test_uni_5_torque() -> None:
    assert newton_metre_from_foot_pounds(1.0) == pytest.approx(1.3558179483314, rel=1e-13)
    assert newton_metre_from_foot_pounds(1.0) == pytest.approx(constants.lbf * constants.foot)


# UNI-6. Definition: a milliradian is a millimetre per metre but for 3.3e-7.
def test_uni_6_milliradian() -> None:
    assert minutes_from_degrees(math.degrees(1e-3)) == pytest.approx(3.437747, abs=1e-6)
    assert 1.0 - degrees_from_mm_per_m(1.0) / math.degrees(1e-3) == pytest.approx(3.3e-7, rel=0.02)


# UNI-7. Definition: thirty minutes and 0.30 degrees are not the same angle.
def test_uni_7_minutes_and_decimals() -> None:
    assert degrees_from_minutes(0.0, 30.0) == 0.5
    assert minutes_from_degrees(0.30) == pytest.approx(18.0)


# PLA-7 and PLA-8. Definition.
def test_pla_7_and_8_slopes() -> None:
    assert degrees_from_mm_per_m(1.0) == pytest.approx(0.057295760, abs=1e-9)
    assert minutes_from_degrees(degrees_from_mm_per_m(1.0)) == pytest.approx(3.437746, abs=1e-6)
    assert mm_per_m_from_degrees(1.0) == pytest.approx(17.455064928, abs=1e-9)
    assert mm_per_m_from_degrees(0.1) == pytest.approx(1.745331024, abs=1e-9)


# LEV-1. A level's sensitivity is the tilt for 2 mm of bubble travel (eichhorn-gme.com, read).
# LEV-2. Definition (atan).
@pytest.mark.parametrize(
    ("sensitivity_mm_per_m", "radius_m", "seconds"),
    [
        (0.02, 100.0, 4.125),
        (0.05, 40.0, 10.313),
        (0.1, 20.0, 20.626),
        (0.3, 6.667, 61.879),
        (0.5, 4.0, 103.132),
        (1.0, 2.0, 206.265),
    ],
)
def test_lev_1_and_2_vials(sensitivity_mm_per_m: float, radius_m: float, seconds: float) -> None:
    radius = vial_radius_m(2.0, sensitivity_mm_per_m)
    assert radius == pytest.approx(radius_m, abs=5e-4)
    assert tilt_mm_per_m_from_bubble(2.0, radius) == pytest.approx(sensitivity_mm_per_m)
    assert degrees_from_mm_per_m(sensitivity_mm_per_m) * 3600.0 == pytest.approx(seconds, abs=5e-4)


# LEV-3. The same page converts by asin: 2.062648 minutes for 0.6 mm/m; atan differs only in the
# seventh digit.
def test_lev_3_asin_and_atan_hardly_differ() -> None:
    minutes = minutes_from_degrees(degrees_from_mm_per_m(0.6))
    assert math.degrees(math.asin(0.6 / 1000.0)) * 60.0 == pytest.approx(2.062648, abs=1e-6)
    assert minutes == pytest.approx(2.062648, rel=1e-6)


# LEV-4. DIN 2276-1 (extract, read second hand): labels, not equalities.
def test_lev_4_labels_are_not_equalities() -> None:
    for label_seconds, mm_per_m, seconds in ((10.0, 0.05, 10.313), (60.0, 0.3, 61.879)):
        exact = degrees_from_mm_per_m(mm_per_m) * 3600.0
        assert exact == pytest.approx(seconds, abs=5e-4)
        assert abs(exact - label_seconds) > 0.3
    assert mm_per_m_from_degrees(1.0 / 3600.0) * 1000.0 == pytest.approx(4.848137, abs=1e-6)

"""Conversions between the units a bay uses; the exact factors are definitions."""

from __future__ import annotations

import math

from companion.errors import MeasureError

MM_PER_INCH = 25.4
PASCAL_PER_BAR = 100_000.0
# One pound-force (0.453 592 37 kg at 9.806 65 m/s^2) on one square inch.
PASCAL_PER_PSI = 0.453_592_37 * 9.806_65 / 0.0254**2
NEWTON_METRE_PER_FOOT_POUND = 0.453_592_37 * 9.806_65 * 0.3048


def mm_from_inches(inches: float) -> float:
    """Exact: 25.4 mm to the inch."""
    return inches * MM_PER_INCH


def bar_from_psi(psi: float) -> float:
    """Pressure in bar."""
    return psi * PASCAL_PER_PSI / PASCAL_PER_BAR


def newton_metre_from_foot_pounds(foot_pounds: float) -> float:
    """Tightening torque in newton metres."""
    return foot_pounds * NEWTON_METRE_PER_FOOT_POUND


def degrees_from_minutes(degrees: float, minutes: float = 0.0, seconds: float = 0.0) -> float:
    """Decimal degrees of an angle given as degrees, minutes and seconds, all of one sign.

    Raises MeasureError if the parts differ in sign, which would hide a slip.
    """
    parts = (degrees, minutes, seconds)
    if any(part < 0.0 for part in parts) and any(part > 0.0 for part in parts):
        raise MeasureError(
            f"found {degrees} degrees {minutes} minutes {seconds} seconds; wanted is one direction"
        )
    return degrees + minutes / 60.0 + seconds / 3600.0


def minutes_from_degrees(degrees: float) -> float:
    """Minutes of arc."""
    return degrees * 60.0


def degrees_from_mm_per_m(mm_per_m: float) -> float:
    """Angle of a slope: atan(s / 1000)."""
    return math.degrees(math.atan(mm_per_m / 1000.0))


def mm_per_m_from_degrees(degrees: float) -> float:
    """Slope of an angle: 1000 tan. The angle must stay below 90 degrees."""
    if not abs(degrees) < 90.0:
        raise MeasureError(f"slope: found {degrees} degrees; wanted is under 90")
    return 1000.0 * math.tan(math.radians(degrees))


def vial_radius_m(bubble_travel_mm: float, tilt_mm_per_m: float) -> float:
    """Radius of a level's vial whose bubble moves so far for that tilt: travel / tilt, in metres.

    A level's sensitivity is stated as the tilt for one division, mostly 2 mm.
    """
    if not (bubble_travel_mm > 0.0 and tilt_mm_per_m > 0.0):
        raise MeasureError(
            f"vial: found {bubble_travel_mm} mm for {tilt_mm_per_m} mm per metre; wanted are two "
            "above 0"
        )
    return bubble_travel_mm / tilt_mm_per_m


def tilt_mm_per_m_from_bubble(bubble_mm: float, vial_radius_m: float) -> float:
    """Tilt of a level whose bubble stands so far from the middle, in mm per metre."""
    if not vial_radius_m > 0.0:
        raise MeasureError(f"vial: found a radius of {vial_radius_m} m; wanted is more than 0")
    return bubble_mm / vial_radius_m

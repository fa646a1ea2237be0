"""The plate as a mirror and the miss at range. Test ids are row ids."""

from __future__ import annotations

import math

import pytest
from scipy import constants

from companion.calibration.echo import echo_vertex
from companion.calibration.lever import spot_shift_mm
from companion.calibration.reach import miss_at_range_m
from companion.job.loader import JobPaths
from companion.runtime import assembly
from companion.uncertainty.measured import exact


# RAD-13: OPT-1 (OpenStax, College Physics: read).
@pytest.mark.parametrize(
    ("distance_mm", "lean_deg", "shift_mm"), [(1200.0, 1.0, 41.904923), (1500.0, 0.1, 5.236009)]
)
def test_rad_13_the_return_walks_off_as_the_plate_leans(
    distance_mm: float, lean_deg: float, shift_mm: float
) -> None:
    assert spot_shift_mm(lean_deg, distance_mm) == pytest.approx(shift_mm, abs=1e-6)


# RAD-15 and RAD-16: definition.
@pytest.mark.parametrize(
    ("angle_deg", "miss_m"),
    [
        (1.0, 1.745506),
        (0.1, 0.174533),
        (0.2, 0.349067),
        (0.3, 0.523604),
        (0.5, 0.872687),
        (0.8, 1.396354),
        (2.0, 3.492077),
        (3.0, 5.240778),
    ],
)
def test_rad_15_and_16_miss_at_a_hundred_metres(angle_deg: float, miss_m: float) -> None:
    assert miss_at_range_m(exact(angle_deg), 100.0).value == pytest.approx(miss_m, abs=1e-6)
    assert miss_at_range_m(exact(-angle_deg), 100.0).value == pytest.approx(-miss_m, abs=1e-6)


# RAD-17 and RAD-18: definition. How wrong the small angle would be.
@pytest.mark.parametrize(("angle_deg", "excess"), [(1.0, 1.01552e-4), (5.0, 2.546235e-3)])
def test_rad_17_and_18_small_angle_bound(angle_deg: float, excess: float) -> None:
    miss = miss_at_range_m(exact(angle_deg), 1.0).value
    assert miss / math.radians(angle_deg) - 1.0 == pytest.approx(excess, rel=1e-4)


def two_way_mirror_level_db(beam_width_deg: float, aim_deg: float, lean_deg: float) -> float:
    """Radar equation against the radar's own image, which lies along the plate's normal.

    Gaussian beam: its power falls to one half at half its half-power width.
    """
    off_deg = lean_deg - aim_deg
    gain = 0.5 ** ((off_deg / (beam_width_deg / 2.0)) ** 2)
    image_distance_m = 2.0 * 1.2
    wavelength_m = constants.c / 76.5e9
    received = gain**2 * (wavelength_m / (4.0 * math.pi * image_distance_m)) ** 2
    return 10.0 * math.log10(received)


# RAD-11 (image theory, derived): the parabola's 24 dB is 12 dB each way, 3 dB at half the width.
# 10 log10(2) is 3.0103 dB, the trade's 3 dB: 0.35 per cent of the fall, half of it of the width.
@pytest.mark.parametrize("leans_deg", [(-4.0, -1.5, 2.0), (-5.0, 0.0, 5.0), (0.0, 2.0, 5.0)])
def test_the_parabola_is_the_two_way_gaussian_beam(leans_deg: tuple[float, float, float]) -> None:
    levels = [two_way_mirror_level_db(10.0, 0.7, lean_deg) for lean_deg in leans_deg]
    found = echo_vertex(
        **{f"lean_{n}_deg": lean for n, lean in enumerate(leans_deg, 1)},
        **{f"echo_{n}_db": level for n, level in enumerate(levels, 1)},
    )
    assert found.vertex_deg == pytest.approx(0.7, abs=1e-9)
    assert found.beam_width_deg == pytest.approx(10.0, rel=2e-3)
    assert found.peak_db == pytest.approx(two_way_mirror_level_db(10.0, 0.7, 0.7), abs=1e-9)


def far_field_m(size_m: float, frequency_hz: float = 76.5e9) -> float:
    """Where a wave from all of an aperture arrives as one: 2 D^2 / wavelength."""
    return 2.0 * size_m**2 * frequency_hz / constants.c


# RAD-1 and RAD-8 to RAD-10: definition of the far-field region (US FS-1037C: read); the phase
# error there is a sixteenth of a wave (read).
def test_rad_1_and_8_to_10_far_field_distances() -> None:
    for frequency_ghz, wavelength_mm in ((76.0, 3.944638), (76.5, 3.918856), (81.0, 3.701141)):
        wavelength = constants.c / (frequency_ghz * 1e9)
        assert wavelength * 1000.0 == pytest.approx(wavelength_mm, abs=1e-6)
    for size_m, distance_m in (
        (0.04, 0.8166),
        (0.05, 1.2759),
        (0.06, 1.8373),
        (0.08, 3.2663),
        (0.1, 5.1035),
        (0.3, 45.932),
        (0.5, 127.588),
    ):
        assert far_field_m(size_m) == pytest.approx(distance_m, rel=1e-4)
        path_m = math.hypot(distance_m, size_m / 2.0) - distance_m
        assert path_m * 76.5e9 / constants.c * 360.0 == pytest.approx(22.5, rel=2e-3)


# RAD-8, RAD-9 and RAD-12 on the shipped examples: what the parabola rests on.
def test_the_example_bays_plate_is_a_mirror_and_the_radars_beam_is_formed_there() -> None:
    files = assembly.load(JobPaths()).plan.files
    distance_m = files.bay.stand.plate_distance_mm / 1000.0
    aim = files.vehicle.aim
    for width_deg in (aim.beam_width_yaw_deg, aim.beam_width_elevation_deg):
        # An evenly lit aperture's half-power width is 0.886 wavelengths over its size (memory).
        aperture_m = 0.886 * constants.c / 76.5e9 / math.radians(width_deg)
        # The radar's image stands twice as far away as the plate.
        assert 2.0 * distance_m > far_field_m(aperture_m)
        # A plate as large as the lit spot is far inside its own far field: no point target.
        spot_m = 2.0 * distance_m * math.tan(math.radians(width_deg / 2.0))
        assert distance_m < 0.1 * far_field_m(spot_m)


# RAD-12: definition.
@pytest.mark.parametrize(
    ("distance_m", "width_deg", "spot_m"),
    [(1.2, 10.0, 0.209973), (1.5, 20.0, 0.528981), (1.2, 60.0, 1.385641)],
)
def test_rad_12_width_of_the_lit_spot(distance_m: float, width_deg: float, spot_m: float) -> None:
    edge = miss_at_range_m(exact(width_deg / 2.0), distance_m).value
    assert 2.0 * edge == pytest.approx(spot_m, abs=1e-6)

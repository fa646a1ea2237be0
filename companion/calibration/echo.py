"""The echo of the flat plate against its lean: a parabola in dB whose top is the radar's aim.

Up close the plate is a mirror: the radar hears its own image along the plate's normal, through
its beam twice. With a Gaussian beam of half-power width w one way costs 12 (x / w)^2 dB, so
level = peak - 24 ((lean - vertex) / w)^2. Angles deg, levels dB.
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from companion.calibration.plate import hinge_correction_db, hinge_corrections_db
from companion.errors import MeasureError

_TWO_WAY_DB = 24.0
# Flatter than this (dB per square degree) the beam would be wider than 150 degrees: no peak.
_LEAST_CURVATURE = 1e-3
_LEAST_SPREAD_DEG = 1e-6
# Of leans that differ at all, against rounding.
_LEAST_SPREAD = 1e-12
_NO_PEAK = (
    "the echo levels do not form a peak: they must fall away on both sides of the best lean; read "
    "the leans and levels again, or use leans further apart"
)
_LEANS = tuple(f"lean_{n}_deg" for n in range(1, 6))
_ECHOES = tuple(f"echo_{n}_db" for n in range(1, 6))
# A lean is no other one than itself: in a product of differences it counts as 1.
_NO_OTHER = np.eye(5)[:, :, None]
Array = NDArray[np.float64]


class EchoPeak(NamedTuple):
    """Top of the parabola: where (deg), how wide the beam is (deg), how loud (dB)."""

    vertex_deg: float
    beam_width_deg: float
    peak_db: float


class FivePeak(NamedTuple):
    """A peak through five leans, as `EchoPeak`.

    The misfits are what no parabola explains, each as doubtful as one level.
    """

    vertex_deg: float
    beam_width_deg: float
    peak_db: float
    misfit_1_db: float
    misfit_2_db: float


class KnownWidthPeak(NamedTuple):
    """A peak of a beam whose width is known, as `EchoPeak`.

    The width is the one that was known; `left_over_db`: what no beam of that width explains, as
    doubtful as one level.
    """

    vertex_deg: float
    beam_width_deg: float
    peak_db: float
    left_over_db: float


class TwoDistances(NamedTuple):
    """A level freed from the ripple between plate and car, and that ripple."""

    mean_db: float
    ripple_db: float


def _peak(curvature: float, slope: float, level_db: float, about_deg: float) -> EchoPeak:
    """From level = curvature x^2 + slope x + level_db with x = lean - about."""
    if not curvature < -_LEAST_CURVATURE:
        raise MeasureError(_NO_PEAK)
    offset_deg = -slope / (2.0 * curvature)
    return EchoPeak(
        vertex_deg=about_deg + offset_deg,
        beam_width_deg=math.sqrt(_TWO_WAY_DB / -curvature),
        peak_db=level_db + slope * offset_deg / 2.0,
    )


def echo_vertex(
    *,
    lean_1_deg: float,
    lean_2_deg: float,
    lean_3_deg: float,
    echo_1_db: float,
    echo_2_db: float,
    echo_3_db: float,
) -> EchoPeak:
    """The parabola through three leans, in any order.

    Raises MeasureError if two leans are the same or the levels do not form a peak. The top may
    lie outside the three leans; its doubt then grows accordingly.
    """
    first_deg, last_deg = lean_1_deg - lean_2_deg, lean_3_deg - lean_2_deg
    if min(abs(first_deg), abs(last_deg), abs(first_deg - last_deg)) < _LEAST_SPREAD_DEG:
        raise MeasureError("two of the three leans are the same; wanted: three different leans")
    first_slope = (echo_1_db - echo_2_db) / first_deg
    last_slope = (echo_3_db - echo_2_db) / last_deg
    curvature = (last_slope - first_slope) / (last_deg - first_deg)
    return _peak(curvature, first_slope - curvature * first_deg, echo_2_db, lean_2_deg)


def echo_peak(
    *,
    lean_1_deg: float,
    lean_2_deg: float,
    lean_3_deg: float,
    echo_1_db: float,
    echo_2_db: float,
    echo_3_db: float,
    distance_mm: float,
    hinge_below_mm: float,
) -> EchoPeak:
    """As `echo_vertex`, each level first put as it is at the upright plate's distance.

    A plate hinged below its middle comes nearer as its top does, and what is nearer is louder: 250
    mm at 1.2 m shift the peak by 0.1 degrees. `hinge_below_mm`: the axis below the sensor's height
    (for a swing: to the right of it).
    """
    leans = (lean_1_deg, lean_2_deg, lean_3_deg)
    levels = [
        echo + hinge_correction_db(lean, distance_mm, hinge_below_mm)
        for lean, echo in zip(leans, (echo_1_db, echo_2_db, echo_3_db), strict=True)
    ]
    return echo_vertex(
        lean_1_deg=lean_1_deg,
        lean_2_deg=lean_2_deg,
        lean_3_deg=lean_3_deg,
        echo_1_db=levels[0],
        echo_2_db=levels[1],
        echo_3_db=levels[2],
    )


def echo_peak_of_known_width(
    *,
    lean_1_deg: float,
    lean_2_deg: float,
    lean_3_deg: float,
    echo_1_db: float,
    echo_2_db: float,
    echo_3_db: float,
    distance_mm: float,
    hinge_below_mm: float,
    beam_width_deg: float,
) -> KnownWidthPeak:
    """The peak of three leans where the beam's width is known, with what is left over.

    Put right by 24 (lean / width)^2 the levels lie on a straight line (least squares), and its
    slope is 48 vertex / width^2. With leans alike on both sides the slope does not depend on the
    width at all. Left over is the one sum that no straight line reaches, weights of length one: it
    shows a misread level, another width, ripple. Levels are put as they are at the upright plate's
    distance first. Raises MeasureError where two leans are the same, or for a width that is not
    above zero.
    """
    leans = (lean_1_deg, lean_2_deg, lean_3_deg)
    if min(abs(a - b) for a, b in combinations(leans, 2)) < _LEAST_SPREAD_DEG:
        raise MeasureError("two of the three leans are the same; wanted: three different leans")
    if not beam_width_deg > 0.0:
        raise MeasureError(f"found a beam {beam_width_deg} degrees wide; wanted: more than 0")
    straight = [
        echo
        + hinge_correction_db(lean, distance_mm, hinge_below_mm)
        + _TWO_WAY_DB * (lean / beam_width_deg) ** 2
        for lean, echo in zip(leans, (echo_1_db, echo_2_db, echo_3_db), strict=True)
    ]
    about_deg, level_db = sum(leans) / 3.0, sum(straight) / 3.0
    off = [lean - about_deg for lean in leans]
    slope = sum(x * z for x, z in zip(off, straight, strict=True)) / sum(x * x for x in off)
    vertex_deg = slope * beam_width_deg**2 / (2.0 * _TWO_WAY_DB)
    # Second divided difference: of three levels all that no straight line reaches.
    bend = [lean_3_deg - lean_2_deg, lean_1_deg - lean_3_deg, lean_2_deg - lean_1_deg]
    left_over_db = sum(b * z for b, z in zip(bend, straight, strict=True)) / math.hypot(*bend)
    return KnownWidthPeak(
        vertex_deg=vertex_deg,
        beam_width_deg=beam_width_deg,
        peak_db=level_db - slope * about_deg + slope * vertex_deg / 2.0,
        left_over_db=left_over_db,
    )


def echo_peak_of_five(
    *, distance_mm: float, hinge_below_mm: float, **leans_and_echoes: float
) -> FivePeak:
    """Least-squares peak through five leans, `lean_1_deg` to `echo_5_db`, with what is left over.

    Three leans always fit a parabola; five show ripple of the room. Levels are put as they are at
    the upright plate's distance first. Raises MeasureError where two leans are the same, or where
    the levels do not form a peak.
    """
    values = {"distance_mm": distance_mm, "hinge_below_mm": hinge_below_mm, **leans_and_echoes}
    found = echo_peaks_of_five({name: np.array([value]) for name, value in values.items()})
    return FivePeak(**{name: float(value[0]) for name, value in found.items()})


def echo_peaks_of_five(values: dict[str, Array]) -> dict[str, Array]:
    """As `echo_peak_of_five`, of n sets of values at once: each name's array has n of them.

    Parabola: normal equations of x and x^2, both with their means taken out. Misfits: two sums that
    no parabola reaches, weights of length one and independent of each other: the fourth divided
    difference, and it times the lean.
    """
    leans = np.array([values[name] for name in _LEANS])
    levels = np.array([values[name] for name in _ECHOES])
    levels += hinge_corrections_db(leans, values["distance_mm"], values["hinge_below_mm"])
    about_deg, level_db = np.add.reduce(leans) / 5.0, np.add.reduce(levels) / 5.0
    columns = np.empty((3, *leans.shape))
    x, y, z = columns
    np.subtract(leans, about_deg, x)
    np.subtract(levels, level_db, z)
    np.multiply(x, x, y)
    mean_square = np.add.reduce(y) / 5.0
    y -= mean_square
    (xx, xy, xz), (_, yy, yz), _ = np.einsum("apn,bpn->abn", columns, columns)
    spread = xx * yy - xy * xy
    products = np.multiply.reduce(x[:, None] - x + _NO_OTHER, axis=1)
    if not (np.abs(products).min() > _LEAST_SPREAD_DEG and (spread > _LEAST_SPREAD * xx**3).all()):
        raise MeasureError("two of the five leans are the same; wanted: five different leans")
    curvature, slope = (xx * yz - xy * xz) / spread, (yy * xz - xy * yz) / spread
    if not curvature.max() < -_LEAST_CURVATURE:
        raise MeasureError(_NO_PEAK)
    offset_deg = -slope / (2.0 * curvature)
    fourth = _of_length_one(1.0 / products)
    third = _of_length_one(fourth * (x - _sum_of(fourth * fourth, x)))
    return {
        "vertex_deg": about_deg + offset_deg,
        "beam_width_deg": np.sqrt(-_TWO_WAY_DB / curvature),
        "peak_db": level_db - curvature * mean_square + slope * offset_deg / 2.0,
        "misfit_1_db": _sum_of(third, z),
        "misfit_2_db": _sum_of(fourth, z),
    }


def _of_length_one(weights: Array) -> Array:
    """Each column."""
    unit: Array = weights / np.sqrt(_sum_of(weights, weights))
    return unit


def _sum_of(weights: Array, values: Array) -> Array:
    """Of each column the products' sum."""
    total: Array = np.einsum("pn,pn->n", weights, values)
    return total


def two_distances(*, level_db: float, quarter_further_db: float) -> TwoDistances:
    """One lean's level from two places of the stand a quarter of a wavelength apart.

    What goes to and fro between plate and car once more comes a half period later there, so its
    ripple has the other sign: the mean loses it, half the difference shows it.
    """
    return TwoDistances(
        (level_db + quarter_further_db) / 2.0, (level_db - quarter_further_db) / 2.0
    )

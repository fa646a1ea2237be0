"""The echo of the flat plate against its lean: a parabola in dB whose top is the radar's aim.

Up close the plate is a mirror: the radar hears its own image along the plate's normal, through
its beam twice. With a Gaussian beam of half-power width w one way costs 12 (x / w)^2 dB, so
level = peak - 24 ((lean - vertex) / w)^2. Angles deg, levels dB.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from operator import add, itemgetter, mul

from companion.calibration.plate import (
    hinge_correction_db,
    hinge_corrections_db,
    parabola_weights,
)
from companion.errors import MeasureError

_TWO_WAY_DB = 24.0
# Flatter than this (dB per square degree) the beam would be wider than 150 degrees: no peak.
_LEAST_CURVATURE = 1e-3
_LEAST_SPREAD_DEG = 1e-6
_LEANS = itemgetter(*(f"lean_{n}_deg" for n in range(1, 6)))
_ECHOES = itemgetter(*(f"echo_{n}_db" for n in range(1, 6)))


@dataclass(frozen=True)
class EchoPeak:
    """Top of the parabola: where (deg), how wide the beam is (deg), how loud (dB)."""

    vertex_deg: float
    beam_width_deg: float
    peak_db: float


@dataclass(frozen=True)
class FivePeak(EchoPeak):
    """A peak through five leans.

    The misfits are what no parabola explains, each as doubtful as one level.
    """

    misfit_1_db: float
    misfit_2_db: float


@dataclass(frozen=True)
class TwoDistances:
    """A level freed from the ripple between plate and car, and that ripple."""

    mean_db: float
    ripple_db: float


def _peak(
    curvature: float, slope: float, level_db: float, about_deg: float
) -> tuple[float, float, float]:
    """Vertex, beam width and peak level of curvature x^2 + slope x + level_db, x = lean - about."""
    if not curvature < -_LEAST_CURVATURE:
        raise MeasureError(
            "the echo levels do not form a peak: they must fall away on both sides of the best "
            "lean; read the leans and levels again, or use leans further apart"
        )
    offset_deg = -slope / (2.0 * curvature)
    return (
        about_deg + offset_deg,
        math.sqrt(_TWO_WAY_DB / -curvature),
        level_db + slope * offset_deg / 2.0,
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
    return EchoPeak(*_peak(curvature, first_slope - curvature * first_deg, echo_2_db, lean_2_deg))


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


def echo_peak_of_five(
    *, distance_mm: float, hinge_below_mm: float, **leans_and_echoes: float
) -> FivePeak:
    """Least-squares peak through five leans, `lean_1_deg` to `echo_5_db`, with what is left over.

    Three leans always fit a parabola; five show ripple of the room. Levels are put as they are at
    the upright plate's distance first. Raises MeasureError where two leans are the same, or where
    the levels do not form a peak.
    """
    leans = _LEANS(leans_and_echoes)
    corrections_db = hinge_corrections_db(leans, distance_mm, hinge_below_mm)
    levels = list(map(add, _ECHOES(leans_and_echoes), corrections_db))
    about_deg, mean_square, of_curvature, of_slope = parabola_weights(leans)
    third, fourth = misfit_weights(leans)
    curvature = sum(map(mul, of_curvature, levels))
    slope = sum(map(mul, of_slope, levels))
    level_db = sum(levels) / 5.0 - curvature * mean_square
    return FivePeak(
        *_peak(curvature, slope, level_db, about_deg),
        sum(map(mul, third, levels)),
        sum(map(mul, fourth, levels)),
    )


@lru_cache(maxsize=256)
def misfit_weights(leans_deg: tuple[float, ...]) -> tuple[list[float], list[float]]:
    """Two sums of five levels that no parabola reaches, length one, independent of each other.

    The fourth divided difference, and it times the lean: both make every parabola zero.
    """
    a, b, c, d, e = leans_deg
    ab, ac, ad, ae = a - b, a - c, a - d, a - e
    bc, bd, be, cd, ce, de = b - c, b - d, b - e, c - d, c - e, d - e
    products = (
        ab * ac * ad * ae,
        -ab * bc * bd * be,
        ac * bc * cd * ce,
        -ad * bd * cd * de,
        ae * be * ce * de,
    )
    if min(map(abs, products)) < _LEAST_SPREAD_DEG:
        raise MeasureError("two of the five leans are the same; wanted: five different leans")
    fourth = _of_length_one([1.0 / item for item in products])
    middle = sum(map(mul, map(mul, fourth, fourth), leans_deg))
    third = [w * (x - middle) for w, x in zip(fourth, leans_deg, strict=True)]
    return _of_length_one(third), fourth


def forget_weights() -> None:
    """Work all weights out anew: for those who measure how long it takes."""
    parabola_weights.cache_clear()
    misfit_weights.cache_clear()
    hinge_corrections_db.cache_clear()


def _of_length_one(weights: list[float]) -> list[float]:
    length = math.hypot(*weights)
    return [weight / length for weight in weights]


def two_distances(*, level_db: float, quarter_further_db: float) -> TwoDistances:
    """One lean's level from two places of the stand a quarter of a wavelength apart.

    What goes to and fro between plate and car once more comes a half period later there, so its
    ripple has the other sign: the mean loses it, half the difference shows it.
    """
    return TwoDistances(
        (level_db + quarter_further_db) / 2.0, (level_db - quarter_further_db) / 2.0
    )

"""What the plate itself does to the aim: its edges, its flatness, where it is hinged.

A plate is a mirror only as far as it reaches. The echo is made by a patch about the point that
faces the radar; each edge adds a wave of its own, weak where the beam is weak and the edge far.
Its phase turns once for every half wavelength of path, so its sign is unknown: it is doubt.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from operator import mul
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from companion.errors import MeasureError
from companion.uncertainty.measured import rectangular_u, u_shaped_u

_DB_A_NEPER = 20.0 / math.log(10.0)
_ONE_WAY_DB = 12.0
# Two-way amplitude is one-way power, hence 10 and not 20.
_FIELD_PER_DB = math.log(10.0) / 10.0
# Nearer to the facing point than this many Fresnel units an edge is no small addition any more.
_NEAREST_EDGE = 0.7
_SQUARE_DEG = 90.0
# Of leans that differ at all, against rounding.
_LEAST_SPREAD = 1e-12


class PlateEdges(NamedTuple):
    """Standard uncertainty that the plate's edges put into the peak."""

    edge_doubt_deg: float


def edge_ripple_db(
    *,
    lean_deg: float,
    aim_deg: float,
    span_mm: float,
    distance_mm: float,
    beam_width_deg: float,
    wavelength_mm: float,
) -> float:
    """Largest change of one echo level by the two edges that the lean moves, root sum of squares.

    `span_mm` from edge to edge in the direction of the lean, `lean_deg` and `aim_deg` from the
    plate's own zero. An edge v Fresnel units from the point that faces the radar (v = 2 x /
    sqrt(wavelength distance), there and back) adds 1 / (pi sqrt 2 v) of the mirror's field, times
    how much weaker the beam is there: Cornu's spiral for large v, as in any text on diffraction
    by a straight edge. Raises MeasureError where an edge lies at the facing point or past it, for
    an aim that does not face the plate at all, and for a distance, beam width or wavelength that
    is not above zero.
    """
    (wave,) = _edge_waves((lean_deg,), aim_deg, span_mm, distance_mm, beam_width_deg, wavelength_mm)
    return _DB_A_NEPER * wave


def _edge_waves(
    leans_deg: tuple[float, ...],
    aim_deg: float,
    span_mm: float,
    distance_mm: float,
    beam_width_deg: float,
    wavelength_mm: float,
) -> list[float]:
    """What both edges together add to the mirror's field at each lean; as `edge_ripple_db`."""
    if not (distance_mm > 0.0 and beam_width_deg > 0.0 and wavelength_mm > 0.0):
        raise MeasureError(
            f"plate: found a distance of {distance_mm} mm, a beam {beam_width_deg} degrees wide "
            f"and a wavelength of {wavelength_mm} mm; wanted: more than 0 each"
        )
    # How fast the field falls beside the beam's middle: its logarithm, a square degree.
    falls = _FIELD_PER_DB * _ONE_WAY_DB / beam_width_deg**2
    waves = []
    edges = edges_at(leans_deg, span_mm, distance_mm, wavelength_mm)
    for lean_deg, (one_deg, one_weakened, other_deg, other_weakened) in zip(
        leans_deg, edges, strict=True
    ):
        off_deg = lean_deg - aim_deg
        if not -_SQUARE_DEG < off_deg < _SQUARE_DEG:
            raise MeasureError(
                f"plate: the peak lies {abs(off_deg):.0f} degrees beside the plate, which "
                "no radar does that faces it; wanted: echo levels that rise and fall again"
            )
        facing = off_deg * off_deg
        one = math.exp(falls * (facing - (one_deg - aim_deg) ** 2)) / one_weakened
        other = math.exp(falls * (facing - (other_deg - aim_deg) ** 2)) / other_weakened
        waves.append(math.sqrt(one * one + other * other))
    return waves


class Edges(NamedTuple):
    """Of the two edges that a lean moves: where the radar sees each, from the plate's zero.

    `weakened`: the mirror's field over the edge's own wave, pi sqrt 2 v.
    """

    one_deg: float
    one_weakened: float
    other_deg: float
    other_weakened: float


@lru_cache(maxsize=256)
def edges_at(
    leans_deg: tuple[float, ...], span_mm: float, distance_mm: float, wavelength_mm: float
) -> tuple[Edges, ...]:
    """The edges at each of these leans.

    Remembered: a peak's doubt asks for the same edges under one aim and beam after another. Raises
    MeasureError where one lies at the facing point or past it.
    """
    half_mm, fresnel_mm = span_mm / 2.0, math.sqrt(wavelength_mm * distance_mm) / 2.0
    found = []
    for lean_deg in leans_deg:
        lean = math.radians(lean_deg)
        up_mm, ahead = half_mm * math.cos(lean), math.sin(lean)
        places: list[float] = []
        for side in (1.0, -1.0):
            v = (half_mm - side * distance_mm * ahead) / fresnel_mm
            if v < _NEAREST_EDGE:
                raise MeasureError(
                    f"plate: {span_mm:g} mm reach hardly past the point that faces the radar at a "
                    f"lean of {abs(lean_deg):g} degrees; wanted: a larger plate or a smaller lean"
                )
            angle = math.atan2(side * up_mm, distance_mm - side * half_mm * ahead)
            places += (math.degrees(angle), math.pi * math.sqrt(2.0) * v)
        found.append(Edges(*places))
    return tuple(found)


def plate_edges(
    *,
    vertex_deg: float,
    span_mm: float,
    distance_mm: float,
    beam_width_deg: float,
    wavelength_mm: float,
    **leans_deg: float,
) -> PlateEdges:
    """The doubt that the plate's edges put into a peak found by three leans or more.

    Leans as `lean_1_deg` and so on. A wave of unknown phase swings between its ends: u = a / sqrt 2
    (JCGM 100:2008, H.1.3.4, U-shaped), carried through the parabola's peak.
    """
    leans = tuple(leans_deg.values())
    waves = _edge_waves(leans, vertex_deg, span_mm, distance_mm, beam_width_deg, wavelength_mm)
    weights = peak_sensitivities(vertex_deg, leans, beam_width_deg)
    return PlateEdges(u_shaped_u(_DB_A_NEPER) * math.hypot(*map(mul, weights, waves)))


def peak_sensitivities(
    vertex_deg: float, leans_deg: Sequence[float], beam_width_deg: float
) -> tuple[float, ...]:
    """Degrees that the peak moves for one more decibel at each lean, three or more.

    The least-squares parabola c x^2 + s x + l has its peak at -s / 2c.
    """
    per_slope = beam_width_deg**2 / (4.0 * _ONE_WAY_DB)
    weights = parabola_weights(tuple(leans_deg))
    off_deg = 2.0 * (vertex_deg - weights.about_deg)
    return tuple(
        [
            per_slope * (of_slope + off_deg * of_curvature)
            for of_curvature, of_slope in zip(weights.of_curvature, weights.of_slope, strict=True)
        ]
    )


class ParabolaWeights(NamedTuple):
    """The mean lean, the mean square about it, and each level's weight in curvature and slope."""

    about_deg: float
    mean_square: float
    of_curvature: tuple[float, ...]
    of_slope: tuple[float, ...]


@lru_cache(maxsize=256)
def parabola_weights(leans_deg: tuple[float, ...]) -> ParabolaWeights:
    """Of a least-squares parabola through levels at these leans: what each level counts.

    Remembered, for a peak's doubt asks for the same leans again for each of its levels. Normal
    equations of the two columns with their means taken out. Raises MeasureError for fewer than
    three different leans.
    """
    about_deg = sum(leans_deg) / len(leans_deg)
    x = [lean - about_deg for lean in leans_deg]
    squares = list(map(mul, x, x))
    xx = sum(squares)
    mean_square = xx / len(x)
    y = [square - mean_square for square in squares]
    yy, xy = sum(map(mul, y, y)), sum(map(mul, x, y))
    spread = xx * yy - xy * xy
    if not spread > _LEAST_SPREAD * xx**3:
        raise MeasureError("found fewer than three different leans; wanted: at least three")
    return ParabolaWeights(
        about_deg,
        mean_square,
        tuple([(xx * b - xy * a) / spread for a, b in zip(x, y, strict=True)]),
        tuple([(yy * a - xy * b) / spread for a, b in zip(x, y, strict=True)]),
    )


def flatness_doubt_deg(*, flatness_mm: float, span_mm: float) -> float:
    """How far the part of the plate that faces the radar may be turned against its whole.

    `flatness_mm`: the face lies within plus and minus this. From one end of that to the other over
    half the span is the steepest it can plausibly be: u = atan(4 f / span) / sqrt 3.
    """
    if not (flatness_mm >= 0.0 and span_mm > 0.0):
        raise MeasureError(
            f"plate: found a flatness of {flatness_mm} mm over {span_mm} mm; wanted: 0 or more, "
            "and more than 0"
        )
    return rectangular_u(math.degrees(math.atan(4.0 * flatness_mm / span_mm)))


def hinge_correction_db(lean_deg: float, distance_mm: float, hinge_below_mm: float) -> float:
    """What to add to a level so that it is as at the upright plate's distance.

    The image stands twice as far away as the face, and its field falls with the distance. From the
    sensor to the face, square to it: D cos(lean) - h sin(lean), lean + = top towards the car.
    `distance_mm` with the plate upright; `hinge_below_mm`: the axis below the sensor's height (for
    a swing: to the right of it).
    """
    at = np.array([lean_deg]), np.array([distance_mm]), np.array([hinge_below_mm])
    return float(hinge_corrections_db(*at)[0])


def hinge_corrections_db(
    leans_deg: NDArray[np.float64],
    distance_mm: NDArray[np.float64],
    hinge_below_mm: NDArray[np.float64],
) -> NDArray[np.float64]:
    """As `hinge_correction_db`, many at once: any shapes that go together."""
    if not distance_mm.min() > 0.0:
        raise MeasureError(
            f"plate: found a distance of {distance_mm.min()} mm; wanted: more than 0"
        )
    leans = np.radians(leans_deg)
    nearer = np.cos(leans) - hinge_below_mm / distance_mm * np.sin(leans)
    if not nearer.min() > 0.0:
        raise MeasureError(
            f"plate: at a lean of {leans_deg.flat[nearer.argmin()]} degrees about a hinge "
            f"{hinge_below_mm.flat[0]} mm below it the plate would stand behind the radar; wanted: "
            "a smaller lean or a nearer hinge"
        )
    decibels: NDArray[np.float64] = 20.0 * np.log10(nearer)
    return decibels

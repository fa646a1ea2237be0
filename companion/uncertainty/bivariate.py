"""Probability that two correlated normal quantities lie within their limits together."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)
_DENSITY_WEIGHTS = _WEIGHTS / math.sqrt(2.0 * math.pi)
# Beyond eight standard deviations lies less than 2e-15 of a normal distribution.
_REACH_SD = 8.0
_LEAST_SD = 1e-12
_PLACES_A_UNIT = 128
_PLACES = np.arange(-9 * _PLACES_A_UNIT, 9 * _PLACES_A_UNIT + 1) / _PLACES_A_UNIT
_BELOW = np.array([0.5 * math.erfc(-place / math.sqrt(2.0)) for place in _PLACES.tolist()])
_DENSITY = np.exp(-0.5 * _PLACES * _PLACES) / math.sqrt(2.0 * math.pi)
# Of Taylor's series about each place, from the fourth power down to the value itself.
_SERIES = np.column_stack(
    (
        _DENSITY * _PLACES * (3.0 - _PLACES**2) / 24.0,
        _DENSITY * (_PLACES**2 - 1.0) / 6.0,
        _DENSITY * -_PLACES / 2.0,
        _DENSITY,
        _BELOW,
    )
)


def below(standardised: NDArray[np.float64]) -> NDArray[np.float64]:
    """Standard normal distribution function, good to 1e-14, for many values at once.

    Taylor's series about the nearest place of a table, up to the fourth power: nowhere is a place
    further away than 1/256.
    """
    place = np.minimum(np.maximum(standardised, -9.0), 9.0)
    place = (place + 9.0) * _PLACES_A_UNIT
    nearest = np.rint(place)
    d = (place - nearest) / _PLACES_A_UNIT
    series = _SERIES.take(nearest.astype(np.intp), axis=0)
    value: NDArray[np.float64] = series[..., 0] * d
    for power in range(1, 4):
        value += series[..., power]
        value *= d
    value += series[..., 4]
    return value


def box_probability(
    means: NDArray[np.float64], covariances: NDArray[np.float64], limits: NDArray[np.float64]
) -> NDArray[np.float64]:
    """P(|x0| <= limits[0] and |x1| <= limits[1]) for n normal pairs.

    `means` n x 2, `covariances` n x 2 x 2, `limits` 2, one unit each. The quantity with the
    narrower limits (in standard deviations) is integrated by Gauss-Legendre, 32 nodes; the other
    is taken given the first. Good to about 1e-6 unless the correlation passes 0.99.
    """
    entries = covariances.reshape(-1, 4)
    columns = np.empty((3, *means.shape))
    sd, middle, edge = columns
    np.sqrt(np.maximum(entries[:, ::3], _LEAST_SD**2), sd)
    np.divide(means, sd, middle)
    np.divide(limits, sd, edge)
    swapped = edge[:, 0] > edge[:, 1]
    columns[:, swapped] = columns[:, swapped, ::-1]
    # In standard deviations from its own mean: the first between low and high, the second given it.
    low = np.maximum(-edge[:, 0] - middle[:, 0], -_REACH_SD)
    high = np.maximum(low, np.minimum(edge[:, 0] - middle[:, 0], _REACH_SD))
    half = (high - low) / 2.0
    z = half[:, None] * _NODES + (low + half)[:, None]
    correlation = entries[:, 1] / (sd[:, 0] * sd[:, 1])
    rest = np.sqrt(np.maximum(1.0 - correlation**2, (_LEAST_SD / sd[:, 1]) ** 2))
    given_first = (middle[:, 1] / rest)[:, None] + (correlation / rest)[:, None] * z
    reach = (edge[:, 1] / rest)[:, None]
    within = below(np.concatenate((reach - given_first, -reach - given_first)))
    given = within[: len(z)] - within[len(z) :]
    result: NDArray[np.float64] = (np.exp(-0.5 * z * z) * given) @ _DENSITY_WEIGHTS * half
    return np.minimum(np.maximum(result, 0.0), 1.0)

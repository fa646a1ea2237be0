"""Probability that two correlated normal quantities lie within their limits together."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)
# Beyond eight standard deviations lies less than 2e-15 of a normal distribution.
_REACH_SD = 8.0
_LEAST_SD = 1e-12
_PLACES_A_UNIT = 128
_PLACES = np.arange(-9 * _PLACES_A_UNIT, 9 * _PLACES_A_UNIT + 1) / _PLACES_A_UNIT
_BELOW = np.array([0.5 * math.erfc(-place / math.sqrt(2.0)) for place in _PLACES.tolist()])
_DENSITY = np.exp(-0.5 * _PLACES * _PLACES) / math.sqrt(2.0 * math.pi)


def below(standardised: NDArray[np.float64]) -> NDArray[np.float64]:
    """Standard normal distribution function, good to 1e-14, for many values at once.

    Taylor's series about the nearest place of a table, up to the fourth power: nowhere is a place
    further away than 1/256.
    """
    x = np.minimum(np.maximum(standardised, -9.0), 9.0)
    place = np.rint(x * _PLACES_A_UNIT)
    d = x - place / _PLACES_A_UNIT
    index = place.astype(np.intp) + 9 * _PLACES_A_UNIT
    z = _PLACES[index]
    zz = z * z
    series = 1.0 + d * (-z / 2.0 + d * ((zz - 1.0) / 6.0 + d * (z * (3.0 - zz) / 24.0)))
    value: NDArray[np.float64] = _BELOW[index] + _DENSITY[index] * d * series
    return value


def box_probability(
    means: NDArray[np.float64], covariances: NDArray[np.float64], limits: NDArray[np.float64]
) -> NDArray[np.float64]:
    """P(|x0| <= limits[0] and |x1| <= limits[1]) for n normal pairs.

    `means` n x 2, `covariances` n x 2 x 2, `limits` 2, one unit each. The quantity with the
    narrower limits (in standard deviations) is integrated by Gauss-Legendre, 32 nodes; the other
    is taken given the first. Good to about 1e-6 unless the correlation passes 0.99.
    """
    sd = np.sqrt(np.maximum(np.diagonal(covariances, axis1=1, axis2=2), _LEAST_SD**2))
    row = np.arange(len(means))
    first = np.argmin(limits / sd, axis=1)
    second = 1 - first
    first_mean, first_sd, first_limit = means[row, first], sd[row, first], limits[first]
    low = np.maximum(-first_limit, first_mean - _REACH_SD * first_sd)
    high = np.maximum(low, np.minimum(first_limit, first_mean + _REACH_SD * first_sd))
    half = ((high - low) / 2.0)[:, None]
    z = ((low + high) / 2.0 - first_mean)[:, None] + half * _NODES
    z = z / first_sd[:, None]
    density = np.exp(-0.5 * z * z) / (math.sqrt(2.0 * math.pi) * first_sd[:, None])
    slope = covariances[:, 0, 1] / first_sd
    second_mean = means[row, second][:, None] + slope[:, None] * z
    rest = np.maximum(sd[row, second] ** 2 - slope**2, _LEAST_SD**2)
    second_sd, second_limit = np.sqrt(rest)[:, None], limits[second][:, None]
    edges = np.stack((second_limit - second_mean, -second_limit - second_mean)) / second_sd
    upper, lower = below(edges)
    given = upper - lower
    result: NDArray[np.float64] = (half * density * given) @ _WEIGHTS
    return np.minimum(np.maximum(result, 0.0), 1.0)

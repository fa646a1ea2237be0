"""Probability that two correlated normal quantities lie within their limits together."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)
# Beyond eight standard deviations lies less than 2e-15 of a normal distribution.
_REACH_SD = 8.0
_LEAST_SD = 1e-12
_erf = np.frompyfunc(math.erf, 1, 1)


def _below(standardised: NDArray[np.float64]) -> NDArray[np.float64]:
    """Standard normal distribution function."""
    return 0.5 + 0.5 * np.asarray(_erf(standardised / math.sqrt(2.0)), dtype=np.float64)


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
    given = _below((second_limit - second_mean) / second_sd) - _below(
        (-second_limit - second_mean) / second_sd
    )
    result: NDArray[np.float64] = np.sum(_WEIGHTS * half * density * given, axis=1)
    return np.clip(result, 0.0, 1.0)

"""Least squares, with the covariance of what is fitted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from companion.calibration.response import Matrix, as_matrix
from companion.errors import MeasureError


@dataclass(frozen=True)
class Fit:
    """Coefficients with their covariance for readings of standard uncertainty 1.

    Residuals are measured minus fitted, in order.
    """

    coefficients: tuple[float, ...]
    unit_covariance: Matrix
    residuals: tuple[float, ...]

    def chi_square(self, u_reading: float) -> float:
        """Sum of squared residuals in units of the doubt that one reading should have."""
        return math.fsum((r / u_reading) ** 2 for r in self.residuals)


def least_squares(design: ArrayLike, readings: Sequence[float]) -> Fit:
    """Fit readings = design @ coefficients, all readings weighted alike.

    `design`: n x m, n >= m. Raises MeasureError for unequal lengths, or where the readings cannot
    tell the coefficients apart.
    """
    matrix = np.asarray(design, dtype=np.float64)
    values = np.asarray(readings, dtype=np.float64)
    rows, columns = matrix.shape
    if rows != len(values) or rows < columns:
        raise MeasureError(
            f"fit: found {len(values)} readings for {rows} rows and {columns} unknowns; wanted: "
            "one reading a row, and at least as many as unknowns"
        )
    # Columns to one length, so that units do not decide whether the readings suffice.
    scale = np.linalg.norm(matrix, axis=0)
    if bool(np.any(scale == 0.0)) or np.linalg.cond(matrix / scale) > 1e8:
        raise MeasureError(
            "fit: these readings cannot tell the unknowns apart; wanted: readings at more "
            "different places"
        )
    inverse = np.linalg.pinv(matrix / scale) / scale[:, None]
    solution = inverse @ values
    return Fit(
        coefficients=tuple(float(item) for item in solution),
        unit_covariance=as_matrix(inverse @ inverse.T),
        residuals=tuple(float(item) for item in values - matrix @ solution),
    )

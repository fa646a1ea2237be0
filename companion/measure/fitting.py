"""Least squares with the doubt of what is fitted, and the reading that does not belong."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from companion.errors import MeasureError
from companion.measure.doubt import Measured, correlated
from companion.measure.response import Matrix, as_matrix


@dataclass(frozen=True)
class Fit:
    """Coefficients with their covariance for readings of standard uncertainty 1.

    Residuals are measured minus fitted, in order. `residual_sd` has `degrees_of_freedom` of them
    (None for as many coefficients as readings).
    """

    coefficients: tuple[float, ...]
    unit_covariance: Matrix
    residuals: tuple[float, ...]
    degrees_of_freedom: int

    @property
    def residual_sd(self) -> float | None:
        """Scatter of one reading about the fit."""
        if self.degrees_of_freedom == 0:
            return None
        return math.sqrt(math.fsum(r * r for r in self.residuals) / self.degrees_of_freedom)

    def chi_square(self, u_reading: float) -> float:
        """Sum of squared residuals in units of the doubt that one reading should have."""
        return math.fsum((r / u_reading) ** 2 for r in self.residuals)

    def measured(self, name: str, u_reading: float) -> tuple[Measured, ...]:
        """The coefficients for readings that each carry `u_reading`, correlation kept."""
        names = [f"{name} {index}" for index in range(len(self.coefficients))]
        covariance = np.array(self.unit_covariance) * u_reading**2
        return correlated(names, self.coefficients, covariance)


@dataclass(frozen=True)
class Outlier:
    """The reading that fits worst when it is left out.

    `excess`: measured minus what the others foretell. `excess_in_u`: in units of that
    prediction's and its own doubt.
    """

    index: int
    excess: float
    excess_in_u: float


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
            f"fit: found {len(values)} readings for {rows} rows and {columns} unknowns; wanted is "
            "one reading a row, and at least as many as unknowns"
        )
    # Columns to one length, so that units do not decide whether the readings suffice.
    scale = np.linalg.norm(matrix, axis=0)
    if bool(np.any(scale == 0.0)) or np.linalg.cond(matrix / scale) > 1e8:
        raise MeasureError(
            "fit: these readings cannot tell the unknowns apart; wanted are readings at more "
            "different places"
        )
    inverse = np.linalg.pinv(matrix / scale) / scale[:, None]
    solution = inverse @ values
    return Fit(
        coefficients=tuple(float(item) for item in solution),
        unit_covariance=as_matrix(inverse @ inverse.T),
        residuals=tuple(float(item) for item in values - matrix @ solution),
        degrees_of_freedom=rows - columns,
    )


def worst_outlier(design: ArrayLike, readings: Sequence[float], u_reading: float) -> Outlier:
    """Leave each reading out in turn and see how far it lies from what the others foretell.

    Needs two readings more than unknowns: with one to spare every reading misfits alike.
    Raises MeasureError for fewer.
    """
    matrix = np.asarray(design, dtype=np.float64)
    rows, columns = matrix.shape
    if rows < columns + 2:
        raise MeasureError(
            f"outlier: found {rows} readings for {columns} unknowns; wanted are {columns + 2} or "
            "more, else no reading stands out from the others"
        )
    found = []
    for index in range(rows):
        others = [row for row in range(rows) if row != index]
        fit = least_squares(matrix[others], [readings[row] for row in others])
        row = matrix[index]
        excess = readings[index] - float(row @ np.array(fit.coefficients))
        foretold = float(row @ np.array(fit.unit_covariance) @ row)
        found.append(Outlier(index, excess, excess / (u_reading * math.sqrt(1.0 + foretold))))
    return max(found, key=lambda item: abs(item.excess_in_u))

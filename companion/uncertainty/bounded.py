"""The point of a box that a 2 x n matrix brings nearest to what is wanted; n is two or three.

Of the many points that three unknowns leave, the one with the least sum of weighted sizes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Box = Sequence[tuple[float, float]]

# Columns nearer than this to one line (sine of the angle) count as one direction.
_LEAST_SINE = 1e-6
_SAME = 1e-9


def can_steer(matrix: Vector) -> bool:
    """Whether some two of the columns point in different directions."""
    (first, second), columns = matrix.tolist(), range(matrix.shape[1])
    sizes = list(map(math.hypot, first, second))
    return any(
        abs(first[i] * second[j] - first[j] * second[i]) > _LEAST_SINE * sizes[i] * sizes[j]
        for i, j in combinations(columns, 2)
    )


def nearest_in_box(matrix: Vector, wanted: Vector, box: Box, weights: Sequence[float]) -> Vector:
    """The point of the box that leaves |matrix @ point - wanted| least.

    Where the box holds an exact solution it is that one; else the best point of its sides.
    """
    exact = _exact(matrix, wanted, box, weights)
    if exact is not None:
        return exact
    points = [
        _with(point, fixed, edge)
        for fixed, edges in enumerate(box)
        for edge in edges
        for point in [_rest(matrix, wanted, box, weights, fixed, edge)]
    ]

    def off(point: Vector) -> tuple[float, float]:
        left = float(np.linalg.norm(matrix @ point - wanted))
        return round(left / _SAME) * _SAME, _size(point, weights)

    return min(points, key=off)


def _exact(matrix: Vector, wanted: Vector, box: Box, weights: Sequence[float]) -> Vector | None:
    """The exact solution with the least size that lies within the box.

    None also where two columns of one direction leave no single one: sides then hold a best point.
    """
    if len(box) == 2:
        if not can_steer(matrix):
            return None
        # Cramer's rule.
        ((a, b), (c, d)), (first, second) = matrix.tolist(), wanted.tolist()
        determinant = a * d - b * c
        only = np.array(
            [(first * d - b * second) / determinant, (a * second - first * c) / determinant]
        )
        return only if _within(only, box) else None
    some = np.linalg.lstsq(matrix, wanted, rcond=None)[0]
    # Three unknowns: along this line the result does not change.
    along = np.cross(matrix[0], matrix[1])
    along = along / np.linalg.norm(along)
    start, end, zeros = -math.inf, math.inf, [0.0]
    for at, slope, (low, high) in zip(some.tolist(), along.tolist(), box, strict=True):
        if abs(slope) < _SAME:
            if not low <= at <= high:
                return None
            continue
        edges = sorted(((low - at) / slope, (high - at) / slope))
        start, end = max(start, edges[0]), min(end, edges[1])
        zeros.append(-at / slope)
    if start > end:
        return None
    # The size is made of straight pieces, so it is least where one unknown is zero or at an end.
    points: list[Vector] = [some + min(max(place, start), end) * along for place in zeros]
    return min(points, key=lambda point: _size(point, weights))


def _rest(
    matrix: Vector, wanted: Vector, box: Box, weights: Sequence[float], fixed: int, edge: float
) -> Vector:
    """The other unknowns when one is fixed at an edge of the box."""
    others = [column for column in range(len(box)) if column != fixed]
    remaining = wanted - matrix[:, fixed] * edge
    if len(others) == 1:
        column = matrix[:, others[0]]
        size = float(column @ column)
        best = float(column @ remaining) / size if size > 0.0 else 0.0
        return np.array([np.clip(best, *box[others[0]])])
    return nearest_in_box(
        matrix[:, others],
        remaining,
        [box[other] for other in others],
        [weights[other] for other in others],
    )


def _with(point: Vector, fixed: int, edge: float) -> Vector:
    return np.insert(point, fixed, edge)


def _within(point: Vector, box: Box) -> bool:
    return all(low <= item <= high for item, (low, high) in zip(point.tolist(), box, strict=True))


def _size(point: Vector, weights: Sequence[float]) -> float:
    return float(np.abs(point) @ np.asarray(weights))

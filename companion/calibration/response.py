"""How the mount really answers the screws, learned from the moves made so far.

The answer is a matrix with doubt, a column for each of two or three screws. Turns are signed, + =
clockwise, in the mount's order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import ArrayLike, NDArray

from companion.calibration.mount import Mount, geometry_response
from companion.errors import MeasureError

Matrix = tuple[tuple[float, ...], ...]
Turns = Sequence[float | Fraction]

# How exactly a hand sets a turn it was told: a judgement, about seven degrees of the screw.
SETTING_U_TURNS = 0.02
# Of a screw's effect as a whole the pitch takes most of the doubt; each coordinate of where the
# screws sit is granted a third of it, and about a millimetre on a lever of 60 (a bracket that is
# rolled by a degree comes to the same). So a screw's effect may be larger or smaller than the
# drawing's, while the direction in which it moves the aim is known much better.
_COORDINATE_SHARE = 1.0 / 3.0
_POSITION_SD_OF_LEVER = 0.02


def as_matrix(values: ArrayLike) -> Matrix:
    """A matrix as nested tuples, so that states holding it can be compared and stored."""
    return tuple(map(tuple, np.asarray(values, dtype=np.float64).tolist()))


@dataclass(frozen=True)
class Response:
    """Degrees per clockwise turn: `mean` 2 x n, rows yaw and elevation, one column a screw.

    `covariance` 2n x 2n of the entries row by row: (yaw, first), (yaw, second), ..., (elevation,
    first), ...
    """

    mean: Matrix
    covariance: Matrix

    def predicted_deg(self, turns: Turns) -> NDArray[np.float64]:
        """Expected change (yaw, elevation)."""
        change: NDArray[np.float64] = np.array(self.mean) @ np.array([float(t) for t in turns])
        return change

    def change_covariance(
        self, turns: Turns, setting_u_turns: Sequence[float]
    ) -> NDArray[np.float64]:
        """Covariance (2x2) of that change: the response's doubt and how exactly turns are set."""
        pair = np.array([[float(turn) for turn in turns]])
        change: NDArray[np.float64] = self.change_covariances(pair, np.array([setting_u_turns]))[0]
        return change

    def change_covariances(
        self, turns: NDArray[np.float64], setting_u_turns: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """As `change_covariance`, many at once: m x 2 x 2 for m x n turns and their doubts."""
        screws = turns.shape[1]
        products = (turns[:, :, None] * turns[:, None, :]).reshape(-1, screws**2)
        # From entries (row, screw; row, screw) to one line for each product of two turns.
        entries = np.array(self.covariance).reshape(2, screws, 2, screws).transpose(1, 3, 0, 2)
        mean = np.array(self.mean)
        one_each = (mean.T[:, :, None] * mean.T[:, None, :]).reshape(screws, 4)
        change: NDArray[np.float64] = (
            products @ entries.reshape(screws**2, 4) + setting_u_turns**2 @ one_each
        )
        return change.reshape(-1, 2, 2)


def _design(turns: Turns) -> NDArray[np.float64]:
    row = [float(turn) for turn in turns]
    nothing = [0.0] * len(row)
    return np.array([row + nothing, nothing + row])


def _setting(turns: Turns, setting_u_turns: float | Sequence[float]) -> list[float]:
    """A screw that is left alone is not set wrongly."""
    if isinstance(setting_u_turns, float | int):
        return [setting_u_turns if turn != 0 else 0.0 for turn in turns]
    return list(setting_u_turns)


def prior_response(mount: Mount, relative_sd: float = 0.2) -> Response:
    """What the drawing says, before any move, with the doubt of its pitches and positions.

    `relative_sd`: how far a screw's effect may be off as a whole. The doubt is carried through the
    geometry, so that what pitches and levers have in common stays common to a screw's column.
    """
    if not relative_sd > 0.0:
        raise MeasureError(f"response: relative_sd is {relative_sd}; wanted: more than 0")
    mean = geometry_response(mount)
    screws = len(mount.screws)
    travel = np.diag([screw.rearward_mm_per_turn for screw in mount.screws])
    motion = np.degrees(np.linalg.solve(mount.travel_of_motion, travel))
    covariance = np.zeros((2 * screws, 2 * screws))
    for index, lever in enumerate(mount.levers_mm):
        column = np.zeros((2, screws))
        column[:, index] = mean[:, index] * relative_sd
        covariance += np.outer(column.ravel(), column.ravel())
        for axis, coordinate in enumerate(lever):
            sd_mm = math.hypot(
                _COORDINATE_SHARE * relative_sd * coordinate,
                _POSITION_SD_OF_LEVER * math.hypot(*lever),
            )
            shifted = np.zeros((screws, screws))
            shifted[index, axis] = sd_mm
            # Positions @ motion = travel, so a shifted position changes the motion by this.
            change = -np.linalg.solve(mount.travel_of_motion, shifted @ motion)[:2]
            covariance += np.outer(change.ravel(), change.ravel())
    return Response(as_matrix(mean), as_matrix(covariance))


def learn(
    response: Response,
    turns: Turns,
    moved_yaw_deg: float,
    moved_elevation_deg: float,
    move_covariance: ArrayLike,
    setting_u_turns: float | Sequence[float] = SETTING_U_TURNS,
) -> Response:
    """The response after seeing that `turns` moved the aim so far (Gaussian linear update).

    `move_covariance`: 2x2 of the two moved angles. `setting_u_turns`: how exactly the turns are
    known, for all screws or for each. Turns of nothing teach nothing.
    """
    if all(turn == 0 for turn in turns):
        return response
    design, before = _design(turns), np.array(response.covariance)
    innovation = response.change_covariance(turns, _setting(turns, setting_u_turns))
    innovation = innovation + np.asarray(move_covariance, dtype=np.float64)
    (a, b), (c, d) = innovation.tolist()
    inverse = np.array([[d, -b], [-c, a]]) / (a * d - b * c)
    gain = (inverse @ (design @ before)).T
    surprise = np.array([moved_yaw_deg, moved_elevation_deg]) - response.predicted_deg(turns)
    mean = np.array(response.mean) + (gain @ surprise).reshape(2, -1)
    after = before - gain @ innovation @ gain.T
    return Response(as_matrix(mean), as_matrix((after + after.T) / 2.0))

"""How the mount really answers the screws, learned from the moves made so far.

The answer is a 2x2 matrix with doubt. A move that contradicts it points to a slip: a screw turned
the wrong way, or the one for the other. Turns are signed, + = clockwise, in the mount's order.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from companion.errors import MeasureError
from companion.measure.mount import Mount, geometry_response

Matrix = tuple[tuple[float, ...], ...]
Turns = Sequence[float | Fraction]
MoveKind = Literal["as_planned", "wrong_way", "wrong_screw", "unexplained"]

# How exactly a hand sets a turn it was told: a judgement, about seven degrees of the screw.
SETTING_U_TURNS = 0.02
# How likely each story is before the move is seen: judgements, not measurements.
_PRIOR_AS_PLANNED = 0.95
_PRIOR_UNEXPLAINED = 0.01
_PRIOR_SLIPS = 1.0 - _PRIOR_AS_PLANNED - _PRIOR_UNEXPLAINED
_LEAST_UNEXPLAINED_DEG = 1.0


def as_matrix(values: ArrayLike) -> Matrix:
    """A matrix as nested tuples, so that states holding it can be compared and stored."""
    return tuple(tuple(float(item) for item in row) for row in np.asarray(values))


@dataclass(frozen=True)
class Response:
    """Degrees per clockwise turn: `mean` 2x2, rows yaw and elevation, one column a screw.

    `covariance` 4x4 of the entries in the order (yaw, first), (yaw, second), (elevation, first),
    (elevation, second).
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
        design = _design(turns)
        setting = np.array(self.mean) * np.array(setting_u_turns)
        change: NDArray[np.float64] = (
            design @ np.array(self.covariance) @ design.T + setting @ setting.T
        )
        return change


@dataclass(frozen=True)
class MoveVerdict:
    """The likeliest story of a move, the screws it blames, and its probability (0 to 1)."""

    kind: MoveKind
    screw_ids: tuple[str, ...]
    probability: float


def _design(turns: Turns) -> NDArray[np.float64]:
    first, second = (float(turn) for turn in turns)
    return np.array([[first, second, 0.0, 0.0], [0.0, 0.0, first, second]])


def _setting(turns: Turns, setting_u_turns: float) -> list[float]:
    """A screw that is left alone is not set wrongly."""
    return [setting_u_turns if turn != 0 else 0.0 for turn in turns]


def prior_response(mount: Mount, relative_sd: float = 0.2) -> Response:
    """What the drawing says, before any move: each screw's effect known to `relative_sd`.

    The doubt of a screw's column is the same in both directions, so that a screw said to turn yaw
    alone may still turn out to tip the sensor a little.
    """
    if not relative_sd > 0.0:
        raise MeasureError(f"response: relative_sd is {relative_sd}; wanted is more than 0")
    mean = geometry_response(mount)
    column_u = relative_sd * np.linalg.norm(mean, axis=0)
    return Response(as_matrix(mean), as_matrix(np.diag(np.tile(column_u**2, 2))))


def learn(
    response: Response,
    turns: Turns,
    moved_yaw_deg: float,
    moved_elevation_deg: float,
    move_covariance: ArrayLike,
    setting_u_turns: float = SETTING_U_TURNS,
) -> Response:
    """The response after seeing that `turns` moved the aim so far (Gaussian linear update).

    `move_covariance`: 2x2 of the two moved angles. Turns of nothing teach nothing.
    """
    if all(turn == 0 for turn in turns):
        return response
    design, before = _design(turns), np.array(response.covariance)
    innovation = response.change_covariance(turns, _setting(turns, setting_u_turns))
    innovation = innovation + np.asarray(move_covariance, dtype=np.float64)
    gain = np.linalg.solve(innovation, design @ before).T
    surprise = np.array([moved_yaw_deg, moved_elevation_deg]) - response.predicted_deg(turns)
    mean = np.array(response.mean) + (gain @ surprise).reshape(2, 2)
    after = before - gain @ innovation @ gain.T
    return Response(as_matrix(mean), as_matrix((after + after.T) / 2.0))


def _slips(
    mount: Mount, planned: tuple[float, float]
) -> list[tuple[MoveKind, tuple[str, ...], tuple[float, float]]]:
    """The slips that would look different from the plan: story, screws, turns really made."""
    first, second = planned
    ids = mount.screws[0].id, mount.screws[1].id
    slips: list[tuple[MoveKind, tuple[str, ...], tuple[float, float]]] = []
    if first != 0.0:
        slips.append(("wrong_way", ids[:1], (-first, second)))
    if second != 0.0:
        slips.append(("wrong_way", ids[1:], (first, -second)))
    if first != 0.0 and second != 0.0:
        slips.append(("wrong_way", ids, (-first, -second)))
    if first != second:
        slips.append(("wrong_screw", ids, (second, first)))
    return slips


def _log_density(surprise: NDArray[np.float64], spread: NDArray[np.float64]) -> float:
    _, log_determinant = np.linalg.slogdet(spread)
    distance = float(surprise @ np.linalg.solve(spread, surprise))
    return -0.5 * (distance + float(log_determinant))


def explain_move(
    mount: Mount,
    response: Response,
    planned_turns: Turns,
    moved_deg: tuple[float, float],
    move_covariance: ArrayLike,
    setting_u_turns: float = SETTING_U_TURNS,
) -> MoveVerdict:
    """Which story the moved aim tells, by Bayes' rule over a handful of them.

    Stories: as planned (by far the likeliest beforehand), either or both screws the wrong way, the
    screws taken for each other, and anything else (a broad spread about no move). A slip loses the
    backlash somewhere, so its turns are less certain. `move_covariance` 2x2, positive definite.
    Raises MeasureError if nothing was to be turned.
    """
    first, second = (float(turn) for turn in planned_turns)
    if first == 0.0 and second == 0.0:
        raise MeasureError("a move without turns has no story; wanted is at least one screw turned")
    moved, noise = np.array(moved_deg), np.asarray(move_covariance, dtype=np.float64)
    slips = _slips(mount, (first, second))
    stories: list[tuple[MoveKind, tuple[str, ...], float]] = []

    def tell(
        kind: MoveKind, ids: tuple[str, ...], turns: tuple[float, float], lost: bool, prior: float
    ) -> None:
        setting = [
            math.hypot(u, screw.backlash_turns / math.sqrt(3.0) if lost and u > 0.0 else 0.0)
            for u, screw in zip(_setting(turns, setting_u_turns), mount.screws, strict=True)
        ]
        spread = response.change_covariance(turns, setting) + noise
        density = _log_density(moved - response.predicted_deg(turns), spread)
        stories.append((kind, ids, math.log(prior) + density))

    tell("as_planned", (), (first, second), False, _PRIOR_AS_PLANNED)
    for kind, ids, turns in slips:
        tell(kind, ids, turns, True, _PRIOR_SLIPS / len(slips))
    size_deg = float(np.linalg.norm(response.predicted_deg((first, second))))
    broad_deg = max(_LEAST_UNEXPLAINED_DEG, 2.0 * size_deg)
    log_broad = _log_density(moved, noise + broad_deg**2 * np.eye(2))
    stories.append(("unexplained", (), math.log(_PRIOR_UNEXPLAINED) + log_broad))

    kind, ids, best = max(stories, key=lambda story: story[2])
    total = math.fsum(math.exp(story[2] - best) for story in stories)
    return MoveVerdict(kind, ids, 1.0 / total)

"""Which whole smallest turns of the screws leave the aim best, and how to make them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from companion.calibration.mount import Direction, Mount, Screw
from companion.calibration.response import SETTING_U_TURNS, Matrix, Response, as_matrix
from companion.calibration.steps import ScrewStep, steps_for
from companion.errors import MeasureError
from companion.uncertainty.bivariate import box_probability
from companion.uncertainty.bounded import can_steer, nearest_in_box

# Whole smallest turns looked at on each side of the exact solution, for each screw.
_NEIGHBOURHOOD = 4
# Choices this near to the best probability count as equal; among them three screws' least turning
# and then the smaller error decides.
_PROBABILITY_STEP = 0.01
_ROUNDING = 1e-9
_ANYWHERE = (-math.inf, math.inf)


@dataclass(frozen=True)
class ScrewPlan:
    """Turns to make and what they should leave.

    `turns`: net signed turns, + = clockwise, in the mount's order. `steps`: as the person makes
    them, each screw ending in the approach direction. `reachable` is False if the best that whole
    smallest turns within the travel can do lies outside a tolerance; `why` then says so.
    """

    turns: tuple[Fraction, ...]
    steps: tuple[ScrewStep, ...]
    predicted_yaw_deg: float
    predicted_elevation_deg: float
    predicted_covariance: Matrix
    predicted_probability: float
    reachable: bool
    why: str


def _allowed(screw: Screw, approach: Direction, so_far: float) -> tuple[int, int]:
    """Least and most smallest turns from here, with room for the overshoot; 0 is always allowed."""
    step, overshoot = float(screw.step), float(screw.overshoot)
    room_clockwise = screw.travel_clockwise_turns - so_far
    room_anticlockwise = screw.travel_anticlockwise_turns + so_far
    if approach == "clockwise":
        room_anticlockwise -= overshoot
    else:
        room_clockwise -= overshoot
    most = math.floor(min(room_clockwise, 1e6) / step + _ROUNDING)
    least = -math.floor(min(room_anticlockwise, 1e6) / step + _ROUNDING)
    return min(0, least), max(0, most)


def _lattice(centre: NDArray[np.float64], box: Sequence[tuple[int, int]]) -> NDArray[np.float64]:
    """Whole-step choices around the centre within the box, and the one that turns nothing."""
    ranges = []
    for item, (low, high) in zip(centre.tolist(), box, strict=True):
        below = math.floor(item)
        ranges.append(
            range(max(low, below - _NEIGHBOURHOOD + 1), min(high, below + _NEIGHBOURHOOD) + 1)
        )
    choices = list(product(*ranges))
    if not all(0 in counts for counts in ranges):
        choices.append((0,) * len(ranges))
    return np.array(choices, dtype=np.float64)


def plan_turns(
    mount: Mount,
    aim_yaw_deg: float,
    aim_elevation_deg: float,
    response: Response,
    turned_so_far: Sequence[float | Fraction],
    tolerance_yaw_deg: float,
    tolerance_elevation_deg: float,
    aim_covariance: ArrayLike,
    setting_u_turns: float = SETTING_U_TURNS,
    or_turned: Sequence[float | Fraction] | None = None,
) -> ScrewPlan:
    """The whole smallest turns likeliest to bring both angles within +-tolerance of zero.

    Among choices whose predicted aim lies inside, those within 0.01 of the highest probability
    count as equal and the least error against the tolerance wins; if none lies inside, the least
    error. Three screws can do the same in many ways: among equal ones the least turning wins first.
    `turned_so_far`: net clockwise turns since the job began; `or_turned`: where they may stand as
    well, and the travel is kept to from there too. `aim_covariance`: 2x2 of the measured aim.
    Raises MeasureError for tolerances that are not above zero or a response that cannot steer.
    """
    tolerance = np.array([tolerance_yaw_deg, tolerance_elevation_deg])
    step = np.array([float(screw.step) for screw in mount.screws])
    scaled = _scaled(response, step, tolerance)
    aim, noise = np.array([aim_yaw_deg, aim_elevation_deg]), np.asarray(aim_covariance, dtype=float)
    box = [
        _allowed(screw, mount.approach, float(so_far))
        for screw, so_far in zip(mount.screws, turned_so_far, strict=True)
    ]
    if or_turned is not None:
        others = (
            _allowed(screw, mount.approach, float(so_far))
            for screw, so_far in zip(mount.screws, or_turned, strict=True)
        )
        box = [(max(a, c), min(b, d)) for (a, b), (c, d) in zip(box, others, strict=True)]
    counts = _lattice(nearest_in_box(scaled, -aim / tolerance, box, step.tolist()), box)
    candidates = counts * step
    left = aim + candidates @ np.array(response.mean).T
    error = np.maximum.reduce(np.abs(left) / tolerance, axis=1)
    near = np.flatnonzero(error <= 1.0 + _ROUNDING)
    if not near.size:
        # Outside, a larger doubt would raise the probability, so there the error alone decides.
        near = np.array([np.argmin(error)])
    counts, candidates, left, error = counts[near], candidates[near], left[near], error[near]
    setting = np.where(candidates != 0.0, setting_u_turns, 0.0)
    spread = response.change_covariances(candidates, setting) + noise
    turning = None if mount.has_pivot else np.abs(candidates).sum(axis=1)
    chosen, probability = _best(left, spread, tolerance, error, turning)

    turns = _fractions(mount, counts[chosen])
    inside = bool(np.all(np.abs(left[chosen]) <= tolerance + _ROUNDING))
    why = ""
    if not inside:
        anywhere = [_ANYWHERE] * len(box)
        free = nearest_in_box(scaled, -aim / tolerance, anywhere, step.tolist())
        why = _why(mount, box, free, left[chosen], tolerance)
    return ScrewPlan(
        turns=turns,
        steps=steps_for(mount, turns),
        predicted_yaw_deg=float(left[chosen][0]),
        predicted_elevation_deg=float(left[chosen][1]),
        predicted_covariance=as_matrix(spread[chosen]),
        predicted_probability=probability,
        reachable=inside,
        why=why,
    )


def _scaled(
    response: Response, step: NDArray[np.float64], tolerance: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The response for one smallest turn of each screw, in units of the tolerances."""
    if not tolerance.min() > 0.0:
        raise MeasureError(
            f"screws: found tolerances {tolerance[0]} and {tolerance[1]} degrees; "
            "wanted: two above 0"
        )
    scaled: NDArray[np.float64] = np.array(response.mean) * step / tolerance[:, None]
    if not can_steer(scaled):
        raise MeasureError("screws: all move the aim in one direction; two are wanted")
    return scaled


def _fractions(mount: Mount, counts: NDArray[np.float64]) -> tuple[Fraction, ...]:
    return tuple(
        screw.step * round(float(count)) for screw, count in zip(mount.screws, counts, strict=True)
    )


def _best(
    left: NDArray[np.float64],
    spread: NDArray[np.float64],
    tolerance: NDArray[np.float64],
    error: NDArray[np.float64],
    turning: NDArray[np.float64] | None,
) -> tuple[int, float]:
    """Index of the best candidate and its probability of being inside both tolerances.

    `turning`: what decides first among equals, if anything; then the error.
    """
    probability = box_probability(left, spread, tolerance)
    equal = np.flatnonzero(probability >= probability.max() - _PROBABILITY_STEP)
    # Thirds and sixths do not add up exactly, and must still count as the same turning.
    keys = (error[equal],) if turning is None else (error[equal], np.round(turning[equal], 6))
    best = int(equal[np.lexsort(keys)[0]])
    return best, float(probability[best])


def _why(
    mount: Mount,
    box: Sequence[tuple[int, int]],
    free: NDArray[np.float64],
    left: NDArray[np.float64],
    tolerance: NDArray[np.float64],
) -> str:
    """In plain words and without signs: what stops the aim from getting inside."""
    rest = (
        f"the best that can be left is {abs(left[0]):.2f} degrees to the "
        f"{'left' if left[0] >= 0 else 'right'} and {abs(left[1]):.2f} degrees "
        f"{'up' if left[1] >= 0 else 'down'}, allowed are {tolerance[0]:.2f} and "
        f"{tolerance[1]:.2f}"
    )
    for screw, count, (low, high) in zip(mount.screws, free, box, strict=True):
        if not low - 1 < count < high + 1:
            way = "clockwise" if count > 0 else "anticlockwise"
            room = screw.step * (high if count > 0 else -low)
            needed = abs(float(count)) * float(screw.step)
            return (
                f"the {screw.name} screw would need {needed:.2f} turns {way} and has {room} left; "
                + rest
            )
    finest = " and ".join(sorted({str(screw.step) for screw in mount.screws}))
    return f"steps of {finest} turn are too coarse: {rest}"

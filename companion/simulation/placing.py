"""Putting something where given scales read given figures, as hands with tapes do it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

_ROUNDS = 8
# A millimetre along the floor or upwards, and about as much at the end of an arm of a metre.
_STEPS = (1.0, 1.0, 0.05, 1.0)

Pose = tuple[float, float, float, float]
"""Ahead and to the left in mm, turned to the left in degrees, height in mm."""


def pose_that_reads(
    begin: Pose, wanted: Sequence[float], reads_at: Callable[[Pose], Sequence[float]]
) -> Pose:
    """The pose in which `reads_at` comes nearest to `wanted`, by Gauss and Newton's steps.

    Where the figures leave something open it stays as near to where it was as it can.
    """
    pose = np.array(begin)
    for _ in range(_ROUNDS):
        here = np.array(reads_at(_pose(pose)))
        slopes = np.empty((len(wanted), len(_STEPS)))
        for axis, step in enumerate(_STEPS):
            aside = pose.copy()
            aside[axis] += step
            slopes[:, axis] = np.array(reads_at(_pose(aside))) - here
        steps = np.linalg.lstsq(slopes, np.array(wanted) - here, rcond=1e-6)[0]
        pose = pose + steps * np.array(_STEPS)
    return _pose(pose)


def _pose(found: np.ndarray) -> Pose:
    ahead, left, turn, height = (float(value) for value in found)
    return ahead, left, turn, height

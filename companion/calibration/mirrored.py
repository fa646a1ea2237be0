"""A set of readings that was taken the wrong way round: left for right, or top for bottom.

A mirrored set fits itself perfectly: nothing in it tells. But the screws were then turned for an
aim on the other side, and what they did does not fit what was measured, by twice that aim. The set
after them leaves nothing to be mirrored where they did as planned, so only the one before is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

MirroredKind = Literal["sides_swapped_before", "ends_swapped_before"]
MIRRORED_U_DEG = 0.1
"""What of an aim is not read off the plate (the stand's turn, the floor) is not turned round."""


@dataclass(frozen=True)
class Mirrored:
    """The set before the screws were turned, with one axis mirrored: 0 is yaw, 1 is elevation.

    `aim_deg`: what was measured along that axis, which was as much on the other side.
    """

    kind: MirroredKind
    axis: int
    aim_deg: float

    def foretells(
        self, move_deg: NDArray[np.float64], spread: NDArray[np.float64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """What a true move m looks like between the two sets, m - 2 aim, and its covariance."""
        shown, wider = move_deg.copy(), spread.copy()
        shown[self.axis] -= 2.0 * self.aim_deg
        wider[self.axis, self.axis] += MIRRORED_U_DEG**2
        return shown, wider

    def true_move_deg(self, moved_deg: tuple[float, float]) -> tuple[float, float]:
        """What was really moved, where so much shows between the two sets."""
        yaw, elevation = moved_deg
        back = 2.0 * self.aim_deg
        return (yaw + back, elevation) if self.axis == 0 else (yaw, elevation + back)


def mirrored_sets(before_deg: tuple[float, float]) -> tuple[Mirrored, ...]:
    """Every way in which the set before, (yaw, elevation), may have been the wrong way round."""
    return (
        Mirrored("sides_swapped_before", 0, before_deg[0]),
        Mirrored("ends_swapped_before", 1, before_deg[1]),
    )

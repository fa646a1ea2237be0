"""Where a corner target belongs, by a rotation of scipy's, and the figures that it belongs by."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

TRACK_MM: Final = 1550.0
RADIUS_MM: Final = 2800.0
ANGLE_DEG: Final = 38.0


def corner_at(side: float, thrust_deg: float) -> NDArray[np.float64]:
    """x forward of the axle's middle, y left, z up; 180 degrees is straight back."""
    turn = Rotation.from_euler("z", thrust_deg + 180.0 - side * ANGLE_DEG, degrees=True)
    return np.asarray(turn.apply([RADIUS_MM, 0.0, 0.0]))


def figures_of(side: float, thrust_deg: float) -> dict[str, Any]:
    """What the judging formula wants beside its tapes."""
    return {
        "track_mm": TRACK_MM,
        "middle_mm": RADIUS_MM,
        "thrust_direction_deg": thrust_deg,
        "wanted_radius_mm": RADIUS_MM,
        "wanted_angle_deg": ANGLE_DEG,
        "side": side,
    }

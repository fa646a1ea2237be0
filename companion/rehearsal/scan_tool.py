"""A scan tool that tells turns: it knows the mount from the file, not as it really is."""

from __future__ import annotations

import math

import numpy as np

from companion.procedure.models import MountModel


def nominal_turns(
    mount: MountModel, yaw_change_deg: float, elevation_change_deg: float
) -> tuple[float, float]:
    """Clockwise turns of both screws that turn a mount exactly like its file by these angles.

    The wanted sensor plane is x = -(y tan yaw + z tan elevation); each tip has to lie on it.
    """
    along = np.array(
        (
            math.tan(math.radians(yaw_change_deg)),
            math.tan(math.radians(elevation_change_deg)),
        )
    )
    first, second = (
        float(np.array((screw.y_mm, screw.z_mm)) @ along)
        / (screw.pitch_mm if screw.hand == "right" else -screw.pitch_mm)
        for screw in mount.screws
    )
    return first, second

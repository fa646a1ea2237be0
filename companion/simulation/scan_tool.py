"""A scan tool that tells turns: it knows the mount from the file, not as it really is."""

from __future__ import annotations

import math

import numpy as np

from companion.job.setup_files import MountModel


def nominal_turns(
    mount: MountModel, yaw_change_deg: float, elevation_change_deg: float
) -> tuple[float, ...]:
    """Clockwise turns of the screws that turn a mount exactly like its file by these angles.

    The wanted sensor plane is x = -(y tan yaw + z tan elevation / cos yaw), from the pivot or the
    middle of three screws; each tip has to lie on it.
    """
    places = np.array([(screw.y_mm, screw.z_mm) for screw in mount.screws])
    if len(places) == 3:
        places = places - places.mean(axis=0)
    along = np.array(
        (
            math.tan(math.radians(yaw_change_deg)),
            math.tan(math.radians(elevation_change_deg)) / math.cos(math.radians(yaw_change_deg)),
        )
    )
    return tuple(
        float(place @ along) / (screw.pitch_mm if screw.hand == "right" else -screw.pitch_mm)
        for screw, place in zip(mount.screws, places, strict=True)
    )

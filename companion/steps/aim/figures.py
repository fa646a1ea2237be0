"""What the aim needs of the files: the vehicle's limits and the mount with its screws."""

from __future__ import annotations

import math
from dataclasses import dataclass

from companion.calibration.mount import Mount, Screw
from companion.calibration.response import SETTING_U_TURNS
from companion.errors import FileProblem
from companion.job.plan import Plan
from companion.job.setup_files import MountModel

NEEDED = ("vehicle.aim.yaw_tolerance_deg", "vehicle.aim.elevation_tolerance_deg")


@dataclass(frozen=True)
class AimLimits:
    """How far the aim may be off to either side, degrees, and how sure that has to be."""

    yaw_deg: float
    elevation_deg: float
    confidence: float

    @property
    def both(self) -> tuple[float, float]:
        """(yaw, elevation), degrees."""
        return self.yaw_deg, self.elevation_deg


def limits_of(plan: Plan) -> AimLimits:
    """The vehicle maker's limits; a job without them was refused when it was loaded."""
    yaw, elevation = (plan.file_value(field) for field in NEEDED)
    return AimLimits(yaw, elevation, plan.files.vehicle.aim.confidence)


def mount_model(plan: Plan) -> MountModel:
    """The mount file; raises FileProblem where a job came this far without one."""
    if plan.files.mount is None:
        raise FileProblem("no mount file; wanted: one, as the job has an aim step")
    return plan.files.mount


def setting_u(model: MountModel) -> float:
    """How exactly a screw stands where it was turned to, once it is locked; in turns."""
    return math.hypot(SETTING_U_TURNS, model.lock_doubt_turns)


def mount_of(model: MountModel) -> Mount:
    """The mount file as the arithmetic wants it."""
    return Mount(tuple(Screw(**screw.model_dump()) for screw in model.screws), model.approach)

"""What the simulated scan tool says of the aim."""

from __future__ import annotations

from decimal import Decimal

from companion.job.setup_files import Vehicle
from companion.simulation.assumed import TOLERANCE_DEG, given
from companion.simulation.script_file import ScanToolVerdict
from companion.simulation.world import World


def verdict_of(verdict: ScanToolVerdict, world: World, vehicle: Vehicle) -> str:
    """The answer by the tool's own angles, which are not quite true."""
    limits = vehicle.aim
    yaw, elevation = (
        Decimal(str(given(limit, TOLERANCE_DEG)))
        for limit in (limits.yaw_tolerance_deg, limits.elevation_tolerance_deg)
    )
    inside = abs(world.read("tool_yaw")) <= yaw and abs(world.read("tool_elevation")) <= elevation
    return verdict.inside if inside else verdict.outside

"""The radar's aim against the car: yaw + = left, elevation + = up."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Aim:
    """Aim against the thrust direction (yaw) and the plane the wheels stand on (elevation)."""

    aim_yaw_deg: float
    aim_elevation_deg: float


def aim_error(
    *,
    vertex_swing_deg: float,
    vertex_lean_deg: float,
    stand_turn_deg: float,
    plate_plumb_deg: float,
    floor_slope_up_deg: float,
) -> Aim:
    """Aim from the two echo peaks, put right for how the plate, stand and floor lie.

    Swing + = left edge towards the car, lean + = top towards the car, plumb + = top away at the
    plate's own zero, floor + = rising to the front. The echo is loudest when the plate lies
    square to the beam, and a beam that looks up is square to a plate whose top comes forward.
    """
    return Aim(
        aim_yaw_deg=vertex_swing_deg + stand_turn_deg,
        aim_elevation_deg=vertex_lean_deg - plate_plumb_deg - floor_slope_up_deg,
    )


def aim_from_tool(*, tool_yaw_deg: float, tool_elevation_deg: float) -> Aim:
    """Aim as the shop's own scan tool states it, already against the car (+ = left, + = up)."""
    return Aim(aim_yaw_deg=tool_yaw_deg, aim_elevation_deg=tool_elevation_deg)

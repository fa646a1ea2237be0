"""The radar's aim against the car: yaw + = left, elevation + = up."""

from __future__ import annotations

from typing import NamedTuple

from companion.errors import MeasureError


class Aim(NamedTuple):
    """Aim against the thrust direction (yaw) and what the maker refers the elevation to.

    That is the plane the wheels stand on, or the body at the maker's ride heights.
    """

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


def aim_error_of_body(
    *,
    vertex_swing_deg: float,
    vertex_lean_deg: float,
    stand_turn_deg: float,
    plate_plumb_deg: float,
    floor_slope_up_deg: float,
    body_nose_up_deg: float,
    body_counts: float,
) -> Aim:
    """As `aim_error`, with the elevation against the body at the maker's ride heights.

    A body that now stands nose up carries its radar up by as much; on the road, at its own
    heights, it will not. `body_counts`: 1 where the maker refers the aim to the body, 0 where to
    the ground as the car stands. Raises MeasureError for any other.
    """
    if body_counts not in (0.0, 1.0):
        raise MeasureError(f"aim: body_counts is {body_counts}; wanted: 0 or 1")
    return aim_error(
        vertex_swing_deg=vertex_swing_deg,
        vertex_lean_deg=vertex_lean_deg - body_counts * body_nose_up_deg,
        stand_turn_deg=stand_turn_deg,
        plate_plumb_deg=plate_plumb_deg,
        floor_slope_up_deg=floor_slope_up_deg,
    )


def aim_from_tool(*, tool_yaw_deg: float, tool_elevation_deg: float) -> Aim:
    """Aim as the shop's own scan tool states it, already against the car (+ = left, + = up)."""
    return Aim(aim_yaw_deg=tool_yaw_deg, aim_elevation_deg=tool_elevation_deg)

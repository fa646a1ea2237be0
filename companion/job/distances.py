"""Distances that follow from vehicle and stand: worked out, and held against what was entered."""

from __future__ import annotations

from companion.errors import FileProblem
from companion.job.setup_files import Bay, Vehicle

# What was entered may have been measured with a tape, and the car need not stand to the millimetre.
AGREES_WITHIN_MM = 25.0


def with_distances(bay: Bay, vehicle: Vehicle, where: str) -> Bay:
    """The bay with the laser's path and the stand's spot, for this vehicle.

    Raises FileProblem where the bay file has other ones: it was made for another vehicle.
    """
    stand, floor = bay.stand, bay.floor
    spot_mm = vehicle.sensor_ahead_of_front_axle_mm + stand.plate_distance_mm
    path_mm = vehicle.wheelbase_mm + spot_mm + stand.mirror_bar_ahead_of_plate_mm
    _agree(where, "stand.laser_path_mm", stand.laser_path_mm, path_mm)
    _agree(
        where,
        "floor.stand_spot_ahead_of_front_axle_mm",
        floor.stand_spot_ahead_of_front_axle_mm,
        spot_mm,
    )
    paths: dict[str, float] = {"laser_path_mm": path_mm}
    if vehicle.camera is not None:
        board_mm = vehicle.wheelbase_mm + vehicle.camera.board_ahead_of_front_axle_mm
        board_mm += stand.mirror_bar_ahead_of_plate_mm
        _agree(where, "stand.board_laser_path_mm", stand.board_laser_path_mm, board_mm)
        paths["board_laser_path_mm"] = board_mm
    return bay.model_copy(
        update={
            "stand": stand.model_copy(update=paths),
            "floor": floor.model_copy(update={"stand_spot_ahead_of_front_axle_mm": spot_mm}),
        }
    )


def _agree(where: str, field: str, entered_mm: float | None, follows_mm: float) -> None:
    if entered_mm is not None and abs(entered_mm - follows_mm) > AGREES_WITHIN_MM:
        raise FileProblem(
            f"{where}, {field}: found {entered_mm:g}; wanted: {follows_mm:g}, which follows from "
            "the vehicle file's wheelbase and sensor and the stand's plate distance, or no entry"
        )

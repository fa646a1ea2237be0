"""Other sensors' bays: a target board before a camera, a reflector behind a corner radar.

Everything stands as points in three dimensions; a tape is the distance of two of them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from random import Random
from types import MappingProxyType

from companion.job.setup_files import Bay, CameraBoard, MountModel, Range, Vehicle
from companion.simulation.errors import RehearsalError
from companion.simulation.floor import wheel_spots
from companion.simulation.handling import Handling
from companion.simulation.optics import stand_centre
from companion.simulation.truth import Truth
from companion.simulation.vectors import Vector, elevation_deg, heading_deg, vector
from companion.simulation.world import World

_FIRST_DEG, _SEATED_DEG = 0.9, 0.35
_PLUMB_SD_MM = 1.0
_CAMERA_SD_MM = 1.0


class BoardWorld(World):
    """The stand carries a camera's target board; its arms hang at the height of the beams."""

    def __init__(
        self,
        truth: Truth,
        vehicle: Vehicle,
        mount: MountModel,
        bay: Bay,
        random: Random,
        handling: Handling | None = None,
    ) -> None:
        super().__init__(truth, vehicle, mount, bay, random, handling)
        if vehicle.camera is None:
            raise RehearsalError("the vehicle file has no camera: wanted one, with its board")
        self._camera: CameraBoard = vehicle.camera
        # As far from its place as the radar's stand was drawn from its own.
        radar_mm = vehicle.sensor_ahead_of_front_axle_mm + bay.stand.plate_distance_mm
        self._replace_stand(
            ahead_mm=self.stand.ahead_mm + vehicle.camera.board_ahead_of_front_axle_mm - radar_mm,
            left_mm=self.stand.left_mm - vehicle.sensor_left_of_centre_mm,
            plate_height_mm=self.stand.plate_height_mm
            + vehicle.camera.board_height_mm
            - vehicle.sensor_height_mm,
        )
        self._marks = {side: self._near(2 + place) for place, side in enumerate(("left", "right"))}
        self._camera_off_mm = vector(*(random.gauss(0.0, _CAMERA_SD_MM) for _ in range(3)))
        self._looks_deg = self._somewhere(_FIRST_DEG)
        self._values |= {
            "board_tape": self._tape_mm,
            "board_height": lambda _: self.stand.plate_height_mm,
            "camera_yaw": lambda _: self._tool_deg()[0] + truth.unseen.tool_off_yaw_deg,
            "camera_elevation": lambda _: self._tool_deg()[1] + truth.unseen.tool_off_elevation_deg,
        }

    def seat_sensor(self) -> None:
        self._looks_deg = self._somewhere(_SEATED_DEG)

    def truly_inside(self) -> bool:
        """The board at its place within every tolerance, and the camera's angles inside."""
        camera, board = self._camera, self._board()
        in_car = self._car.axes.T @ (board - self._car.place(0.0, 0.0, 0.0))
        yaw_deg, up_deg = self._looks_deg
        off = (
            (self.stand.left_high_mm_per_m, camera.level_tolerance_mm_per_m),
            (self.truth_now().stand_turn_deg, camera.turn_tolerance_deg),
            (self._car.from_rear_axle(board)[1], camera.sideways_tolerance_mm),
            (in_car[0] - camera.board_ahead_of_front_axle_mm, camera.distance_tolerance_mm),
            (in_car[2] - camera.board_height_mm, camera.height_tolerance_mm),
            (yaw_deg, camera.yaw_limit_deg),
            (up_deg, camera.elevation_limit_deg),
        )
        return all(abs(value) <= limit for value, limit in off)

    def _somewhere(self, most: float) -> tuple[float, float]:
        return self._random.uniform(-most, most), self._random.uniform(-most, most)

    def _near(self, spot: int) -> Vector:
        """A wheel's plumb mark: under its middle, nearly."""
        ahead, left = (self._random.gauss(0.0, _PLUMB_SD_MM) for _ in range(2))
        aside = vector(ahead, left, 0.0)
        return wheel_spots(self._truth.floor, self._vehicle)[spot] + aside

    def _board(self) -> Vector:
        return stand_centre(self.stand, self._stand_floor_mm())

    def _tape_mm(self, where: str) -> float:
        foot = self._board() - vector(0.0, 0.0, self.stand.plate_height_mm)
        return math.dist(foot, self._marks[where])

    def _tool_deg(self) -> tuple[float, float]:
        """What the tool tells: the camera's own angles, less what the board is seen off by."""
        camera, vehicle = self._camera, self._vehicle
        ride = self._truth.ride_heights_mm
        front = sum(ride[:2]) / 2 - _middle(vehicle.ride_height_front_mm)
        rear = sum(ride[2:]) / 2 - _middle(vehicle.ride_height_rear_mm) + self._rear_up_mm
        part = -camera.ahead_of_front_axle_mm / vehicle.wheelbase_mm
        eye = self._car.place(
            camera.ahead_of_front_axle_mm,
            camera.left_of_centre_mm,
            camera.height_mm + front + (rear - front) * part,
        )
        sight: Vector = self._car.thrust_axes.T @ (self._board() - eye - self._camera_off_mm)
        on_paper = vector(
            camera.board_ahead_of_front_axle_mm - camera.ahead_of_front_axle_mm,
            0.0,
            camera.board_height_mm - camera.height_mm,
        )
        yaw_deg, up_deg = self._looks_deg
        return (
            yaw_deg - heading_deg(sight),
            up_deg - elevation_deg(sight) + elevation_deg(on_paper),
        )


def _middle(between: Range) -> float:
    return (between.low + between.high) / 2.0


SCENES: Mapping[str, type[World]] = MappingProxyType({"radar": World, "board": BoardWorld})
"""What stands in the simulated bay, by the name that a rehearsal file gives it."""

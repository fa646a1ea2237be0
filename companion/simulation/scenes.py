"""Other sensors' bays: a target board before a camera, a reflector behind a corner radar.

Everything stands as points in three dimensions; a tape is the distance of two of them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from companion.job.setup_files import CameraBoard, CornerReflector, Range, SurroundMats
from companion.simulation.errors import RehearsalError
from companion.simulation.floor import wheel_spots
from companion.simulation.optics import stand_centre
from companion.simulation.truth import StandPose, Truth
from companion.simulation.vectors import Vector, elevation_deg, heading_deg, turn_about_z, vector
from companion.simulation.world import World

_FIRST_DEG, _SEATED_DEG = 0.9, 0.35
_PLUMB_SD_MM = 1.0
_CAMERA_SD_MM = 1.0


class BoardWorld(World):
    """The stand carries a camera's target board; its arms hang at the height of the beams."""

    def _arrange(self) -> None:
        truth, vehicle, stand, random = self._truth, self._vehicle, self._bay.stand, self._random
        if vehicle.camera is None:
            raise RehearsalError("the vehicle file has no camera: wanted one, with its board")
        self._camera: CameraBoard = vehicle.camera
        # As far from its place as the radar's stand was drawn from its own.
        radar_mm = vehicle.sensor_ahead_of_front_axle_mm + stand.plate_distance_mm
        self._replace_stand(
            ahead_mm=self.stand.ahead_mm + vehicle.camera.board_ahead_of_front_axle_mm - radar_mm,
            left_mm=self.stand.left_mm - vehicle.sensor_left_of_centre_mm,
            plate_height_mm=self.stand.plate_height_mm
            + vehicle.camera.board_height_mm
            - vehicle.sensor_height_mm,
        )
        self._plumb_sd_mm = _plumb_sd_mm(truth)
        self._marks = {side: self._near(2 + place) for place, side in enumerate(("left", "right"))}
        sd_mm = _CAMERA_SD_MM * truth.unseen.noise.get("sensor_place", 1.0)
        off_mm = [random.gauss(0.0, sd_mm) for _ in range(3)]
        self._camera_off_mm = vector(off_mm[0], off_mm[1], off_mm[2])
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
        ahead, left = (self._random.gauss(0.0, self._plumb_sd_mm) for _ in range(2))
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


class CornerWorld(World):
    """A reflector on a bar stands behind one corner of the car; `side` is 1 for the left."""

    side = 1.0

    def _arrange(self) -> None:
        truth, vehicle, stand, random = self._truth, self._vehicle, self._bay.stand, self._random
        if vehicle.corner is None or stand.reflector_bar_mm is None:
            raise RehearsalError("no corner radar in the vehicle file, or no bar in the bay file")
        self._corner: CornerReflector = vehicle.corner
        self._bar_mm = stand.reflector_bar_mm
        place = self._belongs()
        self._replace_stand(
            ahead_mm=float(place[0]) + random.uniform(-80.0, 80.0),
            left_mm=float(place[1]) + random.uniform(-80.0, 80.0),
            turn_deg=random.uniform(-4.0, 4.0),
            plate_height_mm=vehicle.corner.reflector_height_mm + random.uniform(-40.0, 40.0),
        )
        self._floor_mm = random.gauss(0.0, 3.0)
        self.plumb_marks()
        self._points_deg = random.uniform(-1.4, 1.4)
        self._values |= {
            "marks_apart": lambda _: math.dist(self._marks["left"], self._marks["right"]),
            "corner_tape": lambda where: math.dist(self._foot(), self._marks[where]),
            "bar_tape": lambda where: math.dist(self._end(where), self._middle),
            "corner_height": lambda _: self.stand.plate_height_mm,
            "corner_yaw": lambda _: self._tool_deg() + truth.unseen.tool_off_yaw_deg,
        }

    def move_stand(self, ahead_mm: float, left_mm: float) -> None:
        """Away from the car is backwards here."""
        super().move_stand(-ahead_mm, left_mm)

    def plumb_marks(self) -> None:
        sd_mm, draw = _plumb_sd_mm(self._truth), self._random.gauss
        spots = wheel_spots(self._truth.floor, self._vehicle)[:2]
        self._marks = {
            side: spot + vector(draw(0.0, sd_mm), draw(0.0, sd_mm), 0)
            for side, spot in zip(("left", "right"), spots, strict=True)
        }
        self._middle = (self._marks["left"] + self._marks["right"]) / 2.0

    def seat_sensor(self) -> None:
        self._points_deg = self._random.uniform(-0.5, 0.5)

    def truly_inside(self) -> bool:
        """The reflector at its place, facing the car, and the radar's angle inside."""
        corner = self._corner
        off = self._car.thrust_axes.T @ (self._foot() - self._belongs())
        rear = self._car.place(-self._vehicle.wheelbase_mm, 0.0, 0.0)
        sight, bar = self._foot() - rear, self._end("outer") - self._end("inner")
        # Square to each other they are 90 degrees apart, seen from above.
        apart_deg = abs((heading_deg(bar) - heading_deg(sight) + 180.0) % 360.0 - 180.0)
        held = (
            (off[0], corner.place_tolerance_mm),
            (off[1], corner.place_tolerance_mm),
            (self.stand.plate_height_mm - corner.reflector_height_mm, corner.height_tolerance_mm),
            (apart_deg - 90.0, corner.facing_tolerance_deg),
            (self._points_deg, corner.angle_limit_deg),
        )
        return all(abs(value) <= limit for value, limit in held)

    def _belongs(self) -> Vector:
        """Where the reflector belongs, on the wheels' plane."""
        rear = self._car.place(-self._vehicle.wheelbase_mm, 0.0, 0.0)
        out = turn_about_z(180.0 - self.side * self._corner.reflector_angle_deg)
        found: Vector = rear + self._car.thrust_axes @ (
            out @ vector(self._corner.reflector_radius_mm, 0.0, 0.0)
        )
        return found

    def _foot(self) -> Vector:
        return vector(self.stand.ahead_mm, self.stand.left_mm, self._floor_mm)

    def _end(self, where: str) -> Vector:
        """An end of the bar, plumbed to the floor: square to the place's line, but for its turn."""
        rear = self._car.place(-self._vehicle.wheelbase_mm, 0.0, 0.0)
        square_deg = heading_deg(self._belongs() - rear) - self.side * 90.0
        along = turn_about_z(square_deg + self.stand.turn_deg) @ vector(self._bar_mm / 2.0, 0, 0)
        found: Vector = self._foot() + along if where == "outer" else self._foot() - along
        return found

    def _tool_deg(self) -> float:
        """The radar's own error, less what the reflector is seen to the left of its place."""
        corner = self._corner
        eye = self._car.place(
            -self._vehicle.wheelbase_mm - corner.behind_rear_axle_mm,
            self.side * corner.out_of_centre_mm,
            0.0,
        )
        seen, wanted = (
            heading_deg(self._car.thrust_axes.T @ (point - eye))
            for point in (self._foot(), self._belongs())
        )
        return self._points_deg - (seen - wanted)


class RightCornerWorld(CornerWorld):
    """The same behind the right corner."""

    side = -1.0


class MatsWorld(World):
    """Mats on the floor before and behind the car; what is moved is the one measured last."""

    def _arrange(self) -> None:
        truth, vehicle, bay, random = self._truth, self._vehicle, self._bay, self._random
        if vehicle.mats is None or bay.stand.mat_mm is None:
            raise RehearsalError("no mats in the vehicle file, or no mat_mm in the bay file")
        self._mats_file: SurroundMats = vehicle.mats
        self._mat_mm = bay.stand.mat_mm
        spots = wheel_spots(truth.floor, vehicle)
        names = ("rear left", "rear right", "front left", "front right")
        plumb_mm = _plumb_sd_mm(truth)
        self._marks = {
            name: spot + vector(random.gauss(0.0, plumb_mm), random.gauss(0.0, plumb_mm), 0)
            for name, spot in zip(names, spots, strict=True)
        }
        self._floor_mm = {end: random.gauss(0.0, 3.0) for end in ("front", "rear")}
        self._poses = {end: self._thrown(end) for end in ("front", "rear")}
        self._at = "front"
        self.stand = self._poses["front"]
        self._values |= {
            "mat_tape": self._mat_tape_mm,
            "field_tape": lambda side: math.dist(
                self._corner("front", side), self._corner("rear", _OTHER[side])
            ),
        }

    def move_stand(self, ahead_mm: float, left_mm: float) -> None:
        """Away from the car is ahead for the mat before it, and backwards for that behind."""
        super().move_stand(ahead_mm if self._at == "front" else -ahead_mm, left_mm)

    def _replace_stand(self, **changes: float) -> None:
        super()._replace_stand(**changes)
        self._poses[self._at] = self.stand

    def truly_inside(self) -> bool:
        """Both mats at their places across the body, and the field between them square."""
        mats, corners = self._mats_file, {}
        for end in ("front", "rear"):
            for side in ("left", "right"):
                point = self._corner(end, side) - self._car.place(0.0, 0.0, 0.0)
                corners[end, side] = self._car.axes.T @ point
        middle = {end: (corners[end, "left"] + corners[end, "right"]) / 2.0 for end in self._poses}
        behind = -self._vehicle.wheelbase_mm - mats.rear_mm
        held = [
            (middle["front"][0] - mats.front_mm, mats.distance_tolerance_mm),
            (middle["rear"][0] - behind, mats.distance_tolerance_mm),
        ]
        for end in self._poses:
            across = corners[end, "left"] - corners[end, "right"]
            held += [
                (middle[end][1], mats.sideways_tolerance_mm),
                (heading_deg(across) - 90.0, mats.turn_tolerance_deg),
            ]
        along = middle["front"] - middle["rear"]
        turned = [
            heading_deg(corners[end, "left"] - corners[end, "right"]) - 90.0 for end in self._poses
        ]
        # Square means: what runs from mat to mat is square to both, on average.
        held.append((heading_deg(along) - sum(turned) / 2.0, mats.skew_tolerance_deg))
        return all(abs(value) <= limit for value, limit in held)

    def _thrown(self, end: str) -> StandPose:
        """A mat as it is laid down at first."""
        draw, mats = self._random.uniform, self._mats_file
        place = mats.front_mm if end == "front" else -self._vehicle.wheelbase_mm - mats.rear_mm
        return replace(
            self.stand,
            ahead_mm=place + draw(-80.0, 80.0),
            left_mm=draw(-80.0, 80.0),
            turn_deg=draw(-3.0, 3.0),
        )

    def _corner(self, end: str, side: str) -> Vector:
        pose = self._poses[end]
        half = self._mat_mm / 2.0 if side == "left" else -self._mat_mm / 2.0
        found: Vector = vector(pose.ahead_mm, pose.left_mm, self._floor_mm[end]) + turn_about_z(
            pose.turn_deg
        ) @ vector(0.0, half, 0.0)
        return found

    def _mat_tape_mm(self, where: str) -> float:
        end, side, *diagonal = where.split()
        self._at, self.stand = end, self._poses[end]
        corner = self._corner(end, _OTHER[side] if diagonal else side)
        return math.dist(corner, self._marks[f"{end} {side}"])


def _plumb_sd_mm(truth: Truth) -> float:
    """How far a plumb mark lies from under its wheel's middle, either way."""
    return _PLUMB_SD_MM * truth.unseen.noise.get("plumb_mark", 1.0)


_OTHER = {"left": "right", "right": "left"}


def _middle(between: Range) -> float:
    return (between.low + between.high) / 2.0


SCENES: Mapping[str, type[World]] = MappingProxyType(
    {
        "radar": World,
        "board": BoardWorld,
        "corner": CornerWorld,
        "right corner": RightCornerWorld,
        "mats": MatsWorld,
    }
)
"""What stands in the simulated bay, by the name that a rehearsal file gives it."""

"""The rehearsal bay as it stands now: what its scales show and what hands do to it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from random import Random

from companion.job.setup_files import Bay, MountModel, Vehicle
from companion.simulation.assumed import DETENT_DEG, TOLERANCE_DEG, given
from companion.simulation.car import Car
from companion.simulation.errors import RehearsalError
from companion.simulation.floor import (
    stand_spot_ahead_mm,
    wheel_spots,
)
from companion.simulation.handling import Handling
from companion.simulation.mount import ScrewState, Way
from companion.simulation.optics import (
    Beam,
    Side,
    arm_reading_mm,
    spot_shift_mm,
    stand_axes,
    stand_centre,
    wheel_beam,
)
from companion.simulation.placing import Pose, pose_that_reads
from companion.simulation.radar import (
    Plate,
    carried_by_hinges,
    echo_db,
    plate_axes,
    standing_wave_db,
)
from companion.simulation.scales import scale
from companion.simulation.scan_tool import nominal_turns
from companion.simulation.truth import StandPose, Truth, draw_clamp, toe_difference_mm
from companion.simulation.vectors import Matrix, heading_deg, turn_about_z, vector

_CORNERS = ("front left", "front right", "rear left", "rear right")
_SPOTS = ("rear left", "rear right", "front left", "front right")
_LINE_LASER_HEIGHT_MM = 420.0
_OF_POSE = ("ahead_mm", "left_mm", "turn_deg", "plate_height_mm")
# Of lean and of swing, in the order of what is drawn for each.
_DETENTS = (1.0, 0.0, -1.0, 0.5, -0.5)


@dataclass(frozen=True, slots=True)
class TruthNow:
    """What is true at this moment; for the scoring alone.

    Aim and stand turn are from the thrust direction; the elevation is from what the vehicle file
    refers it to: the wheels' plane, or the body at the middle of its ride heights. The plate's
    distance is the stand's: as with the plate upright and in the middle, wherever it is left.
    """

    aim_yaw_deg: float
    aim_elevation_deg: float
    stand_turn_deg: float
    stand_left_mm: float
    plate_distance_mm: float


class World:
    """One bay with one car in it. Everything random comes from the generator that it is given."""

    def __init__(
        self,
        truth: Truth,
        vehicle: Vehicle,
        mount: MountModel,
        bay: Bay,
        random: Random,
        handling: Handling | None = None,
    ) -> None:
        self._truth = truth
        self._vehicle = vehicle
        self._mount_file = mount
        self._bay = bay
        self._random = random
        self._handling = handling or Handling()
        self._car = Car(truth, vehicle)
        self._clamps = {"left": truth.clamp_left, "right": truth.clamp_right}
        self._heads_deg = {"left": truth.unseen.head_left_deg, "right": truth.unseen.head_right_deg}
        self._wheel_turned_deg = {"left": 0.0, "right": 0.0}
        # What lifting has moved and settling puts right again, nearly.
        self._toe_moved_deg = {"left": 0.0, "right": 0.0}
        self._rear_up_mm = 0.0
        self._bar_left_deg = 0.0
        self._detents = [1, 1]
        self._line_laser_tilt = (0.0, 0.0)
        self.stand: StandPose = truth.stand
        self._screws = [ScrewState(screw) for screw in truth.mount.screws]
        for state in self._screws:
            state.lie_against(random.choice(("clockwise", "anticlockwise")))
        self._values: dict[str, Callable[[str], float]] = {
            "floor_rule": self._rule_mm,
            "ride_height": self._ride_height_mm,
            "battery": lambda _: truth.battery_volt,
            "temperature": lambda _: truth.temperature_celsius,
            "arm": self._arm_mm,
            "toe_deg": self._sheet_toe_deg,
            "toe_mm": lambda side: toe_difference_mm(
                self._sheet_toe_deg(side), truth.sheet.diameter_mm
            ),
            "toe_diameter": lambda _: truth.sheet.diameter_mm,
            "level": lambda _: self.stand.left_high_mm_per_m,
            "spot": self._spot_mm,
            "plate_distance": lambda _: self._plate_distance_mm(),
            "plate_height": lambda _: self.stand.plate_height_mm,
            "plumb": lambda _: self.stand.top_away_mm_per_m + truth.unseen.plumb_off_mm_per_m,
            "echo": lambda _: self._echo_db(),
            "tool_yaw": lambda _: self._tool_deg_of_aim()[0],
            "tool_elevation": lambda _: self._tool_deg_of_aim()[1],
            # What the tool wants changed, where it tells that in place of what is.
            "tool_yaw_correction": lambda _: -self._tool_deg_of_aim()[0],
            "tool_elevation_correction": lambda _: -self._tool_deg_of_aim()[1],
            "tool_turns": self._tool_turns,
        }
        self._arrange()

    def _arrange(self) -> None:
        """What another sensor's bay has of its own, set up once the rest stands."""

    def true_value(self, scale_name: str, where: str = "") -> float:
        """What the scale would show without noise and at endless fineness."""
        try:
            return self._values[scale_name](where)
        except (KeyError, ValueError) as error:
            raise RehearsalError(
                f"the bay has no scale {scale_name!r} at {where!r}: wanted one of "
                f"{', '.join(sorted(self._values))}, at a place that it has"
            ) from error

    def read(self, scale_name: str, where: str = "") -> Decimal:
        """What somebody reads there now, signed as the scale's directions say."""
        unseen = self._truth.unseen
        return scale(scale_name).read(
            self.true_value(scale_name, where),
            self._random,
            unseen.noise.get(scale_name, 1.0),
            unseen.echo_step if scale_name == "echo" else 1.0,
        )

    def truth_now(self) -> TruthNow:
        """The hidden state as it stands; nothing that the technician could read."""
        yaw_deg, elevation_deg = self._car.aim_deg(self._screws)
        thrust_deg = self._truth.thrust_deg
        back_mm = self.stand.ahead_mm + self._vehicle.wheelbase_mm
        thrust_line_mm = back_mm * math.tan(math.radians(thrust_deg))
        return TruthNow(
            aim_yaw_deg=yaw_deg,
            aim_elevation_deg=elevation_deg,
            stand_turn_deg=self.stand.turn_deg - heading_deg(self._car.axes[:, 0]) - thrust_deg,
            stand_left_mm=self.stand.left_mm
            - self._vehicle.sensor_left_of_centre_mm
            - thrust_line_mm,
            plate_distance_mm=self._distance_of_mm(self._plate_at(0.0, 0.0)),
        )

    def truly_inside(self) -> bool:
        """Whether the job's result is true: here, whether the radar's aim is inside."""
        truth, limits = self.truth_now(), self._vehicle.aim
        return abs(truth.aim_yaw_deg) <= given(limits.yaw_tolerance_deg, TOLERANCE_DEG) and abs(
            truth.aim_elevation_deg
        ) <= given(limits.elevation_tolerance_deg, TOLERANCE_DEG)

    def seat_sensor(self) -> None:
        """Nothing of this bay; a scene with another sensor knows what it does."""

    def plumb_marks(self) -> None:
        """Nothing of this bay either."""

    def set_line_laser(self) -> None:
        """Set it up and level it, as well as its bubble allows."""
        tilt = self._truth.unseen.line_laser_mm_per_m / 1000.0
        self._line_laser_tilt = (self._random.gauss(0.0, tilt), self._random.gauss(0.0, tilt))

    def place_shim(self, spot: str, thickness_mm: float) -> None:
        """Raise the floor under a wheel; the car stands on it from now on."""
        field = f"{spot.replace(' ', '_')}_mm"
        floor = self._truth.floor
        raised = replace(floor, **{field: getattr(floor, field) + thickness_mm})
        self._truth = replace(self._truth, floor=raised)
        self._car = Car(self._truth, self._vehicle)

    def turn_wheel(self, side: Side, quarters: int) -> None:
        """Turn a rear wheel so far from its start mark; a full turn is the start again.

        It is off the ground for it, and comes down a little otherwise than it stood.
        """
        slip_deg = self._random.gauss(0.0, self._handling.wheel_deg)
        if quarters == 0:
            slip_deg *= self._truth.unseen.wheel_back
        self._wheel_turned_deg[side] = 90.0 * (quarters % 4) + slip_deg
        if quarters == 0:
            unseen = self._truth.unseen
            self._toe_moved_deg[side] = self._some(unseen.lifted_toe_sd_deg)
            self._rear_up_mm = self._some(unseen.lifted_ride_sd_mm)

    def settle(self) -> None:
        """Roll the car a turn of its wheels and back, and bounce it."""
        unseen = self._truth.unseen
        for side in self._toe_moved_deg:
            self._toe_moved_deg[side] = self._some(unseen.settled_toe_sd_deg)
        self._rear_up_mm = self._some(unseen.settled_ride_sd_mm)

    def change_heads(self, *, own_wheels: bool = False) -> None:
        """Each laser head to the other wheel, turned over about its beam; or back to its own."""
        left, right = self._truth.unseen.head_left_deg, self._truth.unseen.head_right_deg
        changed = {"left": -right, "right": -left}
        self._heads_deg = {"left": left, "right": right} if own_wheels else changed

    def shim_bar(self, *, is_in: bool) -> None:
        """The shim of the monthly check between the mirror bar's left end and its seat, or out."""
        stand = self._bay.stand
        if stand.check_shim_mm is None or stand.check_base_mm is None:
            raise RehearsalError("the bay file has no check_shim_mm and check_base_mm: wanted both")
        thick_mm = stand.check_shim_mm + self._random.gauss(0.0, stand.check_shim_doubt_mm)
        base_mm = stand.check_base_mm + self._random.gauss(0.0, stand.check_base_doubt_mm)
        self._bar_left_deg = math.degrees(math.asin(thick_mm / base_mm)) if is_in else 0.0

    def lock_screws(self) -> None:
        """Tighten the lock nuts; the screws give a little."""
        for screw in self._screws:
            screw.creep(self._some(self._truth.unseen.lock_sd_turns))

    def _some(self, sd: float) -> float:
        """A draw of this spread; none is drawn where there is none, so that bays repeat."""
        return self._random.gauss(0.0, sd) if sd else 0.0

    def seat_clamp(self, side: Side) -> None:
        """Take the clamp off and seat it again, with more care than the first time."""
        self._clamps[side] = draw_clamp(self._random, 0.15)

    def set_lean(self, towards: float) -> None:
        """Plate to a detent: 1 top towards the car, 0 upright, -1 top away; a half: near."""
        self._detents[0] = _DETENTS.index(towards)

    def set_swing(self, left_towards: float) -> None:
        """Plate to a detent: 1 left edge towards the car, 0 middle, -1 right edge towards."""
        self._detents[1] = _DETENTS.index(left_towards)

    def move_stand(self, ahead_mm: float, left_mm: float) -> None:
        """Push the stand; it hardly ever stays quite parallel."""
        hands, random = self._handling, self._random
        self._replace_stand(
            ahead_mm=self.stand.ahead_mm
            + (hands.amount(random, ahead_mm, hands.push_mm) if ahead_mm else 0.0),
            left_mm=self.stand.left_mm
            + (hands.amount(random, left_mm, hands.push_mm) if left_mm else 0.0),
            turn_deg=self.stand.turn_deg + random.gauss(0.0, hands.push_turns_deg),
        )

    def turn_stand(self, left_deg: float) -> None:
        """Turn the stand about one of its feet, so that its centre moves as well."""
        angle_deg = self._handling.amount(self._random, left_deg, self._handling.turn_deg)
        angle = math.radians(angle_deg)
        heading = math.radians(self.stand.turn_deg)
        ahead_mm = self._truth.stand_foot_ahead_mm
        left_mm = self._truth.stand_foot_left_mm

        def foot(turn: float) -> tuple[float, float]:
            c, s = math.cos(turn), math.sin(turn)
            return c * ahead_mm - s * left_mm, s * ahead_mm + c * left_mm

        before, after = foot(heading), foot(heading + angle)
        self._replace_stand(
            turn_deg=self.stand.turn_deg + angle_deg,
            ahead_mm=self.stand.ahead_mm + before[0] - after[0],
            left_mm=self.stand.left_mm + before[1] - after[1],
        )

    def level_stand(self, left_up_mm_per_m: float) -> None:
        """Bring the stand's left end up (or down, below zero) at its feet."""
        hands, random = self._handling, self._random
        change = hands.amount(random, left_up_mm_per_m, hands.tilt_mm_per_m)
        self._replace_stand(
            left_high_mm_per_m=self.stand.left_high_mm_per_m + change,
            top_away_mm_per_m=self.stand.top_away_mm_per_m
            + random.gauss(0.0, hands.tilt_disturbs_mm_per_m),
        )

    def tilt_plate(self, top_away_mm_per_m: float) -> None:
        """Bring the plate's top away from the car (or towards it, below zero)."""
        hands, random = self._handling, self._random
        change = hands.amount(random, top_away_mm_per_m, hands.tilt_mm_per_m)
        self._replace_stand(
            top_away_mm_per_m=self.stand.top_away_mm_per_m + change,
            left_high_mm_per_m=self.stand.left_high_mm_per_m
            + random.gauss(0.0, hands.tilt_disturbs_mm_per_m),
        )

    def set_stand(self) -> None:
        """Bring the stand to where its scales read as they should; look twice, as people do."""
        for _ in range(2):
            self.level_stand(-float(self.read("level")))
            self.tilt_plate(-float(self.read("plumb")))
            unlike_mm = float(self.read("arm", "left") - self.read("arm", "right"))
            too_far_mm = float(self.read("plate_distance")) - self._bay.stand.plate_distance_mm
            self.move_stand(ahead_mm=-too_far_mm, left_mm=unlike_mm / 2.0)

    def set_level(self) -> None:
        """Bring the stand level by its own level; look twice, as people do."""
        for _ in range(2):
            self.level_stand(-float(self.read("level")))

    def place_by(self, reads: Sequence[tuple[str, str, float]]) -> None:
        """Put what stands there where these scales, each at its place, read these figures."""
        unseen, hands = self._truth.unseen, self._handling

        def by_hand(name: str, value: float) -> float:
            noise = scale(name).noise_sd * unseen.noise.get(name, 1.0)
            return value + self._random.gauss(0.0, math.hypot(noise, hands.tape_mm))

        def reads_at(pose: Pose) -> list[float]:
            self._replace_stand(**dict(zip(_OF_POSE, pose, strict=True)))
            return [self.true_value(name, where) for name, where, _ in reads]

        wanted = [by_hand(name, value) for name, _, value in reads]
        self.true_value(*reads[0][:2])  # What is put there is what is read there.
        begin = (
            self.stand.ahead_mm,
            self.stand.left_mm,
            self.stand.turn_deg,
            self.stand.plate_height_mm,
        )
        reads_at(pose_that_reads(begin, wanted, reads_at))
        pushed_deg = self._random.gauss(0.0, hands.push_turns_deg)
        self._replace_stand(turn_deg=self.stand.turn_deg + pushed_deg)

    def lift_plate(self, up_mm: float) -> None:
        """Bring the plate up, or down below zero."""
        change = self._handling.amount(self._random, up_mm, self._handling.height_mm)
        self._replace_stand(plate_height_mm=self.stand.plate_height_mm + change)

    def turn_screw(self, screw_id: str, way: Way, turns: float) -> None:
        """Turn a screw of the mount, by its id."""
        slip_turns = self._random.gauss(0.0, self._handling.screw_deg) / 360.0
        self._screws[self._screw_ids().index(screw_id)].turn(way, max(turns + slip_turns, 0.0))

    def _screw_ids(self) -> list[str]:
        return [screw.id for screw in self._mount_file.screws]

    def _replace_stand(self, **changes: float) -> None:
        self.stand = replace(self.stand, **changes)

    def _stand_floor_mm(self) -> float:
        return self._truth.floor.stand_mm

    def _beam(self, side: Side) -> Beam:
        clamp = self._clamps[side]
        return wheel_beam(
            self._car.emitter(side, clamp),
            self._car.axle(side, self._toe_moved_deg[side]),
            clamp,
            self._wheel_turned_deg[side],
            self._heads_deg[side],
        )

    def _rule_mm(self, where: str) -> float:
        if where == "stand spot":
            ahead_mm = stand_spot_ahead_mm(self._vehicle, self._bay)
            spot = vector(ahead_mm, 0.0, self._truth.floor.stand_mm)
        else:
            spot = wheel_spots(self._truth.floor, self._vehicle)[_SPOTS.index(where)]
        forward_tilt, left_tilt = self._line_laser_tilt
        line_mm = _LINE_LASER_HEIGHT_MM + forward_tilt * spot[0] + left_tilt * spot[1]
        return float(line_mm - spot[2])

    def _arm_mm(self, where: str) -> float:
        side = _side(where)
        centre = stand_centre(self.stand, self._stand_floor_mm())
        return arm_reading_mm(self._beam(side), side, centre, stand_axes(self.stand))

    def _spot_mm(self, where: str) -> float:
        centre = stand_centre(self.stand, self._stand_floor_mm())
        bar = stand_axes(self.stand) @ turn_about_z(self._bar_left_deg)
        return spot_shift_mm(self._beam(_side(where)), centre, bar)

    def _sheet_toe_deg(self, where: str) -> float:
        sheet = self._truth.sheet
        return sheet.toe_left_deg if _side(where) == "left" else sheet.toe_right_deg

    def _plate_angles_deg(self) -> tuple[float, float]:
        """Lean towards and swing left as the plate really stands at its detents."""
        stand, truth = self._bay.stand, self._truth
        lean, swing = self._detents
        leans = (
            given(stand.lean_towards_deg, DETENT_DEG),
            0.0,
            -given(stand.lean_away_deg, DETENT_DEG),
            given(stand.lean_towards_near_deg, DETENT_DEG / 2.0),
            -given(stand.lean_away_near_deg, DETENT_DEG / 2.0),
        )
        swings = (
            given(stand.swing_left_deg, DETENT_DEG),
            0.0,
            -given(stand.swing_right_deg, DETENT_DEG),
            given(stand.swing_left_near_deg, DETENT_DEG / 2.0),
            -given(stand.swing_right_near_deg, DETENT_DEG / 2.0),
        )
        return (
            leans[lean] + truth.lean_detent_errors_deg[lean],
            swings[swing] + truth.swing_detent_errors_deg[swing],
        )

    def _ride_height_mm(self, where: str) -> float:
        settled_mm = self._truth.ride_heights_mm[_CORNERS.index(where)]
        return settled_mm + (self._rear_up_mm if where.startswith("rear") else 0.0)

    def _plate(self) -> Plate:
        """The plate where its detents have put it, as it really hangs in the stand."""
        return self._plate_at(*self._plate_angles_deg())

    def _plate_at(self, lean_towards_deg: float, swing_left_deg: float) -> Plate:
        face = self._truth.face
        axes: Matrix = stand_axes(self.stand) @ turn_about_z(self._truth.unseen.plate_to_bar_deg)
        return Plate(
            centre=stand_centre(self.stand, self._stand_floor_mm())
            + carried_by_hinges(axes, face, lean_towards_deg, swing_left_deg),
            axes=plate_axes(axes, lean_towards_deg, swing_left_deg),
            face=face,
        )

    def _plate_distance_mm(self) -> float:
        return self._distance_of_mm(self._plate())

    def _distance_of_mm(self, plate: Plate) -> float:
        return self._car.square_distance_mm(plate.centre, plate.axes[:, 0])

    def _echo_db(self) -> float:
        lean, swing = self._detents
        return echo_db(
            self._car.sensor,
            self._car.sensor_axes(self._screws, self._rear_up_mm),
            self._truth.beam,
            self._plate(),
            self._bay.stand.plate_distance_mm,
        ) + standing_wave_db(self._truth.face, (lean, swing), self._plate_distance_mm())

    def _tool_deg_of_aim(self) -> tuple[float, float]:
        """The aim as the scan tool tells it, with what the tool is off by."""
        yaw_deg, elevation_deg = self._car.aim_deg(self._screws)
        unseen = self._truth.unseen
        return yaw_deg + unseen.tool_off_yaw_deg, elevation_deg + unseen.tool_off_elevation_deg

    def _tool_turns(self, where: str) -> float:
        yaw_deg, elevation_deg = self._car.aim_deg(self._screws)
        turns = nominal_turns(self._mount_file, -yaw_deg, -elevation_deg)
        return turns[self._screw_ids().index(where)]


def _side(where: str) -> Side:
    if where == "left":
        return "left"
    if where == "right":
        return "right"
    raise ValueError(where)

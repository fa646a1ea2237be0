"""What is true in the rehearsal bay and hidden from the companion: drawn once per rehearsal."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from random import Random

from companion.job.setup_files import Bay, MountModel, Vehicle
from companion.simulation.assumed import BEAM_WIDTH_DEG, given
from companion.simulation.floor import LINE_LASER_TILT_MM_PER_M, FloorHeights, draw_floor
from companion.simulation.mount import TrueMount, draw_mount
from companion.simulation.scales import SCALES


@dataclass(frozen=True, slots=True)
class Spread:
    """How far the hidden truth may lie from perfect; every figure is to either side of it.

    `times`: what no reading shows is as large as the bay and mount files state, or so many times
    that: `flatness`, `hinge`, `ripple`, `plate_size` (so many times smaller), `plate_to_bar`,
    `head_out`, `settled_toe`, `settled_pitch`, `lock`, `level`, `tool`, `detents`, `line_laser`,
    `beam_width`, `wheel_back`, `plumb_mark`, `sensor_place`. By a scale's name (`scales.SCALES`) so
    many times its usual noise;
    `echo_step`: the display's step.
    """

    aim_deg: float = 2.5
    stand_sideways_mm: float = 60.0
    stand_distance_mm: float = 60.0
    stand_turn_deg: float = 1.5
    stand_height_mm: float = 40.0
    stand_level_mm_per_m: float = 6.0
    stand_plumb_mm_per_m: float = 6.0
    rear_toe_deg: float = 0.25
    clamp_wobble_deg: float = 0.25
    beam_width_relative: float = 0.02
    mount_relative_sd: float = 0.07
    mount_relative_most: float = 0.20
    times: Mapping[str, float] = field(default_factory=dict)

    def time(self, disturbance: str) -> float:
        """How many times as large as stated; "all" is every one of them."""
        return self.times.get(disturbance, self.times.get("all", 1.0))

    def size(self, disturbance: str, usual: float, stated: float) -> float:
        """The usual size; where it is named, so many times the stated one."""
        named = disturbance in self.times or "all" in self.times
        return stated * self.time(disturbance) if named else usual


OF_SCENES = ("plumb_mark", "sensor_place")
"""What no scale shows beside a camera, a corner radar, mats: marks on the floor, the sensor's place
on its car."""
# Before the car is settled, lifting has moved its wheels and body about three times as far.
_LIFTED = 3.0
# What a scan tool's angle is off by at every reading, degrees; and as the shipped job enters it.
_TOOL_OFF_DEG = 0.015
_TOOL_STATED_DEG = math.sqrt(0.035**2 - 0.03**2)


@dataclass(frozen=True, slots=True)
class StandPose:
    """The stand: its centre on the floor, its turn to the left, its plate's height, its tilts."""

    ahead_mm: float
    left_mm: float
    turn_deg: float
    plate_height_mm: float
    left_high_mm_per_m: float
    top_away_mm_per_m: float


@dataclass(frozen=True, slots=True)
class Clamp:
    """A wheel clamp: its shaft leans by `wobble_deg` from the wheel's axle, at `phase_deg`."""

    wobble_deg: float
    phase_deg: float
    emitter_out_mm: float
    bubble_deg: float


@dataclass(frozen=True, slots=True)
class TrueBeam:
    """The radar's beam: one-way half-power widths, and the echo level straight into the plate."""

    width_yaw_deg: float
    width_elevation_deg: float
    peak_db: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """The shop's wheel-measuring sheet; it says the same however often it is read."""

    toe_left_deg: float
    toe_right_deg: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class Face:
    """The plate's face: its size, how far it bulges and where, and the axes that it turns about.

    `hinge_below_mm`, `hinge_right_mm`: the axes of lean and swing, from the centre.
    """

    width_mm: float
    height_mm: float
    flatness_mm: float = 0.0
    wave_across: float = 0.0
    wave_upward: float = 0.0
    hinge_below_mm: float = 0.0
    hinge_right_mm: float = 0.0
    ripple_db: float = 0.0
    ripple_phases: tuple[float, ...] = (0.0,) * 25


@dataclass(frozen=True, slots=True)
class Unseen:
    """What is off and stays so, and no scale shows: angles + = left or up."""

    plate_to_bar_deg: float = 0.0
    head_left_deg: float = 0.0
    head_right_deg: float = 0.0
    lifted_toe_sd_deg: float = 0.0
    settled_toe_sd_deg: float = 0.0
    lifted_ride_sd_mm: float = 0.0
    settled_ride_sd_mm: float = 0.0
    lock_sd_turns: float = 0.0
    tool_off_yaw_deg: float = 0.0
    tool_off_elevation_deg: float = 0.0
    plumb_off_mm_per_m: float = 0.0
    line_laser_mm_per_m: float = LINE_LASER_TILT_MM_PER_M
    wheel_back: float = 1.0
    noise: Mapping[str, float] = field(default_factory=dict)
    echo_step: float = 1.0


@dataclass(frozen=True, slots=True)
class Truth:
    """All of it. Toes: + = in. Detent errors: from the angle that the plate's scale claims."""

    aim_yaw_deg: float
    aim_elevation_deg: float
    bracket_roll_deg: float
    stand: StandPose
    stand_foot_ahead_mm: float
    stand_foot_left_mm: float
    toe_left_deg: float
    toe_right_deg: float
    clamp_left: Clamp
    clamp_right: Clamp
    floor: FloorHeights
    mount: TrueMount
    beam: TrueBeam
    lean_detent_errors_deg: tuple[float, ...]
    swing_detent_errors_deg: tuple[float, ...]
    sheet: Sheet
    ride_heights_mm: tuple[float, float, float, float]
    battery_volt: float
    temperature_celsius: float
    face: Face
    unseen: Unseen = Unseen()

    @property
    def thrust_deg(self) -> float:
        """The direction in which the rear wheels roll: the mean of their headings."""
        return (self.toe_right_deg - self.toe_left_deg) / 2.0

    @staticmethod
    def draw(
        random: Random,
        vehicle: Vehicle,
        mount: MountModel,
        bay: Bay,
        spread: Spread | None = None,
    ) -> Truth:
        """A hidden truth within the spread, from which the mount's travel reaches the right aim."""
        spread = spread or Spread()
        toe_left_deg = _either_way(random, spread.rear_toe_deg)
        toe_right_deg = _either_way(random, spread.rear_toe_deg)
        true_mount, yaw_deg, elevation_deg = _draw_reachable(random, mount, spread)
        detent_deg = given(bay.stand.detent_doubt_deg, 0.0)
        detent_sd_deg = spread.size("detents", 0.7 * detent_deg, detent_deg)
        return Truth(
            aim_yaw_deg=yaw_deg,
            aim_elevation_deg=elevation_deg,
            bracket_roll_deg=random.gauss(0.0, 0.3),
            stand=_draw_stand(random, vehicle, bay, spread),
            stand_foot_ahead_mm=random.uniform(-100.0, 300.0),
            stand_foot_left_mm=_either_way(random, 400.0),
            toe_left_deg=toe_left_deg,
            toe_right_deg=toe_right_deg,
            clamp_left=draw_clamp(random, spread.clamp_wobble_deg),
            clamp_right=draw_clamp(random, spread.clamp_wobble_deg),
            floor=draw_floor(random, vehicle, bay),
            mount=true_mount,
            beam=_draw_beam(random, vehicle, spread),
            lean_detent_errors_deg=_detents(random, detent_sd_deg),
            swing_detent_errors_deg=_detents(random, detent_sd_deg),
            sheet=_draw_sheet(random, toe_left_deg, toe_right_deg),
            ride_heights_mm=_draw_ride_heights(random, vehicle),
            battery_volt=random.uniform(12.8, 14.2),
            temperature_celsius=random.uniform(12.0, 30.0),
            # Drawn last: what came before is as it was without it.
            face=_draw_face(random, bay, spread),
            unseen=_draw_unseen(random, vehicle, mount, bay, spread),
        )


def draw_clamp(random: Random, most_wobble_deg: float) -> Clamp:
    """A clamp as somebody seats it: any wobble up to the most, in any direction."""
    return Clamp(
        wobble_deg=random.uniform(0.0, most_wobble_deg),
        phase_deg=random.uniform(0.0, 360.0),
        emitter_out_mm=random.gauss(0.0, 0.5),
        bubble_deg=random.gauss(0.0, 0.05),
    )


def _draw_stand(random: Random, vehicle: Vehicle, bay: Bay, spread: Spread) -> StandPose:
    right_place_mm = vehicle.sensor_ahead_of_front_axle_mm + bay.stand.plate_distance_mm
    return StandPose(
        ahead_mm=right_place_mm + _either_way(random, spread.stand_distance_mm),
        left_mm=vehicle.sensor_left_of_centre_mm + _either_way(random, spread.stand_sideways_mm),
        turn_deg=_either_way(random, spread.stand_turn_deg),
        plate_height_mm=vehicle.sensor_height_mm + _either_way(random, spread.stand_height_mm),
        left_high_mm_per_m=_either_way(random, spread.stand_level_mm_per_m),
        top_away_mm_per_m=_either_way(random, spread.stand_plumb_mm_per_m),
    )


def _draw_ride_heights(random: Random, vehicle: Vehicle) -> tuple[float, float, float, float]:
    """Front left, front right, rear left, rear right: a car that is evenly loaded, nearly."""
    heights: list[float] = []
    for axle in (vehicle.ride_height_front_mm, vehicle.ride_height_rear_mm):
        middle_mm = random.uniform(axle.low + 6, axle.high - 6)
        lean_mm = _either_way(random, 3.0)
        heights += [middle_mm + lean_mm, middle_mm - lean_mm]
    front_left, front_right, rear_left, rear_right = heights
    return front_left, front_right, rear_left, rear_right


def _draw_reachable(
    random: Random, mount: MountModel, spread: Spread
) -> tuple[TrueMount, float, float]:
    """A mount and an aim error that it can put right with half a turn of travel to spare."""
    while True:
        true_mount = draw_mount(random, mount, spread.mount_relative_sd, spread.mount_relative_most)
        yaw_deg = _either_way(random, spread.aim_deg)
        elevation_deg = _either_way(random, spread.aim_deg)
        if true_mount.reaches(-yaw_deg, -elevation_deg, spare_turns=0.5):
            return true_mount, yaw_deg, elevation_deg


def _draw_beam(random: Random, vehicle: Vehicle, spread: Spread) -> TrueBeam:
    return TrueBeam(
        width_yaw_deg=given(vehicle.aim.beam_width_yaw_deg, BEAM_WIDTH_DEG)
        * (1.0 + _either_way(random, spread.beam_width_relative * spread.time("beam_width"))),
        width_elevation_deg=given(vehicle.aim.beam_width_elevation_deg, BEAM_WIDTH_DEG)
        * (1.0 + _either_way(random, spread.beam_width_relative * spread.time("beam_width"))),
        peak_db=random.uniform(40.0, 60.0),
    )


def _draw_face(random: Random, bay: Bay, spread: Spread) -> Face:
    stand = bay.stand
    smaller, hinge_mm = spread.time("plate_size"), spread.time("hinge") * stand.hinge_doubt_mm

    def phase() -> float:
        return random.uniform(0.0, 2.0 * math.pi)

    return Face(
        width_mm=stand.plate_width_mm / smaller,
        height_mm=stand.plate_height_mm / smaller,
        flatness_mm=stand.plate_flatness_mm * spread.time("flatness"),
        wave_across=phase(),
        wave_upward=phase(),
        hinge_below_mm=stand.lean_hinge_below_mm + random.gauss(0.0, 1.0) * hinge_mm,
        hinge_right_mm=stand.swing_hinge_right_mm + random.gauss(0.0, 1.0) * hinge_mm,
        ripple_db=stand.ripple_db * spread.time("ripple"),
        ripple_phases=tuple(phase() for _ in range(25)),
    )


def _draw_unseen(
    random: Random, vehicle: Vehicle, mount: MountModel, bay: Bay, spread: Spread
) -> Unseen:
    stand = bay.stand
    toe_deg = stand.settled_toe_doubt_deg * spread.time("settled_toe")
    pitch_deg = stand.settled_pitch_doubt_deg * spread.time("settled_pitch")
    ride_mm = math.tan(math.radians(pitch_deg)) * vehicle.wheelbase_mm
    head_deg = stand.head_doubt_deg * spread.time("head_out")
    tool_deg = spread.size("tool", _TOOL_OFF_DEG, _TOOL_STATED_DEG)
    return Unseen(
        plate_to_bar_deg=random.gauss(0.0, 1.0)
        * stand.plate_to_bar_doubt_deg
        * spread.time("plate_to_bar"),
        head_left_deg=random.gauss(0.0, 1.0) * head_deg,
        head_right_deg=random.gauss(0.0, 1.0) * head_deg,
        lifted_toe_sd_deg=_LIFTED * toe_deg,
        settled_toe_sd_deg=toe_deg,
        lifted_ride_sd_mm=_LIFTED * ride_mm,
        settled_ride_sd_mm=ride_mm,
        lock_sd_turns=mount.lock_doubt_turns * spread.time("lock"),
        tool_off_yaw_deg=random.gauss(0.0, 1.0) * tool_deg,
        tool_off_elevation_deg=random.gauss(0.0, 1.0) * tool_deg,
        plumb_off_mm_per_m=random.gauss(0.0, 1.0)
        * stand.level_doubt_mm_per_m
        * spread.time("level"),
        line_laser_mm_per_m=spread.size(
            "line_laser",
            LINE_LASER_TILT_MM_PER_M,
            1000.0 * math.tan(math.radians(bay.floor.line_laser_doubt_deg)),
        ),
        wheel_back=spread.time("wheel_back"),
        noise={name: spread.time(name) for name in (*SCALES, *OF_SCENES)},
        echo_step=spread.time("echo_step"),
    )


def _draw_sheet(random: Random, toe_left_deg: float, toe_right_deg: float) -> Sheet:
    """The measuring machine's own error is about two thirds of the sheet's last digit."""
    return Sheet(
        toe_left_deg=toe_left_deg + random.gauss(0.0, 0.007),
        toe_right_deg=toe_right_deg + random.gauss(0.0, 0.007),
        diameter_mm=float(random.randrange(500, 660, 10)),
    )


def toe_difference_mm(toe_deg: float, diameter_mm: float) -> float:
    """How much further apart the rims stand behind than in front, for one wheel (+ = toe in)."""
    return diameter_mm * math.sin(math.radians(toe_deg))


def _either_way(random: Random, most: float) -> float:
    return random.uniform(-most, most)


def _detents(random: Random, sd: float) -> tuple[float, ...]:
    """The outermost two and the middle, then the two between."""
    return tuple(random.gauss(0.0, sd) for _ in range(5))

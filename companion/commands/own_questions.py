"""What is asked for a vehicle, a bay or a mount file: each figure, and where it is taken.

The pictures are ours; the numbers in them are those of the questions.
"""

from __future__ import annotations

from dataclasses import dataclass

from companion.job.own_files import Kind


@dataclass(frozen=True)
class Asked:
    """One figure. `where`: how it is taken; `otherwise`: what is entered for an empty answer.

    `part`: asked only where the shop says that there is such a part.
    """

    field: str
    what: str
    where: str = ""
    otherwise: object = None
    choices: tuple[str, ...] = ()
    part: str = ""


PARTS = {
    "aim": "a forward radar to aim",
    "camera": "a forward camera",
    "corner": "rear corner radars",
    "mats": "cameras around it that learn mats",
}
"""Parts of a vehicle file that only some cars have, as one asks for them."""

VEHICLE_PICTURE = """\
  from the left                                    from above (ahead is right)

          __________                                 +----------------------+
    _____/          \\_____                       ^   | o                  o |
   |        6a        6b   |= sensor             2r  | |        ^         | |= sensor
   |__ (o) __________ (o) _|   ^                 |   |           5 (left) | |
       |               |       4 height          v   | o                  o |
       |<------1------>|<--3-->|                     +----------------------+
     rear axle     front axle                          rear (2r)   front (2f)

   1 wheelbase   2f, 2r track, front and rear: between the middles of the tyres   3 sensor ahead of
   the front axle   4 its height over the wheels' plane   5 left of the car's middle
   6a, 6b ride height: from the wheel's centre up to the arch, rear and front
"""
BAY_PICTURE = """\
  from above (the car looks to the right)

     o----------------o                  |  plate
     |      car       |=  sensor  <--1-->|  2 wide      5 laser of the clamp ......> mirror bar
     o----------------o                  |  3 high      6 the arms' scales over the floor
       wheels' spots                   stand spot
   floor: a + slope rises towards the stand, a + side slope has the car's left side high
"""
MOUNT_PICTURE = """\
  from the front of the car, facing the sensor (the car's left is on your right)

            (o) upper            z up
             |  z                 ^
     pivot  (+)----- y --(o) left |
                                  +--> y to the car's left

   clockwise is as you face the screw's head
"""
PICTURES: dict[Kind, str] = {
    "vehicle": VEHICLE_PICTURE,
    "bay": BAY_PICTURE,
    "mount": MOUNT_PICTURE,
}

_MAKERS = "the maker's figure"
_VEHICLE = (
    Asked("wheelbase_mm", "Wheelbase", "1 in the picture"),
    Asked("front_track_mm", "Front track", "2f, between the middles of the tyres"),
    Asked("rear_track_mm", "Rear track", "2r, between the middles of the tyres"),
    Asked("sensor_ahead_of_front_axle_mm", "Sensor ahead of the front axle",
          "3; behind it: below 0"),
    Asked("sensor_left_of_centre_mm", "Sensor left of the middle", "5; to the right: below 0", 0.0),
    Asked("sensor_height_mm", "Sensor's height", "4, over the wheels' plane"),
    Asked("ride_height_front_mm", "Ride height in front, lowest and highest", "6b, two figures"),
    Asked("ride_height_rear_mm", "Ride height behind, lowest and highest", "6a, two figures"),
    Asked("aim.yaw_tolerance_deg", "Aim's tolerance sideways", _MAKERS, part="aim"),
    Asked("aim.elevation_tolerance_deg", "Aim's tolerance in height", _MAKERS, part="aim"),
    Asked("aim.elevation_reference", "Height is told against the body, or the ground",
          _MAKERS, "body", ("body", "ground"), part="aim"),
    Asked("aim.beam_width_yaw_deg", "Beam's width sideways", "one way, half power", part="aim"),
    Asked("aim.beam_width_elevation_deg", "Beam's width in height", "one way, half power",
          part="aim"),
    Asked("aim.beam_width_agreement", "How far a measured width may differ, as a part of it",
          "", 0.08, part="aim"),
    Asked("aim.frequency_ghz", "Radar's frequency", _MAKERS, 76.5, part="aim"),
    Asked("camera.ahead_of_front_axle_mm", "Camera ahead of the front axle",
          "behind it: below 0", part="camera"),
    Asked("camera.height_mm", "Camera's height", "over the wheels' plane", part="camera"),
    Asked("camera.board_ahead_of_front_axle_mm", "Board ahead of the front axle",
          _MAKERS, part="camera"),
    Asked("camera.board_height_mm", "Board's middle, height", _MAKERS, part="camera"),
    Asked("camera.sideways_tolerance_mm", "Board's tolerance sideways", _MAKERS, part="camera"),
    Asked("camera.distance_tolerance_mm", "Board's tolerance in distance", _MAKERS, part="camera"),
    Asked("camera.height_tolerance_mm", "Board's tolerance in height", _MAKERS, part="camera"),
    Asked("camera.turn_tolerance_deg", "Board's tolerance in turn", _MAKERS, part="camera"),
    Asked("camera.level_tolerance_mm_per_m", "Board's tolerance in level", _MAKERS, part="camera"),
    Asked("camera.yaw_limit_deg", "Camera's limit sideways", _MAKERS, part="camera"),
    Asked("camera.elevation_limit_deg", "Camera's limit in height", _MAKERS, part="camera"),
    Asked("corner.behind_rear_axle_mm", "Corner radar behind the rear axle", part="corner"),
    Asked("corner.out_of_centre_mm", "Corner radar out of the middle", part="corner"),
    Asked("corner.reflector_radius_mm", "Reflector from the rear axle's middle",
          _MAKERS, part="corner"),
    Asked("corner.reflector_angle_deg", "Reflector outwards from straight back",
          _MAKERS, part="corner"),
    Asked("corner.reflector_height_mm", "Reflector's height", _MAKERS, part="corner"),
    Asked("corner.place_tolerance_mm", "Reflector's tolerance in place", _MAKERS, part="corner"),
    Asked("corner.height_tolerance_mm", "Reflector's tolerance in height", _MAKERS, part="corner"),
    Asked("corner.facing_tolerance_deg", "Reflector's tolerance in facing", _MAKERS, part="corner"),
    Asked("corner.angle_limit_deg", "Corner radar's limit to either side", _MAKERS, part="corner"),
    Asked("mats.front_mm", "Front mat ahead of the front axle", _MAKERS, part="mats"),
    Asked("mats.rear_mm", "Rear mat behind the rear axle", _MAKERS, part="mats"),
    Asked("mats.distance_tolerance_mm", "Mats' tolerance in distance", _MAKERS, part="mats"),
    Asked("mats.sideways_tolerance_mm", "Mats' tolerance sideways", _MAKERS, part="mats"),
    Asked("mats.turn_tolerance_deg", "Mats' tolerance in turn", _MAKERS, part="mats"),
    Asked("mats.skew_tolerance_deg", "Tolerance of the field's skew", _MAKERS, part="mats"),
)  # fmt: skip
_SURVEY = "two figures: lowest and highest that the survey allows"
_DOUBT = "standard uncertainty"
_BAY = (
    Asked("shop", "The shop's name"),
    Asked("floor.slope_up_deg", "Floor's slope, + rises to the stand", _SURVEY),
    Asked("floor.side_slope_deg", "Floor's side slope, + left side high", _SURVEY),
    Asked("floor.twist_mm", "Floor's twist", _SURVEY),
    Asked("floor.stand_spot_above_mm", "Stand spot over the wheels' plane", _SURVEY),
    Asked("floor.line_laser_doubt_deg", "Doubt of the line laser's level", _DOUBT),
    Asked("stand.plate_distance_mm", "Plate to sensor", "1 in the picture"),
    Asked("stand.distance_tolerance_mm", "Tolerance of that distance"),
    Asked("stand.sideways_tolerance_mm", "Stand's tolerance sideways"),
    Asked("stand.height_tolerance_mm", "Plate's tolerance in height"),
    Asked("stand.turn_tolerance_deg", "Stand's tolerance in turn"),
    Asked("stand.level_tolerance_mm_per_m", "Stand's tolerance in level"),
    Asked("stand.plumb_tolerance_mm_per_m", "Plate's tolerance in plumb"),
    Asked("stand.beam_agreement_deg", "How far the two beams may disagree with the toe"),
    Asked("stand.arm_height_mm", "Arms' scales over the floor", "6"),
    Asked("stand.plate_width_mm", "Plate's width", "2"),
    Asked("stand.plate_height_mm", "Plate's height", "3"),
    Asked("stand.plate_flatness_mm", "Plate's flatness, plus or minus", "", 0.2),
    Asked("stand.plate_to_bar_doubt_deg", "Doubt of plate parallel to mirror bar", _DOUBT, 0.05),
    Asked("stand.head_doubt_deg", "Doubt of a laser square to its clamp", _DOUBT, 0.05),
    Asked("stand.detent_doubt_deg", "Doubt of a detent of the plate", _DOUBT),
    *(
        Asked(f"stand.{name}_deg", f"Plate's detent, {told}")
        for name, told in (
            ("lean_towards", "leaned towards the car"),
            ("lean_towards_near", "half towards"),
            ("lean_away", "leaned away"),
            ("lean_away_near", "half away"),
            ("swing_left", "swung left"),
            ("swing_left_near", "half left"),
            ("swing_right", "swung right"),
            ("swing_right_near", "half right"),
        )
    ),
    Asked("stand.largest_run_out_deg", "Largest run-out of a clamp"),
    Asked("stand.run_out_residual_mm", "How far four run-out readings may misfit"),
)
_MOUNT = (
    Asked("approach", "Every screw's last movement goes", "", "clockwise",
          ("clockwise", "anticlockwise")),
    Asked("lock_doubt_turns", "Doubt of a screw's turn when it is locked", _DOUBT, 0.05),
)  # fmt: skip
SCREW = (
    Asked("name", "What it is called, as spoken", "such as: left screw"),
    Asked("y_mm", "From the pivot to the car's left", "to the right: below 0"),
    Asked("z_mm", "From the pivot up", "down: below 0"),
    Asked("pitch_mm", "Its pitch", "one turn moves it so far"),
    Asked("hand", "Its thread", "", "right", ("right", "left")),
    Asked("travel_clockwise_turns", "Turns of travel clockwise from here"),
    Asked("travel_anticlockwise_turns", "Turns of travel anticlockwise from here"),
    Asked("backlash_turns", "Its backlash", "", 0.0),
)
"""Asked of each screw of a mount, two beside a pivot or three without one."""
QUESTIONS: dict[Kind, tuple[Asked, ...]] = {
    "vehicle": _VEHICLE,
    "bay": _BAY,
    "mount": _MOUNT,
}

"""What is asked for a vehicle, a bay, a stand or a mount file: each figure, and where it is taken.

How each is asked for is `ask-KIND-FIELD` in the language's files, how it is taken `where-ID`; the
pictures, whose numbers are those of the questions, stand there too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.job.own_folder import Kind


@dataclass(frozen=True)
class Asked:
    """One figure. `where`: the id of how it is taken; `otherwise`: entered for an empty answer.

    `part`: asked only where the shop says that there is such a part. `left_out`: the choice that
    the file says by not naming the field.
    """

    field: str
    where: str = ""
    otherwise: object = None
    choices: tuple[str, ...] = ()
    part: str = ""
    left_out: str = ""


PARTS = ("aim", "camera", "corner", "mats")
"""Parts of a vehicle file that only some cars have."""

_VEHICLE = (
    Asked("wheelbase_mm", "1"),
    Asked("front_track_mm", "2f"),
    Asked("rear_track_mm", "2r"),
    Asked("sensor_ahead_of_front_axle_mm", "3"),
    Asked("sensor_left_of_centre_mm", "5", 0.0),
    Asked("sensor_height_mm", "4"),
    Asked("ride_height_front_mm", "6b"),
    Asked("ride_height_rear_mm", "6a"),
    Asked("aim.yaw_tolerance_deg", "makers", part="aim"),
    Asked("aim.elevation_tolerance_deg", "makers", part="aim"),
    Asked("aim.elevation_reference", "makers", "body", ("body", "ground"), part="aim"),
    Asked("aim.beam_width_yaw_deg", "half-power", part="aim"),
    Asked("aim.beam_width_elevation_deg", "half-power", part="aim"),
    Asked("aim.beam_width_agreement", "", 0.08, part="aim"),
    Asked("aim.frequency_ghz", "makers", 76.5, part="aim"),
    Asked(
        "usual_answers.aim_route",
        "makers-procedure",
        "each_time",
        ("echo_levels", "each_time"),
        part="aim",
        left_out="each_time",
    ),
    Asked("camera.ahead_of_front_axle_mm", "behind", part="camera"),
    Asked("camera.height_mm", "over-wheels", part="camera"),
    Asked("camera.board_ahead_of_front_axle_mm", "makers", part="camera"),
    Asked("camera.board_height_mm", "makers", part="camera"),
    Asked("camera.sideways_tolerance_mm", "makers", part="camera"),
    Asked("camera.distance_tolerance_mm", "makers", part="camera"),
    Asked("camera.height_tolerance_mm", "makers", part="camera"),
    Asked("camera.turn_tolerance_deg", "makers", part="camera"),
    Asked("camera.level_tolerance_mm_per_m", "makers", part="camera"),
    Asked("camera.yaw_limit_deg", "makers", part="camera"),
    Asked("camera.elevation_limit_deg", "makers", part="camera"),
    Asked("corner.behind_rear_axle_mm", part="corner"),
    Asked("corner.out_of_centre_mm", part="corner"),
    Asked("corner.reflector_radius_mm", "makers", part="corner"),
    Asked("corner.reflector_angle_deg", "makers", part="corner"),
    Asked("corner.reflector_height_mm", "makers", part="corner"),
    Asked("corner.place_tolerance_mm", "makers", part="corner"),
    Asked("corner.height_tolerance_mm", "makers", part="corner"),
    Asked("corner.facing_tolerance_deg", "makers", part="corner"),
    Asked("corner.angle_limit_deg", "makers", part="corner"),
    Asked("mats.front_mm", "makers", part="mats"),
    Asked("mats.rear_mm", "makers", part="mats"),
    Asked("mats.distance_tolerance_mm", "makers", part="mats"),
    Asked("mats.sideways_tolerance_mm", "makers", part="mats"),
    Asked("mats.turn_tolerance_deg", "makers", part="mats"),
    Asked("mats.skew_tolerance_deg", "makers", part="mats"),
)
_BAY = (
    Asked("shop"),
    Asked("floor.slope_up_deg", "survey"),
    Asked("floor.side_slope_deg", "survey"),
    Asked("floor.twist_mm", "survey"),
    Asked("floor.stand_spot_above_mm", "survey"),
    Asked("floor.line_laser_doubt_deg", "doubt"),
    Asked("stand.plate_distance_mm", "1"),
    Asked("stand.distance_tolerance_mm"),
    Asked("stand.sideways_tolerance_mm"),
    Asked("stand.height_tolerance_mm"),
    Asked("stand.turn_tolerance_deg"),
    Asked("stand.level_tolerance_mm_per_m"),
    Asked("stand.plumb_tolerance_mm_per_m"),
    Asked("stand.beam_agreement_deg"),
    Asked("stand.arm_height_mm", "6"),
    Asked("stand.plate_width_mm", "2"),
    Asked("stand.plate_height_mm", "just-3"),
    Asked("stand.plate_flatness_mm", "", 0.2),
    Asked("stand.plate_to_bar_doubt_deg", "doubt", 0.05),
    Asked("stand.head_doubt_deg", "doubt", 0.05),
    Asked("stand.detent_doubt_deg", "doubt"),
    Asked("stand.lean_towards_deg"),
    Asked("stand.lean_towards_near_deg"),
    Asked("stand.lean_away_deg"),
    Asked("stand.lean_away_near_deg"),
    Asked("stand.swing_left_deg"),
    Asked("stand.swing_left_near_deg"),
    Asked("stand.swing_right_deg"),
    Asked("stand.swing_right_near_deg"),
    Asked("stand.largest_run_out_deg"),
    Asked("stand.run_out_residual_mm"),
)
_MOUNT = (
    Asked("approach", "", "clockwise", ("clockwise", "anticlockwise")),
    Asked("lock_doubt_turns", "doubt", 0.05),
)
SCREW = (
    Asked("name", "screw-name"),
    Asked("y_mm", "right-below"),
    Asked("z_mm", "down-below"),
    Asked("pitch_mm", "one-turn"),
    Asked("hand", "", "right", ("right", "left")),
    Asked("travel_clockwise_turns"),
    Asked("travel_anticlockwise_turns"),
    Asked("backlash_turns", "", 0.0),
)
"""Asked of each screw of a mount, two beside a pivot or three without one."""
_STAND = tuple(
    replace(asked, field=asked.field.removeprefix("stand."))
    for asked in _BAY
    if asked.field.startswith("stand.")
)
QUESTIONS: dict[Kind, tuple[Asked, ...]] = {
    "vehicle": _VEHICLE,
    "bay": _BAY,
    "stand": _STAND,
    "mount": _MOUNT,
}

"""The catalogue: every computation a job file may name, with its units and its source.

The names of inputs and outputs are those of the functions' parameters and result fields.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from companion.calibration.aim import aim_error, aim_error_of_body, aim_from_tool
from companion.calibration.echo import (
    echo_peak,
    echo_peak_of_five,
    echo_peak_of_known_width,
    echo_peaks_of_five,
    echo_vertex,
    two_distances,
)
from companion.calibration.floor import floor_plane
from companion.calibration.heads import head_squareness
from companion.calibration.known_turn import known_turn
from companion.calibration.mats import field_skew_deg, mat_place
from companion.calibration.plate import flatness_doubt_deg, plate_edges
from companion.calibration.ride import body_stance
from companion.calibration.stand import (
    arms_apart_change_mm,
    stand_offset_left_mm,
    stand_offset_without_run_out_mm,
    stand_turn,
)
from companion.calibration.start import board_start, corner_start, mat_start
from companion.calibration.tape import (
    level_distance_mm,
    skew_from_diagonals_deg,
    turn_from_two_distances_deg,
)
from companion.calibration.target import (
    bar_facing,
    board_offset_left_mm,
    board_place,
    body_over_middle,
    camera_offset,
    corner_angle_deg,
    corner_place,
)
from companion.calibration.units import degrees_from_mm_per_m
from companion.calibration.wheels import run_out, toe_from_angle, toe_from_mm
from companion.errors import MeasureError
from companion.uncertainty.measured import (
    ManyFunction,
    Measured,
    RowFunction,
    propagate_at_once,
    propagate_row,
)


@dataclass(frozen=True)
class Formula:
    """One computation. `inputs` and `outputs` map names to units: mm, deg, db, mm/m or 1."""

    name: str
    row: RowFunction
    inputs: Mapping[str, str]
    outputs: Mapping[str, str]
    source: str
    text: str
    at_once: ManyFunction | None = None
    """The same for many values of every input, where one at a time is slow."""

    def function(self, values: dict[str, float]) -> dict[str, float]:
        """The outputs by name, without their doubt."""
        return dict(zip(self.outputs, self.row(values), strict=True))


def _fields(compute: Callable[..., Sequence[float]]) -> RowFunction:
    """Call with the values by name; the result's fields are the outputs, in their order."""

    def row(values: dict[str, float]) -> Sequence[float]:
        return compute(**values)

    return row


def _single(compute: Callable[..., float]) -> RowFunction:
    """Call with the values by name; the result is the one output."""

    def row(values: dict[str, float]) -> Sequence[float]:
        return (compute(**values),)

    return row


def _excess(*, wanted_mm: float, **measured_mm: float) -> float:
    (value_mm,) = measured_mm.values()
    return value_mm - wanted_mm


def _level_deg(*, level_mm_per_m: float) -> float:
    return degrees_from_mm_per_m(level_mm_per_m)


def _plumb_deg(*, plumb_mm_per_m: float) -> float:
    return degrees_from_mm_per_m(plumb_mm_per_m)


def _unit_of(name: str) -> str:
    for ending, unit in (("_mm_per_m", "mm/m"), ("_mm", "mm"), ("_deg", "deg"), ("_db", "db")):
        if name.endswith(ending):
            return unit
    return "1"


def _formula(
    name: str,
    row: RowFunction,
    inputs: str,
    outputs: str,
    source: str,
    text: str,
    at_once: ManyFunction | None = None,
) -> Formula:
    return Formula(
        name=name,
        row=row,
        inputs=MappingProxyType({item: _unit_of(item) for item in inputs.split()}),
        outputs=MappingProxyType({item: _unit_of(item) for item in outputs.split()}),
        source=source,
        text=text,
        at_once=at_once,
    )


_EDGES = (
    "diffraction at a straight edge (Cornu's spiral), from memory; U-shaped: JCGM 100:2008, "
    "H.1.3.4",
    "each edge adds beam there / beam here / (pi sqrt(2) v) of the field, v = 2 x / "
    "sqrt(wavelength distance), x from the point that faces the radar; u = that / sqrt(2) in "
    "dB, carried through the peak of the least-squares parabola",
)
_LIST = (
    _formula(
        "floor_plane",
        _fields(floor_plane),
        "rear_left_mm rear_right_mm front_left_mm front_right_mm stand_mm "
        "wheelbase_mm rear_track_mm front_track_mm stand_ahead_mm",
        "floor_slope_up_deg floor_side_slope_deg floor_twist_mm stand_spot_above_mm",
        "least-squares plane (normal equations)",
        "height = -reading; least-squares plane height = a x + b y + c through the four wheels; "
        "slope up = atan a, side slope = atan b, "
        "twist = (rear left - rear right - front left + front right) / 4 of the heights; "
        "stand spot above = its height - the plane there",
    ),
    _formula(
        "run_out",
        _fields(run_out),
        "spot_0_mm spot_90_mm spot_180_mm spot_270_mm path_mm grows_to_left",
        "run_out_deg run_out_heading_deg run_out_residual_mm",
        "first harmonic of four equally spaced readings (definition)",
        "a = (r0 - r180) / 2, b = (r90 - r270) / 2; size = atan(sqrt(a^2 + b^2) / path), "
        "heading = atan(side a / path), rest = (r0 - r90 + r180 - r270) / 4",
    ),
    _formula(
        "run_out_put_back",
        _fields(run_out),
        "spot_0_mm spot_90_mm spot_180_mm spot_270_mm path_mm grows_to_left wheel_back_deg",
        "run_out_deg run_out_heading_deg run_out_residual_mm",
        "first harmonic of four equally spaced readings (definition)",
        "a = (r0 - r180) / 2, b = (r90 - r270) / 2; size = atan(sqrt(a^2 + b^2) / path), "
        "heading = atan(side (a cos(back) + b sin(back)) / path), back how far past its start the "
        "wheel stands, rest = (r0 - r90 + r180 - r270) / 4",
    ),
    _formula(
        "toe_from_angle",
        _fields(toe_from_angle),
        "toe_left_deg toe_right_deg",
        "thrust_direction_deg total_toe_deg",
        "derived from the static toe angle of ISO 8855:2011, 7.1.6 and 7.1.7, toe-in positive",
        "thrust direction to the left = (toe right - toe left) / 2; "
        "total toe = toe left + toe right; toe-in positive",
    ),
    _formula(
        "toe_from_mm",
        _fields(toe_from_mm),
        "toe_left_mm toe_right_mm diameter_mm",
        "thrust_direction_deg total_toe_deg toe_left_as_deg toe_right_as_deg thrust_direction_mm",
        "geometry; signs derived from the static toe angle of ISO 8855:2011, 7.1.6 and 7.1.7",
        "toe = asin(t / D), t the front-to-rear difference across the diameter D; "
        "then as toe_from_angle; thrust direction in mm = D sin(thrust direction)",
    ),
    _formula(
        "stand_turn",
        _fields(stand_turn),
        "spot_left_mm spot_right_mm path_mm run_out_left_deg run_out_right_deg total_toe_deg",
        "stand_turn_deg beam_disagreement_deg",
        "law of reflection (OpenStax, College Physics)",
        "each side: g = atan(spot shift / path) / 2; stand turn = mean of (run-out - g); "
        "disagreement = g left - g right + total toe - (run-out left - run-out right)",
    ),
    _formula(
        "stand_turn_of_heads",
        _fields(stand_turn),
        "spot_left_mm spot_right_mm path_mm run_out_left_deg run_out_right_deg total_toe_deg "
        "heads_out_left_deg heads_apart_deg",
        "stand_turn_deg beam_disagreement_deg",
        "law of reflection (OpenStax, College Physics)",
        "each side: g = atan(spot shift / path) / 2; stand turn = mean of (run-out - g) + heads "
        "out to the left; disagreement = g left - g right + total toe - (run-out left - run-out "
        "right) - heads apart",
    ),
    _formula(
        "head_squareness",
        _fields(head_squareness),
        "spot_left_mm spot_right_mm changed_left_mm changed_right_mm path_mm",
        "heads_out_left_deg heads_changed_deg",
        "law of reflection (OpenStax, College Physics); reversal",
        "each side: g = atan(spot shift / path) / 2, before and after the heads changed over; "
        "heads out to the left = (g left - g' left + g right - g' right) / 4",
    ),
    _formula(
        "known_turn",
        _fields(known_turn),
        "spot_left_mm spot_right_mm shimmed_left_mm shimmed_right_mm path_mm shim_mm base_mm",
        "turn_seen_deg known_turn_deg turn_error_deg sides_disagree_deg",
        "law of reflection (OpenStax, College Physics); definition of the sine",
        "each side: g = atan(spot shift / path) / 2; seen to the left = mean of (g before - g with "
        "the shim); known = asin(shim / base); error = seen - known",
    ),
    _formula(
        "arms_apart",
        _single(arms_apart_change_mm),
        "left_mm right_mm left_before_mm right_before_mm",
        "arms_apart_change_mm",
        "geometry",
        "further apart = (left + right) - (left + right before)",
    ),
    _formula(
        "stand_sideways",
        _single(stand_offset_left_mm),
        "left_mm right_mm",
        "stand_offset_left_mm",
        "geometry",
        "offset to the left = (right reading - left reading) / 2",
    ),
    _formula(
        "stand_sideways_run_out",
        _single(stand_offset_without_run_out_mm),
        "left_mm right_mm path_mm run_out_left_deg run_out_right_deg sensor_left_mm",
        "stand_offset_left_mm",
        "geometry",
        "offset to the left = (right reading - left reading) / 2 "
        "+ path (tan run-out left + tan run-out right) / 2 - sensor left of the middle",
    ),
    _formula(
        "stand_sideways_of_heads",
        _single(stand_offset_without_run_out_mm),
        "left_mm right_mm path_mm run_out_left_deg run_out_right_deg sensor_left_mm "
        "heads_out_left_deg",
        "stand_offset_left_mm",
        "geometry",
        "offset to the left = (right reading - left reading) / 2 + path (tan(run-out left + heads "
        "out) + tan(run-out right + heads out)) / 2 - sensor left of the middle",
    ),
    _formula(
        "stand_turn_from_distances",
        _single(turn_from_two_distances_deg),
        "distance_left_mm distance_right_mm apart_mm",
        "stand_turn_deg",
        "geometry",
        "turned to the left = atan((right distance - left distance) / how far apart they are)",
    ),
    _formula(
        "diagonal_skew",
        _single(skew_from_diagonals_deg),
        "diagonal_1_mm diagonal_2_mm length_mm width_mm",
        "skew_deg",
        "law of cosines",
        "front end skewed to the left = asin((d1^2 - d2^2) / (4 length width)), "
        "d1 from rear right to front left",
    ),
    _formula(
        "level_distance",
        _single(level_distance_mm),
        "tape_mm slope_deg",
        "level_distance_mm",
        "geometry",
        "level part of a sloping tape = tape cos(slope)",
    ),
    _formula(
        "body_stance",
        _fields(body_stance),
        "front_left_mm front_right_mm rear_left_mm rear_right_mm "
        "wanted_front_mm wanted_rear_mm wheelbase_mm track_mm",
        "body_nose_up_deg body_left_high_deg body_twist_mm",
        "geometry",
        "nose up = atan((mean front - wanted front - mean rear + wanted rear) / wheelbase); "
        "left high = atan((front left + rear left - front right - rear right) / (2 track)); "
        "twist = (front left + rear right - front right - rear left) / 4",
    ),
    _formula(
        "plate_distance",
        _single(_excess),
        "plate_distance_mm wanted_mm",
        "distance_error_mm",
        "definition",
        "too far away = measured - wanted",
    ),
    _formula(
        "plate_height",
        _single(_excess),
        "plate_height_mm wanted_mm",
        "height_error_mm",
        "definition",
        "too high = measured - wanted",
    ),
    _formula(
        "plate_level",
        _single(_level_deg),
        "level_mm_per_m",
        "plate_level_deg",
        "definition of a slope",
        "left end high = atan(s / 1000)",
    ),
    _formula(
        "plate_plumb",
        _single(_plumb_deg),
        "plumb_mm_per_m",
        "plate_plumb_deg",
        "definition of a slope",
        "top away = atan(s / 1000)",
    ),
    _formula(
        "echo_vertex",
        _fields(echo_vertex),
        "lean_1_deg lean_2_deg lean_3_deg echo_1_db echo_2_db echo_3_db",
        "vertex_deg beam_width_deg peak_db",
        "image theory with a Gaussian beam, derived",
        "parabola through the three: level = peak - 24 ((lean - vertex) / beam width)^2",
    ),
    _formula(
        "echo_peak",
        _fields(echo_peak),
        "lean_1_deg lean_2_deg lean_3_deg echo_1_db echo_2_db echo_3_db distance_mm hinge_below_mm",
        "vertex_deg beam_width_deg peak_db",
        "image theory with a Gaussian beam, derived",
        "each level + 20 log10(face distance / distance), face distance = distance cos(lean) - "
        "hinge below sin(lean); parabola through the three: "
        "level = peak - 24 ((lean - vertex) / beam width)^2",
    ),
    _formula(
        "echo_peak_of_known_width",
        _fields(echo_peak_of_known_width),
        "lean_1_deg lean_2_deg lean_3_deg echo_1_db echo_2_db echo_3_db distance_mm hinge_below_mm "
        "beam_width_deg",
        "vertex_deg beam_width_deg peak_db left_over_db",
        "image theory with a Gaussian beam, derived; least squares",
        "levels as for echo_peak; level + 24 (lean / beam width)^2 is a straight line, least "
        "squares; vertex = slope (beam width)^2 / 48; left over = the sum of the levels, weights "
        "of length one, that every straight line makes zero",
    ),
    _formula(
        "echo_peak_of_five",
        _fields(echo_peak_of_five),
        "lean_1_deg lean_2_deg lean_3_deg lean_4_deg lean_5_deg "
        "echo_1_db echo_2_db echo_3_db echo_4_db echo_5_db distance_mm hinge_below_mm",
        "vertex_deg beam_width_deg peak_db misfit_1_db misfit_2_db",
        "image theory with a Gaussian beam, derived; least squares",
        "levels as for echo_peak; least-squares parabola; misfits = the two independent sums of "
        "the levels, weights of length one, that every parabola makes zero",
        echo_peaks_of_five,
    ),
    _formula(
        "two_distances",
        _fields(two_distances),
        "level_db quarter_further_db",
        "mean_db ripple_db",
        "standing wave: half a period for a quarter of a wavelength",
        "level = mean of the two; ripple = half their difference",
    ),
    _formula(
        "plate_edges",
        _fields(plate_edges),
        "vertex_deg lean_1_deg lean_2_deg lean_3_deg span_mm distance_mm beam_width_deg "
        "wavelength_mm",
        "edge_doubt_deg",
        *_EDGES,
    ),
    _formula(
        "plate_edges_of_five",
        _fields(plate_edges),
        "vertex_deg lean_1_deg lean_2_deg lean_3_deg lean_4_deg lean_5_deg span_mm distance_mm "
        "beam_width_deg wavelength_mm",
        "edge_doubt_deg",
        *_EDGES,
    ),
    _formula(
        "plate_flatness",
        _single(flatness_doubt_deg),
        "flatness_mm span_mm",
        "flatness_doubt_deg",
        "geometry; rectangular: JCGM 100:2008, 4.3.7",
        "u = atan(4 flatness / span) / sqrt(3)",
    ),
    _formula(
        "aim_error",
        _fields(aim_error),
        "vertex_swing_deg vertex_lean_deg stand_turn_deg plate_plumb_deg floor_slope_up_deg",
        "aim_yaw_deg aim_elevation_deg",
        "geometry in the axes of ISO 8855",
        "aim to the left = swing at the echo's peak + stand turn; "
        "aim up = lean at the echo's peak - plumb (top away) - floor slope (nose up)",
    ),
    _formula(
        "aim_error_of_body",
        _fields(aim_error_of_body),
        "vertex_swing_deg vertex_lean_deg stand_turn_deg plate_plumb_deg floor_slope_up_deg "
        "body_nose_up_deg body_counts",
        "aim_yaw_deg aim_elevation_deg",
        "geometry in the axes of ISO 8855",
        "aim to the left = swing at the echo's peak + stand turn; "
        "aim up = lean at the echo's peak - plumb (top away) - floor slope (nose up) "
        "- body nose up where the maker refers to the body",
    ),
    _formula(
        "board_place",
        _fields(board_place),
        "left_tape_mm right_tape_mm track_mm wheelbase_mm wanted_ahead_mm height_mm "
        "wanted_height_mm spot_above_mm offset_left_mm thrust_direction_deg "
        "floor_slope_up_deg",
        "distance_error_mm height_error_mm tapes_disagree_mm",
        "law of cosines",
        "left = (right tape^2 - left tape^2) / (2 track), ahead = sqrt(left tape^2 - (left - track "
        "/ 2)^2); too far = ahead + height sin(slope) - wanted; too high = height + spot above - "
        "wanted; disagreement = left - (wheelbase + ahead) tan(thrust) - offset by the beams",
    ),
    _formula(
        "board_offset",
        _single(board_offset_left_mm),
        "arms_left_mm level_mm_per_m floor_side_slope_deg board_height_mm arm_height_mm",
        "board_offset_left_mm",
        "geometry",
        "offset to the left = offset at the arms + (sin(side slope, left high) - level (left end "
        "up) / 1000) x (board height - arm height)",
    ),
    _formula(
        "body_over_middle",
        _fields(body_over_middle),
        "front_left_mm front_right_mm rear_left_mm rear_right_mm wanted_front_mm wanted_rear_mm",
        "front_above_mm rear_above_mm",
        "definition",
        "each axle: mean of its two ride heights - wanted",
    ),
    _formula(
        "camera_offset",
        _fields(camera_offset),
        "tool_yaw_deg tool_elevation_deg board_ahead_mm distance_error_mm board_offset_left_mm "
        "board_height_mm height_error_mm camera_ahead_mm camera_left_mm camera_height_mm "
        "wheelbase_mm thrust_direction_deg front_above_mm rear_above_mm",
        "camera_yaw_deg camera_elevation_deg",
        "geometry in the axes of ISO 8855",
        "to the left = tool + atan((board's offset - camera's) / apart), both from the thrust "
        "line, apart = board ahead + error - camera ahead; up = tool + atan((board - camera "
        "height + error - body's rise at the camera) / apart) - the same angle on paper",
    ),
    _formula(
        "bar_facing",
        _fields(bar_facing),
        "left_end_mm right_end_mm bar_mm",
        "facing_deg middle_mm",
        "Apollonius' theorem; law of cosines",
        "middle^2 = (left^2 + right^2) / 2 - (bar / 2)^2; turned to the left = asin((right^2 - "
        "left^2) / (2 bar middle))",
    ),
    _formula(
        "corner_place",
        _fields(corner_place),
        "left_tape_mm right_tape_mm track_mm middle_mm thrust_direction_deg wanted_radius_mm "
        "wanted_angle_deg side",
        "sideways_error_mm away_error_mm tapes_disagree_mm behind_mm left_mm",
        "law of cosines; rotation",
        "left = (right tape^2 - left tape^2) / (2 track), off = sqrt(left tape^2 - (left - track / "
        "2)^2), turned into the thrust direction; errors against radius sin(angle) on its side "
        "and radius cos(angle) behind; disagreement = sqrt(off^2 + left^2) - middle by the ends",
    ),
    _formula(
        "corner_start",
        _fields(corner_start),
        "track_mm bar_mm thrust_direction_deg wanted_radius_mm wanted_angle_deg side",
        "left_tape_mm right_tape_mm bar_end_mm",
        "rotation; Pythagoras",
        "angle = side angle - thrust; behind = radius cos(angle), left = radius sin(angle); tapes "
        "= sqrt(behind^2 + (left -/+ track / 2)^2); bar's end = sqrt(radius^2 + (bar / 2)^2)",
    ),
    _formula(
        "mat_start",
        _fields(mat_start),
        "track_mm mat_mm wanted_mm",
        "tape_mm diagonal_mm",
        "Pythagoras",
        "tape = sqrt(distance^2 + ((mat - track) / 2)^2); crosswise = sqrt(distance^2 + ((mat + "
        "track) / 2)^2)",
    ),
    _formula(
        "board_start",
        _fields(board_start),
        "track_mm wheelbase_mm wanted_ahead_mm wanted_height_mm spot_above_mm "
        "thrust_direction_deg floor_slope_up_deg",
        "left_tape_mm right_tape_mm height_mm",
        "Pythagoras; small angles of a plane",
        "height = wanted - spot above; off = wanted - height sin(slope), left = (wheelbase + off) "
        "tan(thrust); tapes = sqrt(off^2 + (left -/+ track / 2)^2)",
    ),
    _formula(
        "mat_place",
        _fields(mat_place),
        "left_tape_mm left_diagonal_mm right_tape_mm right_diagonal_mm track_mm mat_mm wanted_mm "
        "end",
        "distance_error_mm sideways_error_mm turned_deg tapes_disagree_mm",
        "law of cosines",
        "each corner from its two tapes: left = (right^2 - left^2) / (2 track), off = sqrt(left^2 "
        "- (left of middle - track / 2)^2); distance and sideways: the means of both; turned to "
        "the left = atan(end (off right - off left) / across); disagreement = corners apart - mat",
    ),
    _formula(
        "field_skew",
        _single(field_skew_deg),
        "left_diagonal_mm right_diagonal_mm front_mm wheelbase_mm rear_mm mat_mm",
        "skew_deg",
        "law of cosines",
        "front skewed to the left = asin((left^2 - right^2) / (4 (front + wheelbase + rear) mat)), "
        "left from the front mat's left corner to the rear mat's right one",
    ),
    _formula(
        "corner_angle",
        _single(corner_angle_deg),
        "tool_yaw_deg behind_mm left_mm wanted_radius_mm wanted_angle_deg side sensor_behind_mm "
        "sensor_out_mm",
        "corner_angle_deg",
        "geometry in the axes of ISO 8855",
        "to the left = tool - (bearing of the stand from the sensor - bearing of its place), "
        "bearings to the left from straight back",
    ),
    _formula(
        "aim_from_tool",
        _fields(aim_from_tool),
        "tool_yaw_deg tool_elevation_deg",
        "aim_yaw_deg aim_elevation_deg",
        "as the scan tool states it",
        "aim = the tool's figures",
    ),
)

FORMULAS: Mapping[str, Formula] = MappingProxyType({formula.name: formula for formula in _LIST})


def evaluate(formula_name: str, inputs: Mapping[str, Measured]) -> dict[str, Measured]:
    """The named formula's outputs with their doubt.

    Raises MeasureError for an unknown formula, for missing or unknown inputs (it names them), for
    a value that is not finite, and where the formula itself has no answer.
    """
    formula = FORMULAS.get(formula_name)
    if formula is None:
        raise MeasureError(f"formula {formula_name}: unknown; wanted: one of {', '.join(FORMULAS)}")
    if inputs.keys() != formula.inputs.keys():
        missing = [name for name in formula.inputs if name not in inputs]
        unknown = [name for name in inputs if name not in formula.inputs]
        raise MeasureError(
            f"formula {formula_name}: missing {', '.join(missing) or 'nothing'}; "
            f"unknown {', '.join(unknown) or 'nothing'}; wanted: {', '.join(formula.inputs)}"
        )
    for name, item in inputs.items():
        if not math.isfinite(item.value):
            raise MeasureError(f"formula {formula_name}: {name} is {item.value}; wanted: finite")
    if formula.at_once is not None:
        return propagate_at_once(formula.at_once, inputs)
    return propagate_row(tuple(formula.outputs), formula.row, inputs)

"""Every formula keeps left and right apart: a mirrored bay gives the mirrored answer."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.formulas import FORMULAS
from companion.errors import MeasureError

# In the mirror inputs swap their sides and signed ones change sign; so do the named outputs.
# formula: (pairs that swap, inputs that change sign, outputs that change sign)
MIRRORED: dict[str, tuple[list[tuple[str, str]], list[str], list[str]]] = {
    "floor_plane": (
        [("rear_left_mm", "rear_right_mm"), ("front_left_mm", "front_right_mm")],
        [],
        ["floor_side_slope_deg", "floor_twist_mm"],
    ),
    "run_out": ([], ["grows_to_left"], ["run_out_heading_deg"]),
    "run_out_put_back": ([], ["grows_to_left"], ["run_out_heading_deg"]),
    "toe_from_angle": ([("toe_left_deg", "toe_right_deg")], [], ["thrust_direction_deg"]),
    "toe_from_mm": (
        [("toe_left_mm", "toe_right_mm"), ("toe_left_as_deg", "toe_right_as_deg")],
        [],
        ["thrust_direction_deg", "thrust_direction_mm"],
    ),
    "stand_turn": (
        [("spot_left_mm", "spot_right_mm"), ("run_out_left_deg", "run_out_right_deg")],
        ["spot_left_mm", "spot_right_mm", "run_out_left_deg", "run_out_right_deg"],
        ["stand_turn_deg"],
    ),
    "stand_turn_of_heads": (
        [("spot_left_mm", "spot_right_mm"), ("run_out_left_deg", "run_out_right_deg")],
        [
            "spot_left_mm",
            "spot_right_mm",
            "run_out_left_deg",
            "run_out_right_deg",
            "heads_out_left_deg",
        ],
        ["stand_turn_deg"],
    ),
    "head_squareness": (
        [("spot_left_mm", "spot_right_mm"), ("changed_left_mm", "changed_right_mm")],
        ["spot_left_mm", "spot_right_mm", "changed_left_mm", "changed_right_mm"],
        ["heads_out_left_deg"],
    ),
    "arms_apart": ([("left_mm", "right_mm"), ("left_before_mm", "right_before_mm")], [], []),
    "stand_sideways": ([("left_mm", "right_mm")], [], ["stand_offset_left_mm"]),
    "stand_sideways_run_out": (
        [("left_mm", "right_mm"), ("run_out_left_deg", "run_out_right_deg")],
        ["run_out_left_deg", "run_out_right_deg", "sensor_left_mm"],
        ["stand_offset_left_mm"],
    ),
    "stand_sideways_of_heads": (
        [("left_mm", "right_mm"), ("run_out_left_deg", "run_out_right_deg")],
        ["run_out_left_deg", "run_out_right_deg", "sensor_left_mm", "heads_out_left_deg"],
        ["stand_offset_left_mm"],
    ),
    "stand_turn_from_distances": (
        [("distance_left_mm", "distance_right_mm")],
        [],
        ["stand_turn_deg"],
    ),
    "diagonal_skew": ([("diagonal_1_mm", "diagonal_2_mm")], [], ["skew_deg"]),
    "level_distance": ([], [], []),
    "body_stance": (
        [("front_left_mm", "front_right_mm"), ("rear_left_mm", "rear_right_mm")],
        [],
        ["body_left_high_deg", "body_twist_mm"],
    ),
    "plate_distance": ([], [], []),
    "plate_height": ([], [], []),
    "plate_level": ([], ["level_mm_per_m"], ["plate_level_deg"]),
    "plate_plumb": ([], [], []),
    "echo_vertex": (
        [("echo_1_db", "echo_3_db"), ("lean_1_deg", "lean_3_deg")],
        ["lean_1_deg", "lean_2_deg", "lean_3_deg"],
        ["vertex_deg"],
    ),
    "echo_peak": (
        [("echo_1_db", "echo_3_db"), ("lean_1_deg", "lean_3_deg")],
        ["lean_1_deg", "lean_2_deg", "lean_3_deg", "hinge_below_mm"],
        ["vertex_deg"],
    ),
    "echo_peak_of_known_width": (
        [("echo_1_db", "echo_3_db"), ("lean_1_deg", "lean_3_deg")],
        ["lean_1_deg", "lean_2_deg", "lean_3_deg", "hinge_below_mm"],
        ["vertex_deg"],
    ),
    "echo_peak_of_five": (
        [
            (f"{kind}_{one}_{unit}", f"{kind}_{other}_{unit}")
            for kind, unit in (("echo", "db"), ("lean", "deg"))
            for one, other in ((1, 5), (2, 4))
        ],
        [*(f"lean_{n}_deg" for n in range(1, 6)), "hinge_below_mm"],
        ["vertex_deg", "misfit_1_db"],
    ),
    "two_distances": ([], [], []),
    "plate_edges": (
        [("lean_1_deg", "lean_3_deg")],
        ["lean_1_deg", "lean_2_deg", "lean_3_deg", "vertex_deg"],
        [],
    ),
    "plate_edges_of_five": (
        [("lean_1_deg", "lean_5_deg"), ("lean_2_deg", "lean_4_deg")],
        [*(f"lean_{n}_deg" for n in range(1, 6)), "vertex_deg"],
        [],
    ),
    "plate_flatness": ([], [], []),
    "aim_error_of_body": ([], ["vertex_swing_deg", "stand_turn_deg"], ["aim_yaw_deg"]),
    "aim_error": ([], ["vertex_swing_deg", "stand_turn_deg"], ["aim_yaw_deg"]),
    # The tapes come from the car's left and right; the thrust line and the beams' offset turn over.
    "board_place": (
        [("left_tape_mm", "right_tape_mm")],
        ["offset_left_mm", "thrust_direction_deg"],
        ["tapes_disagree_mm"],
    ),
    "board_offset": (
        [],
        ["arms_left_mm", "level_mm_per_m", "floor_side_slope_deg"],
        ["board_offset_left_mm"],
    ),
    "body_over_middle": (
        [("front_left_mm", "front_right_mm"), ("rear_left_mm", "rear_right_mm")],
        [],
        [],
    ),
    "camera_offset": (
        [],
        ["tool_yaw_deg", "board_offset_left_mm", "camera_left_mm", "thrust_direction_deg"],
        ["camera_yaw_deg"],
    ),
    "bar_facing": ([("left_end_mm", "right_end_mm")], [], ["facing_deg"]),
    # The reflector of the left corner becomes that of the right.
    "corner_place": (
        [("left_tape_mm", "right_tape_mm")],
        ["thrust_direction_deg", "side"],
        ["sideways_error_mm", "left_mm"],
    ),
    "corner_start": ([("left_tape_mm", "right_tape_mm")], ["thrust_direction_deg", "side"], []),
    "board_start": ([("left_tape_mm", "right_tape_mm")], ["thrust_direction_deg"], []),
    "mat_start": ([], [], []),
    "corner_angle": ([], ["tool_yaw_deg", "left_mm", "side"], ["corner_angle_deg"]),
    "mat_place": (
        [("left_tape_mm", "right_tape_mm"), ("left_diagonal_mm", "right_diagonal_mm")],
        [],
        ["sideways_error_mm", "turned_deg"],
    ),
    "field_skew": ([("left_diagonal_mm", "right_diagonal_mm")], [], ["skew_deg"]),
    "aim_from_tool": ([], ["tool_yaw_deg"], ["aim_yaw_deg"]),
}
# The shim goes behind the bar's left end alone: what is seen has a mirror, what is known has none.
ONE_SIDED = {"known_turn"}
Bay = dict[str, dict[str, tuple[float, float]]]


def test_every_formula_has_its_mirror() -> None:
    assert set(MIRRORED) | ONE_SIDED == set(FORMULAS)


@pytest.mark.parametrize("name", sorted(MIRRORED))
@given(data=st.data())
def test_the_mirrored_bay_gives_the_mirrored_answer(
    name: str, bay: Bay, data: st.DataObject
) -> None:
    swapped, signed, turned = MIRRORED[name]
    here = {
        key: value + (data.draw(st.floats(-3.0, 3.0)) * u if u else 0.0)
        for key, (value, u) in bay[name].items()
    }
    there = dict(here)
    partner = {name: other for pair in swapped for name, other in (pair, pair[::-1])}
    for one, other in swapped:
        if one in here:
            there[one], there[other] = here[other], here[one]
    for key in signed:
        there[key] = -there[key]
    try:
        answer = FORMULAS[name].function(here)
    except MeasureError:
        with pytest.raises(MeasureError):
            FORMULAS[name].function(there)
        return
    for key, value in FORMULAS[name].function(there).items():
        own = answer[partner.get(key, key)]
        expected = -own if key in turned else own
        assert value == pytest.approx(expected, abs=1e-9, rel=1e-9), key


def test_a_known_turn_is_seen_to_the_other_side_by_mirrored_spots(bay: Bay) -> None:
    here = {key: value for key, (value, _) in bay["known_turn"].items()}
    there = here | {
        f"{when}_{side}_mm": -here[f"{when}_{other}_mm"]
        for when in ("spot", "shimmed")
        for side, other in (("left", "right"), ("right", "left"))
    }
    seen, mirrored = (FORMULAS["known_turn"].function(bay_) for bay_ in (here, there))
    assert mirrored["turn_seen_deg"] == pytest.approx(-seen["turn_seen_deg"], abs=1e-12)
    assert mirrored["sides_disagree_deg"] == pytest.approx(seen["sides_disagree_deg"], abs=1e-12)


@pytest.mark.parametrize(
    ("name", "input_name", "output", "sign"),
    [
        ("aim_error", "vertex_swing_deg", "aim_yaw_deg", 1),
        ("aim_error", "stand_turn_deg", "aim_yaw_deg", 1),
        ("aim_error", "vertex_lean_deg", "aim_elevation_deg", 1),
        ("aim_error", "plate_plumb_deg", "aim_elevation_deg", -1),
        ("aim_error", "floor_slope_up_deg", "aim_elevation_deg", -1),
        ("aim_error_of_body", "body_nose_up_deg", "aim_elevation_deg", -1),
        ("echo_peak", "hinge_below_mm", "vertex_deg", -1),
        ("echo_peak_of_five", "hinge_below_mm", "vertex_deg", -1),
        ("head_squareness", "spot_right_mm", "heads_out_left_deg", 1),
        ("plate_edges", "span_mm", "edge_doubt_deg", -1),
        ("stand_turn", "spot_left_mm", "stand_turn_deg", -1),
        ("stand_turn", "run_out_right_deg", "stand_turn_deg", 1),
        ("stand_turn_of_heads", "heads_out_left_deg", "stand_turn_deg", 1),
        ("stand_turn_of_heads", "heads_apart_deg", "beam_disagreement_deg", -1),
        ("stand_sideways_of_heads", "heads_out_left_deg", "stand_offset_left_mm", 1),
        ("stand_sideways_run_out", "right_mm", "stand_offset_left_mm", 1),
        ("stand_sideways_run_out", "run_out_left_deg", "stand_offset_left_mm", 1),
        ("toe_from_angle", "toe_right_deg", "thrust_direction_deg", 1),
        ("toe_from_mm", "toe_left_mm", "thrust_direction_deg", -1),
        ("floor_plane", "front_left_mm", "floor_slope_up_deg", -1),
        ("floor_plane", "rear_left_mm", "floor_side_slope_deg", -1),
        ("plate_plumb", "plumb_mm_per_m", "plate_plumb_deg", 1),
        ("echo_vertex", "echo_3_db", "vertex_deg", 1),
        ("body_stance", "front_left_mm", "body_nose_up_deg", 1),
        ("diagonal_skew", "diagonal_1_mm", "skew_deg", 1),
        ("level_distance", "slope_deg", "level_distance_mm", -1),
        ("stand_turn_from_distances", "distance_right_mm", "stand_turn_deg", 1),
        # A longer tape from the right: the point lies further to the left.
        ("board_place", "right_tape_mm", "tapes_disagree_mm", 1),
        # A thrust line further to the left: the beams would have the board further left.
        ("board_place", "thrust_direction_deg", "tapes_disagree_mm", -1),
        ("board_place", "offset_left_mm", "tapes_disagree_mm", -1),
        ("board_place", "floor_slope_up_deg", "distance_error_mm", 1),
        ("board_place", "spot_above_mm", "height_error_mm", 1),
        # Left end up: the stand's top, where the board is, leans to the right.
        ("board_offset", "level_mm_per_m", "board_offset_left_mm", -1),
        ("board_offset", "floor_side_slope_deg", "board_offset_left_mm", 1),
        # What the tool takes for a look to the right is the board standing to the left.
        ("camera_offset", "board_offset_left_mm", "camera_yaw_deg", 1),
        ("camera_offset", "camera_left_mm", "camera_yaw_deg", -1),
        ("camera_offset", "thrust_direction_deg", "camera_yaw_deg", 1),
        ("camera_offset", "height_error_mm", "camera_elevation_deg", 1),
        ("camera_offset", "front_above_mm", "camera_elevation_deg", -1),
        ("camera_offset", "rear_above_mm", "camera_elevation_deg", -1),
        # The left end is nearer: the bar is turned anticlockwise, seen from above.
        ("bar_facing", "left_end_mm", "facing_deg", -1),
        ("corner_place", "right_tape_mm", "sideways_error_mm", 1),
        # Straight back along a thrust line to the left lies to the right.
        ("corner_place", "thrust_direction_deg", "sideways_error_mm", 1),
        # Behind the car, further to the car's left is clockwise seen from above.
        ("corner_angle", "left_mm", "corner_angle_deg", -1),
        ("corner_angle", "tool_yaw_deg", "corner_angle_deg", 1),
        # A longer tape from the right wheel puts the left corner further to the left.
        ("mat_place", "right_diagonal_mm", "sideways_error_mm", 1),
        ("mat_place", "left_diagonal_mm", "sideways_error_mm", -1),
        # Before the car the end that is nearer is on the side that it is turned to.
        ("mat_place", "left_tape_mm", "turned_deg", -1),
        ("mat_place", "right_tape_mm", "turned_deg", 1),
        ("mat_place", "mat_mm", "tapes_disagree_mm", -1),
        ("field_skew", "left_diagonal_mm", "skew_deg", 1),
        ("known_turn", "shimmed_left_mm", "turn_seen_deg", -1),
        ("known_turn", "shim_mm", "turn_error_deg", -1),
    ],
)
@given(by=st.floats(0.05, 3.0))
def test_more_of_one_reading_always_moves_the_answer_one_way(
    name: str, input_name: str, output: str, sign: int, bay: Bay, by: float
) -> None:
    here = {key: value for key, (value, _) in bay[name].items()}
    u = bay[name][input_name][1]
    function = FORMULAS[name].function
    more = function(here | {input_name: here[input_name] + by * u})[output]
    assert sign * (more - function(here)[output]) > 0.0


@given(scale=st.floats(0.5, 3.0))
def test_angles_do_not_depend_on_the_unit_of_length(scale: float, bay: Bay) -> None:
    """All lengths in another unit: every angle stays, every length scales."""
    for name in ("floor_plane", "run_out", "toe_from_mm", "stand_turn", "diagonal_skew",
                 "stand_turn_from_distances", "body_stance", "stand_sideways_run_out",
                 "board_place", "board_offset", "body_over_middle", "camera_offset", "bar_facing",
                 "corner_place", "corner_angle", "mat_place", "field_skew"):  # fmt: skip
        formula = FORMULAS[name]
        here = {key: value for key, (value, _) in bay[name].items()}
        there = {k: v * scale if formula.inputs[k] == "mm" else v for k, v in here.items()}
        before, after = formula.function(here), formula.function(there)
        for key, unit in formula.outputs.items():
            expected = before[key] * scale if unit == "mm" else before[key]
            assert after[key] == pytest.approx(expected, rel=1e-9, abs=1e-9)

"""The catalogue names everything, computes it, and keeps left and right apart."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.formulas import FORMULAS, evaluate
from companion.errors import MeasureError
from companion.uncertainty.measured import exact, measured

MM = st.floats(-50.0, 50.0)
DEG = st.floats(-2.0, 2.0)


def values(formula: str, **inputs: float) -> dict[str, float]:
    results = evaluate(formula, {name: exact(value) for name, value in inputs.items()})
    return {name: result.value for name, result in results.items()}


def test_every_formula_writes_itself_out_with_units_and_a_source() -> None:
    for name, formula in FORMULAS.items():
        assert formula.name == name
        assert formula.source
        assert formula.text
        assert set(formula.inputs.values()) | set(formula.outputs.values()) <= {
            "mm",
            "deg",
            "db",
            "mm/m",
            "1",
        }


def test_units_follow_the_names() -> None:
    assert FORMULAS["plate_plumb"].inputs == {"plumb_mm_per_m": "mm/m"}
    assert FORMULAS["run_out"].inputs["grows_to_left"] == "1"
    assert FORMULAS["echo_vertex"].outputs["peak_db"] == "db"


def test_an_unknown_formula_is_refused() -> None:
    with pytest.raises(MeasureError, match="formula floor_plan: unknown"):
        evaluate("floor_plan", {})


def test_a_forgotten_and_a_misspelt_input_are_both_named() -> None:
    with pytest.raises(MeasureError, match="missing right_mm; unknown rihgt_mm"):
        evaluate("stand_sideways", {"left_mm": exact(1.0), "rihgt_mm": exact(2.0)})


def test_the_stand_is_said_to_sit_left_when_the_left_arm_reads_less() -> None:
    assert values("stand_sideways", left_mm=771.0, right_mm=779.0)["stand_offset_left_mm"] == 4.0


def test_a_beam_that_wobbles_left_on_both_sides_does_not_move_the_stand() -> None:
    # Stand in the middle; both beams land 2 mm too far left: left arm reads more, right arm less.
    heading_deg = 2.0 / 4700.0 * 57.29577951308232
    offset = values(
        "stand_sideways_run_out",
        left_mm=777.0,
        right_mm=773.0,
        path_mm=4700.0,
        run_out_left_deg=heading_deg,
        run_out_right_deg=heading_deg,
        sensor_left_mm=0.0,
    )
    assert offset["stand_offset_left_mm"] == pytest.approx(0.0, abs=1e-6)


def test_distance_height_level_and_plumb_keep_their_words() -> None:
    far = values("plate_distance", plate_distance_mm=1203.0, wanted_mm=1200.0)
    low = values("plate_height", plate_height_mm=638.0, wanted_mm=640.0)
    assert far == {"distance_error_mm": 3.0}
    assert low == {"height_error_mm": -2.0}
    assert values("plate_level", level_mm_per_m=2.0)["plate_level_deg"] > 0.0
    assert values("plate_plumb", plumb_mm_per_m=-2.0)["plate_plumb_deg"] < 0.0


def test_aim_takes_off_plumb_and_floor_and_adds_the_stands_turn() -> None:
    aim = values(
        "aim_error",
        vertex_swing_deg=0.5,
        vertex_lean_deg=0.4,
        stand_turn_deg=-0.1,
        plate_plumb_deg=0.15,
        floor_slope_up_deg=0.05,
    )
    assert aim["aim_yaw_deg"] == pytest.approx(0.4)
    assert aim["aim_elevation_deg"] == pytest.approx(0.2)
    assert values("aim_from_tool", tool_yaw_deg=0.3, tool_elevation_deg=-0.1) == {
        "aim_yaw_deg": 0.3,
        "aim_elevation_deg": -0.1,
    }


@given(rear_left=MM, rear_right=MM, front_left=MM, front_right=MM, stand=MM)
def test_a_mirrored_floor_leans_the_other_way(
    rear_left: float, rear_right: float, front_left: float, front_right: float, stand: float
) -> None:
    size = {
        "stand_mm": stand,
        "wheelbase_mm": 2700.0,
        "rear_track_mm": 1550.0,
        "front_track_mm": 1570.0,
        "stand_ahead_mm": 1900.0,
    }
    names = ("rear_left_mm", "rear_right_mm", "front_left_mm", "front_right_mm")
    here = values(
        "floor_plane",
        **dict(zip(names, (rear_left, rear_right, front_left, front_right), strict=True)),
        **size,
    )
    mirrored = values(
        "floor_plane",
        **dict(zip(names, (rear_right, rear_left, front_right, front_left), strict=True)),
        **size,
    )
    assert mirrored["floor_slope_up_deg"] == pytest.approx(here["floor_slope_up_deg"])
    assert mirrored["floor_side_slope_deg"] == pytest.approx(-here["floor_side_slope_deg"])
    assert mirrored["floor_twist_mm"] == pytest.approx(-here["floor_twist_mm"])
    assert mirrored["stand_spot_above_mm"] == pytest.approx(here["stand_spot_above_mm"])


@given(spots=st.tuples(MM, MM, MM, MM))
def test_the_same_wobble_on_the_other_arm_heads_the_other_way(
    spots: tuple[float, float, float, float],
) -> None:
    names = ("spot_0_mm", "spot_90_mm", "spot_180_mm", "spot_270_mm")
    readings = dict(zip(names, spots, strict=True))
    left = values("run_out", **readings, path_mm=4700.0, grows_to_left=1.0)
    right = values("run_out", **readings, path_mm=4700.0, grows_to_left=-1.0)
    assert right["run_out_heading_deg"] == -left["run_out_heading_deg"]
    assert right["run_out_deg"] == left["run_out_deg"]
    assert abs(left["run_out_heading_deg"]) <= left["run_out_deg"] + 1e-12


@given(spot_left=MM, spot_right=MM, wobble_left=DEG, wobble_right=DEG, toe=DEG)
def test_a_mirrored_bay_turns_the_stand_the_other_way(
    spot_left: float, spot_right: float, wobble_left: float, wobble_right: float, toe: float
) -> None:
    here = values(
        "stand_turn",
        spot_left_mm=spot_left,
        spot_right_mm=spot_right,
        path_mm=4700.0,
        run_out_left_deg=wobble_left,
        run_out_right_deg=wobble_right,
        total_toe_deg=toe,
    )
    mirrored = values(
        "stand_turn",
        spot_left_mm=-spot_right,
        spot_right_mm=-spot_left,
        path_mm=4700.0,
        run_out_left_deg=-wobble_right,
        run_out_right_deg=-wobble_left,
        total_toe_deg=toe,
    )
    assert mirrored["stand_turn_deg"] == pytest.approx(-here["stand_turn_deg"], abs=1e-12)
    assert mirrored["beam_disagreement_deg"] == pytest.approx(
        here["beam_disagreement_deg"], abs=1e-12
    )


def test_a_run_out_that_no_wobble_explains_shows_in_the_rest() -> None:
    wobble = values(
        "run_out",
        spot_0_mm=774.0,
        spot_90_mm=777.0,
        spot_180_mm=776.0,
        spot_270_mm=773.0,
        path_mm=4700.0,
        grows_to_left=1.0,
    )
    slip = values(
        "run_out",
        spot_0_mm=774.0,
        spot_90_mm=777.0,
        spot_180_mm=784.0,
        spot_270_mm=773.0,
        path_mm=4700.0,
        grows_to_left=1.0,
    )
    assert wobble["run_out_residual_mm"] == 0.0
    assert slip["run_out_residual_mm"] == 2.0
    assert wobble["run_out_heading_deg"] < 0.0


@pytest.mark.parametrize(
    ("formula", "inputs", "named"),
    [
        ("toe_from_mm", {"toe_left_mm": 5.0, "toe_right_mm": 1.0, "diameter_mm": 4.0}, "diameter"),
        (
            "run_out",
            {
                "spot_0_mm": 1.0,
                "spot_90_mm": 1.0,
                "spot_180_mm": 1.0,
                "spot_270_mm": 1.0,
                "path_mm": 4700.0,
                "grows_to_left": 0.0,
            },
            "grows_to_left",
        ),
        (
            "stand_turn",
            {
                "spot_left_mm": 1.0,
                "spot_right_mm": 1.0,
                "path_mm": 0.0,
                "run_out_left_deg": 0.0,
                "run_out_right_deg": 0.0,
                "total_toe_deg": 0.0,
            },
            "path",
        ),
    ],
)
def test_what_cannot_be_is_refused(formula: str, inputs: dict[str, float], named: str) -> None:
    with pytest.raises(MeasureError, match=named):
        values(formula, **inputs)


ABOVE_ZERO = {
    "floor_plane": {"wheelbase_mm", "rear_track_mm", "front_track_mm"},
    "run_out": {"path_mm"},
    "run_out_put_back": {"path_mm"},
    "toe_from_mm": {"diameter_mm"},
    "stand_turn": {"path_mm"},
    "stand_turn_of_heads": {"path_mm"},
    "stand_sideways_of_heads": {"path_mm"},
    "head_squareness": {"path_mm"},
    "known_turn": {"path_mm", "shim_mm", "base_mm"},
    "stand_sideways_run_out": {"path_mm"},
    "stand_turn_from_distances": {"apart_mm"},
    "diagonal_skew": {"length_mm", "width_mm"},
    "body_stance": {"wheelbase_mm", "track_mm"},
    "echo_peak": {"distance_mm"},
    "echo_peak_of_known_width": {"distance_mm", "beam_width_deg"},
    "echo_peak_of_five": {"distance_mm"},
    "plate_edges": {"span_mm", "distance_mm", "beam_width_deg", "wavelength_mm"},
    "plate_edges_of_five": {"span_mm", "distance_mm", "beam_width_deg", "wavelength_mm"},
    "plate_flatness": {"span_mm"},
    "board_place": {"left_tape_mm", "right_tape_mm", "track_mm"},
    "camera_offset": {"wheelbase_mm"},
    "bar_facing": {"bar_mm"},
    "corner_place": {"left_tape_mm", "right_tape_mm", "track_mm"},
    "corner_start": {"track_mm", "bar_mm", "wanted_radius_mm"},
    "mat_start": {"track_mm", "mat_mm", "wanted_mm"},
    "board_start": {"track_mm", "wheelbase_mm", "wanted_ahead_mm"},
}


NOT_BELOW_ZERO = {("plate_flatness", "flatness_mm"), ("aim_error_of_body", "body_counts")}


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_no_figure_makes_a_formula_fail_and_what_has_to_be_above_zero_is_refused(
    name: str, bay: dict[str, dict[str, tuple[float, float]]]
) -> None:
    """Whatever a file or a reading holds: a finite result, or a sentence that says what is wanted.

    A job goes on after such a sentence; any other error would end it.
    """
    believable = {key: exact(value) for key, (value, _) in bay[name].items()}
    for key, item in believable.items():
        for odd in (0.0, -abs(item.value), -1.0, 1e4, -1e4, 1e9, -1e9):
            refused = False
            try:
                found = evaluate(name, believable | {key: exact(odd)})
            except MeasureError as error:
                assert "wanted" in str(error) or "read" in str(error)  # noqa: PT017
                refused = True
            else:
                assert all(math.isfinite(result.value) for result in found.values()), (key, odd)
            if odd <= 0.0 and key in ABOVE_ZERO.get(name, ()):
                assert refused, (key, odd)
            if odd < 0.0 and (name, key) in NOT_BELOW_ZERO:
                assert refused, (key, odd)


def test_the_stands_doubt_halves_over_two_independent_arms() -> None:
    result = evaluate(
        "stand_sideways",
        {"left_mm": measured("l", 770.0, 0.3), "right_mm": measured("r", 778.0, 0.3)},
    )["stand_offset_left_mm"]
    assert result.u == pytest.approx(0.3 / 2**0.5)

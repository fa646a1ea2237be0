"""One believable bay, shared by the tests of every formula."""

from __future__ import annotations

import pytest

# Inputs that several formulas share.
SPOTS_OF_A_TURN = {
    "spot_0_mm": (772.0, 0.3),
    "spot_90_mm": (774.0, 0.3),
    "spot_180_mm": (778.0, 0.3),
    "spot_270_mm": (776.0, 0.3),
    "path_mm": (4700.0, 6.0),
    "grows_to_left": (-1.0, 0.0),
}
SPOTS_AT_THE_STAND = {
    "spot_left_mm": (-6.0, 0.3),
    "spot_right_mm": (9.0, 0.4),
}
THREE_LEANS = {
    "lean_1_deg": (-3.0, 0.02),
    "lean_2_deg": (0.0, 0.02),
    "lean_3_deg": (3.0, 0.02),
}
THREE_LEVELS = {
    "echo_1_db": (28.0, 0.05),
    "echo_2_db": (31.5, 0.05),
    "echo_3_db": (30.0, 0.05),
}
HINGE = {
    "distance_mm": (1200.0, 2.0),
    "hinge_below_mm": (120.0, 10.0),
}
BEAM_AT_THE_PLATE = {
    "distance_mm": (1200.0, 2.0),
    "beam_width_deg": (12.0, 0.3),
    "wavelength_mm": (3.92, 0.0),
}
RIDE_HEIGHTS = {
    "front_left_mm": (386.0, 0.6),
    "front_right_mm": (383.0, 0.6),
    "rear_left_mm": (391.0, 0.6),
    "rear_right_mm": (388.0, 0.6),
    "wanted_front_mm": (385.0, 0.0),
    "wanted_rear_mm": (390.0, 0.0),
}
OF_THE_AIM = {
    "vertex_swing_deg": (0.5, 0.05),
    "vertex_lean_deg": (-0.3, 0.06),
    "stand_turn_deg": (0.03, 0.01),
    "plate_plumb_deg": (0.1, 0.02),
    "floor_slope_up_deg": (0.12, 0.02),
}
CORNER = {
    "wanted_radius_mm": (2800.0, 0.0),
    "wanted_angle_deg": (38.0, 0.0),
    "side": (1.0, 0.0),
}

# Every formula's inputs as (value, standard uncertainty).
BAY: dict[str, dict[str, tuple[float, float]]] = {
    "floor_plane": {
        "rear_left_mm": (20.0, 0.3),
        "rear_right_mm": (23.0, 0.3),
        "front_left_mm": (15.0, 0.4),
        "front_right_mm": (17.0, 0.3),
        "stand_mm": (12.0, 0.3),
        "wheelbase_mm": (2700.0, 3.0),
        "rear_track_mm": (1550.0, 4.0),
        "front_track_mm": (1570.0, 4.0),
        "stand_ahead_mm": (1900.0, 6.0),
    },
    "run_out": {
        **SPOTS_OF_A_TURN,
    },
    "run_out_put_back": {
        **SPOTS_OF_A_TURN,
        "wheel_back_deg": (0.0, 1.0),
    },
    "toe_from_angle": {"toe_left_deg": (0.2, 0.02), "toe_right_deg": (0.1, 0.03)},
    "toe_from_mm": {
        "toe_left_mm": (1.0, 0.2),
        "toe_right_mm": (2.0, 0.2),
        "diameter_mm": (406.4, 1.0),
    },
    "stand_turn": {
        **SPOTS_AT_THE_STAND,
        "path_mm": (4700.0, 6.0),
        "run_out_left_deg": (0.02, 0.003),
        "run_out_right_deg": (-0.01, 0.003),
        "total_toe_deg": (0.2, 0.03),
    },
    "stand_turn_of_heads": {
        **SPOTS_AT_THE_STAND,
        "path_mm": (4700.0, 6.0),
        "run_out_left_deg": (0.02, 0.003),
        "run_out_right_deg": (-0.01, 0.003),
        "total_toe_deg": (0.2, 0.03),
        "heads_out_left_deg": (0.012, 0.005),
        "heads_apart_deg": (0.004, 0.014),
    },
    "head_squareness": {
        **SPOTS_AT_THE_STAND,
        "changed_left_mm": (-14.0, 0.3),
        "changed_right_mm": (1.0, 0.4),
        "path_mm": (4700.0, 6.0),
    },
    "known_turn": {
        "spot_left_mm": (-6.0, 0.3),
        "spot_right_mm": (9.0, 0.3),
        "shimmed_left_mm": (-84.0, 0.3),
        "shimmed_right_mm": (-69.5, 0.3),
        "path_mm": (4700.0, 6.0),
        "shim_mm": (5.0, 0.02),
        "base_mm": (600.0, 0.5),
    },
    "arms_apart": {
        "left_mm": (770.0, 0.3),
        "right_mm": (778.0, 0.3),
        "left_before_mm": (801.0, 0.3),
        "right_before_mm": (748.0, 0.3),
    },
    "stand_sideways": {"left_mm": (770.0, 0.3), "right_mm": (778.0, 0.3)},
    "stand_sideways_run_out": {
        "left_mm": (770.0, 0.3),
        "right_mm": (778.0, 0.3),
        "path_mm": (4700.0, 6.0),
        "run_out_left_deg": (0.02, 0.003),
        "run_out_right_deg": (-0.01, 0.003),
        "sensor_left_mm": (30.0, 0.0),
    },
    "stand_sideways_of_heads": {
        "left_mm": (770.0, 0.3),
        "right_mm": (778.0, 0.3),
        "path_mm": (4700.0, 6.0),
        "run_out_left_deg": (0.02, 0.003),
        "run_out_right_deg": (-0.01, 0.003),
        "sensor_left_mm": (30.0, 0.0),
        "heads_out_left_deg": (0.012, 0.005),
    },
    "stand_turn_from_distances": {
        "distance_left_mm": (1502.0, 0.6),
        "distance_right_mm": (1498.0, 0.6),
        "apart_mm": (1600.0, 1.0),
    },
    "diagonal_skew": {
        "diagonal_1_mm": (2510.5, 1.0),
        "diagonal_2_mm": (2489.5, 1.0),
        "length_mm": (2000.0, 1.0),
        "width_mm": (1500.0, 1.0),
    },
    "level_distance": {"tape_mm": (1200.0, 1.0), "slope_deg": (1.5, 0.2)},
    "body_stance": {
        **RIDE_HEIGHTS,
        "wheelbase_mm": (2700.0, 3.0),
        "track_mm": (1550.0, 4.0),
    },
    "plate_distance": {"plate_distance_mm": (1204.0, 0.6), "wanted_mm": (1200.0, 0.0)},
    "plate_height": {"plate_height_mm": (642.0, 0.6), "wanted_mm": (640.0, 0.5)},
    "plate_level": {"level_mm_per_m": (1.0, 0.3)},
    "plate_plumb": {"plumb_mm_per_m": (-2.0, 0.3)},
    "echo_vertex": {
        **THREE_LEANS,
        **THREE_LEVELS,
    },
    "echo_peak": {
        **THREE_LEANS,
        **THREE_LEVELS,
        **HINGE,
    },
    "echo_peak_of_known_width": {
        **THREE_LEANS,
        **THREE_LEVELS,
        **HINGE,
        "beam_width_deg": (12.0, 0.1),
    },
    "echo_peak_of_five": {
        "lean_1_deg": (-3.0, 0.02),
        "lean_2_deg": (-1.5, 0.02),
        "lean_3_deg": (0.0, 0.02),
        "lean_4_deg": (1.5, 0.02),
        "lean_5_deg": (3.0, 0.02),
        "echo_1_db": (28.0, 0.05),
        "echo_2_db": (30.6, 0.05),
        "echo_3_db": (31.5, 0.05),
        "echo_4_db": (31.2, 0.05),
        "echo_5_db": (29.9, 0.05),
        **HINGE,
    },
    "two_distances": {"level_db": (31.4, 0.05), "quarter_further_db": (31.2, 0.05)},
    "plate_edges": {
        "vertex_deg": (0.4, 0.05),
        **THREE_LEANS,
        "span_mm": (400.0, 2.0),
        **BEAM_AT_THE_PLATE,
    },
    "plate_edges_of_five": {
        "vertex_deg": (0.4, 0.05),
        **{f"lean_{n}_deg": (2.0 * n - 6.0, 0.02) for n in range(1, 6)},
        "span_mm": (500.0, 2.0),
        **BEAM_AT_THE_PLATE,
    },
    "plate_flatness": {"flatness_mm": (0.1, 0.02), "span_mm": (600.0, 2.0)},
    "aim_error": {
        **OF_THE_AIM,
    },
    "aim_error_of_body": {
        **OF_THE_AIM,
        "body_nose_up_deg": (0.2, 0.02),
        "body_counts": (1.0, 0.0),
    },
    "board_place": {
        "left_tape_mm": (2143.5, 1.0),
        "right_tape_mm": (2153.5, 1.0),
        "track_mm": (1550.0, 2.0),
        "wheelbase_mm": (2700.0, 3.0),
        "wanted_ahead_mm": (2000.0, 0.0),
        "height_mm": (1297.0, 1.0),
        "wanted_height_mm": (1300.0, 0.0),
        "spot_above_mm": (4.0, 0.6),
        "offset_left_mm": (3.0, 0.8),
        "thrust_direction_deg": (0.12, 0.02),
        "floor_slope_up_deg": (0.1, 0.02),
    },
    "board_offset": {
        "arms_left_mm": (4.0, 0.5),
        "level_mm_per_m": (1.0, 0.3),
        "floor_side_slope_deg": (0.15, 0.02),
        "board_height_mm": (1300.0, 1.0),
        "arm_height_mm": (310.0, 2.0),
    },
    "body_over_middle": {
        **RIDE_HEIGHTS,
    },
    "camera_offset": {
        "tool_yaw_deg": (0.3, 0.05),
        "tool_elevation_deg": (-0.2, 0.05),
        "board_ahead_mm": (2000.0, 0.0),
        "distance_error_mm": (3.0, 1.2),
        "board_offset_left_mm": (5.0, 0.8),
        "board_height_mm": (1300.0, 0.0),
        "height_error_mm": (-4.0, 1.2),
        "camera_ahead_mm": (-450.0, 10.0),
        "camera_left_mm": (12.0, 3.0),
        "camera_height_mm": (1280.0, 5.0),
        "wheelbase_mm": (2700.0, 3.0),
        "thrust_direction_deg": (0.12, 0.02),
        "front_above_mm": (4.0, 1.0),
        "rear_above_mm": (-3.0, 1.0),
    },
    "bar_facing": {
        "left_end_mm": (2823.5, 1.0),
        "right_end_mm": (2833.0, 1.0),
        "bar_mm": (800.0, 0.5),
    },
    "corner_place": {
        "left_tape_mm": (2397.5, 1.0),
        "right_tape_mm": (3332.5, 1.0),
        "track_mm": (1550.0, 2.0),
        "middle_mm": (2799.0, 1.0),
        "thrust_direction_deg": (0.12, 0.02),
        **CORNER,
    },
    "corner_angle": {
        "tool_yaw_deg": (0.4, 0.1),
        "behind_mm": (2196.5, 2.0),
        "left_mm": (1732.0, 2.0),
        **CORNER,
        "sensor_behind_mm": (800.0, 10.0),
        "sensor_out_mm": (650.0, 10.0),
    },
    "corner_start": {
        "track_mm": (1550.0, 2.0),
        "bar_mm": (800.0, 0.5),
        "thrust_direction_deg": (0.12, 0.02),
        **CORNER,
    },
    "mat_start": {
        "track_mm": (1550.0, 2.0),
        "mat_mm": (2400.0, 0.5),
        "wanted_mm": (1000.0, 0.0),
    },
    "board_start": {
        "track_mm": (1550.0, 2.0),
        "wheelbase_mm": (2700.0, 2.0),
        "wanted_ahead_mm": (2000.0, 0.0),
        "wanted_height_mm": (1300.0, 0.0),
        "spot_above_mm": (2.0, 0.5),
        "thrust_direction_deg": (0.12, 0.02),
        "floor_slope_up_deg": (0.05, 0.01),
    },
    "mat_place": {
        "left_tape_mm": (1091.0, 1.0),
        "left_diagonal_mm": (2219.0, 1.0),
        "right_tape_mm": (1093.0, 1.0),
        "right_diagonal_mm": (2214.0, 1.0),
        "track_mm": (1550.0, 2.0),
        "mat_mm": (2400.0, 0.5),
        "wanted_mm": (1000.0, 0.0),
        "end": (1.0, 0.0),
    },
    "field_skew": {
        "left_diagonal_mm": (5365.0, 1.2),
        "right_diagonal_mm": (5370.0, 1.2),
        "front_mm": (1000.0, 0.0),
        "wheelbase_mm": (2700.0, 3.0),
        "rear_mm": (1100.0, 0.0),
        "mat_mm": (2400.0, 0.5),
    },
    "aim_from_tool": {"tool_yaw_deg": (0.6, 0.1), "tool_elevation_deg": (-0.2, 0.1)},
}


@pytest.fixture(scope="session")
def bay() -> dict[str, dict[str, tuple[float, float]]]:
    """Inputs of every formula of the catalogue."""
    return BAY

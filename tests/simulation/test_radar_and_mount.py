"""The echo in the plate, and the mount that carries the radar."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.job.setup_files import MountModel
from companion.simulation.mount import ScrewState, TrueMount, TrueScrew, Way
from companion.simulation.scan_tool import nominal_turns
from companion.simulation.truth import Truth, Unseen
from companion.simulation.vectors import elevation_deg, heading_deg
from companion.simulation.world import World

WorldOf = Callable[[Truth], World]


def screw(hand: str = "right", play: float = 0.0, **places: float) -> TrueScrew:
    return TrueScrew(
        name="left screw",
        y_mm=places.get("y_mm", 60.0),
        z_mm=places.get("z_mm", 5.0),
        pitch_mm=0.8,
        hand="right" if hand == "right" else "left",
        lost_motion_turns=play,
        travel_clockwise_turns=5.0,
        travel_anticlockwise_turns=5.0,
    )


# The face of a plate that leans by 5 degrees is nearer by the cosine, and so louder.
NEARER_DB = 20.0 * math.log10(math.cos(math.radians(5.0)))
UPPER = screw(y_mm=-4.0, z_mm=55.0)


def test_the_echo_is_loudest_where_the_plate_faces_the_boresight(
    perfect: Truth, world_of: WorldOf
) -> None:
    """Aimed 5 degrees up and 5 left, the detents "top towards" and "left edge towards" face it."""
    world = world_of(replace(perfect, aim_yaw_deg=5.0, aim_elevation_deg=5.0))
    levels = {}
    for lean in (1, 0, -1):
        for swing in (1, 0, -1):
            world.set_lean(lean)
            world.set_swing(swing)
            levels[lean, swing] = world.true_value("echo")
    assert max(levels, key=lambda place: levels[place]) == (1, 1)
    assert levels[1, 1] == pytest.approx(perfect.beam.peak_db, abs=0.07)


def test_the_echo_falls_by_24_db_times_the_square_of_the_part_of_a_beam_width(
    perfect: Truth, world_of: WorldOf
) -> None:
    world = world_of(perfect)
    upright_db = world.true_value("echo")
    world.set_lean(1)
    beam = perfect.beam
    assert upright_db - world.true_value("echo") == pytest.approx(
        24 * (5 / beam.width_elevation_deg) ** 2 + NEARER_DB, abs=0.02
    )
    world.set_lean(0)
    world.set_swing(-1)
    assert upright_db - world.true_value("echo") == pytest.approx(
        24 * (5 / beam.width_yaw_deg) ** 2 + NEARER_DB, abs=0.02
    )


@pytest.mark.parametrize("swing", [1, 0, -1])
def test_the_swing_left_as_it_was_shifts_all_three_leans_alike(
    perfect: Truth, world_of: WorldOf, swing: int
) -> None:
    world = world_of(replace(perfect, aim_yaw_deg=1.2, aim_elevation_deg=-0.8))
    world.set_swing(swing)
    levels = []
    for lean in (1, 0, -1):
        world.set_lean(lean)
        levels.append(world.true_value("echo"))
    rise, curve = (levels[0] - levels[2]) / 10, (levels[0] + levels[2] - 2 * levels[1]) / 50
    assert -rise / (2 * curve) == pytest.approx(-0.8, abs=0.02)


def test_a_right_hand_screw_turned_clockwise_aims_the_radar_to_its_own_side(
    perfect: Truth, world_of: WorldOf
) -> None:
    world = world_of(perfect)
    world.turn_screw("left_screw", "clockwise", 1.0)
    now = world.truth_now()
    assert now.aim_yaw_deg == pytest.approx(0.75, abs=0.1)
    world.turn_screw("left_screw", "anticlockwise", 1.0)
    world.turn_screw("upper_screw", "clockwise", 1.0)
    assert world.truth_now().aim_elevation_deg == pytest.approx(0.83, abs=0.1)


@given(st.floats(-3, 3), st.floats(-3, 3))
def test_the_sensor_plane_lies_on_the_tips(left_turns: float, upper_turns: float) -> None:
    """Solved by hand: s = y tan(yaw) + z tan(elevation) / cos(yaw) at each screw."""
    mount = TrueMount((screw(), UPPER))
    boresight = mount.boresight((0.8 * left_turns, 0.8 * upper_turns))
    yaw, elevation = math.radians(heading_deg(boresight)), math.radians(elevation_deg(boresight))
    for each, turns in zip(mount.screws, (left_turns, upper_turns), strict=True):
        back_mm = each.y_mm * math.tan(yaw) + each.z_mm * math.tan(elevation) / math.cos(yaw)
        assert back_mm == pytest.approx(0.8 * turns, abs=1e-9)


def test_two_screws_together_as_computed_on_paper() -> None:
    """A (60, 5), B (-4, 55), pitch 0.8: +0.496336340 and -0.334887521 turns (linear solve)."""
    boresight = TrueMount((screw(), UPPER)).boresight((0.8 * 0.496336340, 0.8 * -0.334887521))
    assert heading_deg(boresight) == pytest.approx(0.40, abs=1e-5)
    assert elevation_deg(boresight) == pytest.approx(-0.25, abs=1e-5)


def test_the_scan_tool_tells_the_same_turns(mount: MountModel) -> None:
    """On paper with the slope z / x; the tool's elevation is above x and y together."""
    slope = math.tan(math.radians(-0.25))
    elevation = math.degrees(math.atan2(slope, math.hypot(1.0, math.tan(math.radians(0.40)))))
    assert nominal_turns(mount, 0.40, elevation) == pytest.approx((0.496336340, -0.334887521))


def test_three_screws_carry_the_sensor_on_the_plane_through_their_tips() -> None:
    places = ((45.0, 35.0), (-45.0, 35.0), (0.0, -40.0))
    mount = TrueMount(tuple(screw(y_mm=y, z_mm=z) for y, z in places))
    assert mount.boresight((1.5, 1.5, 1.5)) == pytest.approx((1.0, 0.0, 0.0))
    yaw_deg, elevation_deg_ = 0.8, -0.5
    # Back by 0.3 mm at the middle (0, 10), and by the slope times the lever at each screw.
    along = math.tan(math.radians(yaw_deg)), math.tan(math.radians(elevation_deg_))
    boresight = mount.boresight([0.3 + y * along[0] + (z - 10.0) * along[1] for y, z in places])
    assert heading_deg(boresight) == pytest.approx(yaw_deg, abs=1e-4)
    assert elevation_deg(boresight) == pytest.approx(elevation_deg_, abs=1e-4)


def test_the_scan_tool_tells_the_turns_of_three_screws_about_their_middle(
    three_screws: MountModel,
) -> None:
    mount = TrueMount(tuple(screw(y_mm=each.y_mm, z_mm=each.z_mm) for each in three_screws.screws))
    turns = nominal_turns(three_screws, 0.7, 0.4)
    assert sum(turns) == pytest.approx(0.0, abs=1e-12)
    boresight = mount.boresight([0.8 * turn for turn in turns])
    assert heading_deg(boresight) == pytest.approx(0.7, abs=1e-4)
    assert elevation_deg(boresight) == pytest.approx(0.4, abs=1e-4)


def test_a_left_hand_screw_goes_the_other_way() -> None:
    right, left = ScrewState(screw("right")), ScrewState(screw("left"))
    for state in (right, left):
        state.turn("clockwise", 1.5)
    assert right.rearward_mm == pytest.approx(1.2)
    assert left.rearward_mm == pytest.approx(-1.2)


def test_on_reversal_the_play_comes_first() -> None:
    state = ScrewState(screw(play=0.1))
    state.lie_against("clockwise")
    state.turn("clockwise", 1.0)
    assert state.rearward_mm == pytest.approx(0.8)
    state.turn("anticlockwise", 0.1)
    assert state.rearward_mm == pytest.approx(0.8)
    state.turn("anticlockwise", 0.5)
    assert state.rearward_mm == pytest.approx(0.8 * 0.5)
    assert state.turned_clockwise == pytest.approx(0.4)


@given(st.lists(st.tuples(st.sampled_from(["clockwise", "anticlockwise"]), st.floats(0, 3))))
def test_a_screw_stays_within_its_travel_and_its_tip_within_the_play(
    turns: list[tuple[Way, float]],
) -> None:
    state = ScrewState(screw(play=0.1))
    for way, amount in turns:
        state.turn(way, amount)
        assert -5 <= state.turned_clockwise <= 5
        assert abs(state.rearward_mm / 0.8 - state.turned_clockwise) <= 0.05 + 1e-9


def test_lifting_moves_toe_and_ride_and_settling_puts_them_right(
    perfect: Truth, world_of: WorldOf
) -> None:
    moved = Unseen(lifted_toe_sd_deg=0.05, lifted_ride_sd_mm=4.0)
    world = world_of(replace(perfect, unseen=moved))
    spot, ride = world.true_value("spot", "left"), world.true_value("ride_height", "rear left")
    for quarters in (0, 1, 2, 3, 0):
        world.turn_wheel("left", quarters)
    assert world.true_value("spot", "left") != pytest.approx(spot, abs=0.05)
    assert world.true_value("ride_height", "rear left") != pytest.approx(ride, abs=0.05)
    world.settle()
    assert world.true_value("spot", "left") == pytest.approx(spot, abs=1e-9)
    assert world.true_value("ride_height", "rear left") == pytest.approx(ride, abs=1e-9)


def test_heads_changed_over_and_turned_over_are_out_the_other_way(
    perfect: Truth, world_of: WorldOf
) -> None:
    out = Unseen(head_left_deg=0.05, head_right_deg=0.03)
    world = world_of(replace(perfect, unseen=out))
    before = [world.true_value("spot", side) for side in ("left", "right")]
    world.change_heads()
    after = [world.true_value("spot", side) for side in ("left", "right")]
    assert before == pytest.approx([-after[1], -after[0]], abs=0.02)
    assert before[0] == pytest.approx(2 * 4700 * math.radians(0.05), rel=1e-3)


def test_a_plate_hinged_below_its_centre_comes_nearer_as_its_top_does(
    perfect: Truth, world_of: WorldOf
) -> None:
    world = world_of(replace(perfect, face=replace(perfect.face, hinge_below_mm=250.0)))
    upright_mm = world.true_value("plate_distance")
    world.set_lean(1)
    nearer_mm = upright_mm - world.true_value("plate_distance")
    assert nearer_mm == pytest.approx(
        250 * math.sin(math.radians(5)) + 1200 * (1 - math.cos(0.08727)), abs=0.1
    )


def test_a_plate_left_leaned_and_swung_leaves_the_stand_where_it_is(
    perfect: Truth, world_of: WorldOf
) -> None:
    world = world_of(replace(perfect, face=replace(perfect.face, hinge_below_mm=250.0)))
    upright_mm = world.truth_now().plate_distance_mm
    world.set_lean(1)
    world.set_swing(-1)
    assert world.true_value("plate_distance") < upright_mm - 4.0
    assert world.truth_now().plate_distance_mm == pytest.approx(upright_mm, abs=1e-9)


def test_locking_moves_a_screws_tip_and_not_its_head(perfect: Truth, world_of: WorldOf) -> None:
    world = world_of(replace(perfect, unseen=Unseen(lock_sd_turns=0.1)))
    before = world.truth_now()
    world.lock_screws()
    after = world.truth_now()
    assert 0.005 < abs(after.aim_yaw_deg - before.aim_yaw_deg) < 0.4
    assert 0.005 < abs(after.aim_elevation_deg - before.aim_elevation_deg) < 0.4


def test_a_standing_wave_turns_over_within_a_quarter_of_a_wavelength(
    perfect: Truth, world_of: WorldOf
) -> None:
    there_and_back = 4 * math.pi / 3.918856 * 1200.0
    face = replace(perfect.face, ripple_db=0.3, ripple_phases=(-there_and_back,) * 9)
    quiet, rippled = perfect, replace(perfect, face=face)
    here = world_of(rippled).true_value("echo") - world_of(quiet).true_value("echo")
    further = []
    for truth in (rippled, quiet):
        world = world_of(replace(truth, stand=replace(truth.stand, ahead_mm=2000.0 + 3.918856 / 4)))
        further.append(world.true_value("echo"))
    assert here == pytest.approx(0.3, abs=1e-3)
    assert further[0] - further[1] == pytest.approx(-0.3, abs=1e-3)

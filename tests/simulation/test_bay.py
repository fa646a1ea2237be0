"""The bay as a whole: hidden truths, floor, scales, hands."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from random import Random

import pytest

from companion.job.setup_files import Bay, MountModel, Range, Vehicle
from companion.simulation.errors import RehearsalError
from companion.simulation.floor import FloorShape, car_axes, draw_floor, heights_of
from companion.simulation.optics import Side
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scales import SCALES, scale
from companion.simulation.truth import Face, Spread, Truth, Unseen
from companion.simulation.vectors import elevation_deg, turn_about_z, vector
from companion.simulation.world import World

WorldOf = Callable[[Truth], World]
Rehearse = Callable[..., Rehearsal]


def rules(world: World, look: Callable[[str], float]) -> dict[str, float]:
    """Slopes, twist and stand spot as differences of averages (a floor of equal tracks)."""
    rear_left, rear_right, front_left, front_right, stand = (
        -look(spot)
        for spot in ("rear left", "rear right", "front left", "front right", "stand spot")
    )
    rise = (front_left + front_right - rear_left - rear_right) / 2 / 2700
    across = (front_left + rear_left - front_right - rear_right) / 2 / 1550
    mean = (rear_left + rear_right + front_left + front_right) / 4
    return {
        "slope": math.degrees(math.atan(rise)),
        "side": math.degrees(math.atan(across)),
        "twist": (rear_left - rear_right - front_left + front_right) / 4,
        "stand": stand - mean - rise * (2000 + 1350),
    }


def test_a_right_reading_of_the_floor_agrees_with_its_survey(rehearse: Rehearse, bay: Bay) -> None:
    surveyed = {
        "slope": bay.floor.slope_up_deg,
        "side": bay.floor.side_slope_deg,
        "twist": bay.floor.twist_mm,
        "stand": bay.floor.stand_spot_above_mm,
    }
    jobs, disagreeing = 1000, 0
    for seed in range(jobs):
        world = rehearse(seed).world
        world.set_line_laser()
        found = rules(world, lambda spot, w=world: float(w.read("floor_rule", spot)))
        disagreeing += any(
            not surveyed[name].low <= value <= surveyed[name].high for name, value in found.items()
        )
    assert disagreeing / jobs < 0.005


def test_the_floor_has_the_shape_that_was_drawn(
    perfect: Truth, world_of: WorldOf, vehicle: Vehicle
) -> None:
    floor = heights_of(FloorShape(0.05, -0.03, 0.7, 1.5), vehicle, 2000.0)
    world = world_of(replace(perfect, floor=floor))
    found = rules(world, lambda spot: world.true_value("floor_rule", spot))
    assert found == pytest.approx({"slope": 0.05, "side": -0.03, "twist": 0.7, "stand": 1.5})
    assert elevation_deg(car_axes(floor, vehicle)[:, 0]) == pytest.approx(0.05, abs=1e-6)


def test_a_lower_floor_shows_more_on_the_rule(perfect: Truth, world_of: WorldOf) -> None:
    sunk = replace(perfect, floor=replace(perfect.floor, rear_left_mm=-5.0))
    rear_left, rear_right = (
        world_of(sunk).true_value("floor_rule", spot) for spot in ("rear left", "rear right")
    )
    assert rear_left - rear_right == pytest.approx(5.0)


def test_a_survey_tighter_than_the_rule_can_see_is_refused(vehicle: Vehicle, bay: Bay) -> None:
    floor = bay.floor.model_copy(update={"twist_mm": Range(low=0.0, high=0.1)})
    tight = bay.model_copy(update={"floor": floor})
    with pytest.raises(RehearsalError, match=r"floor\.twist_mm"):
        draw_floor(Random(1), vehicle, tight)


def aim_by_the_readings(world: World) -> tuple[float, float]:
    """Yaw and elevation as a person with perfect scales would find them, by plain trigonometry."""

    def vertex(levels: list[float]) -> float:
        """Of the parabola through leans of 5, 0 and -5 degrees."""
        rise = (levels[0] - levels[2]) / 10
        return -rise / (2 * (levels[0] + levels[2] - 2 * levels[1]) / 50)

    turned = 0.0
    sides: tuple[Side, Side] = ("left", "right")
    for side in sides:
        stops = []
        for quarters in range(4):
            world.turn_wheel(side, quarters)
            outward = 1 if side == "left" else -1
            stops.append(outward * world.true_value("arm", side))
        world.turn_wheel(side, 4)
        path_mm = world.stand.ahead_mm + 2700
        run_out = math.atan((stops[0] - stops[2]) / 2 / path_mm)
        spot = 0.5 * math.atan(world.true_value("spot", side) / path_mm)
        turned += math.degrees(run_out - spot) / 2
    leans, swings = [], []
    for lean in (1, 0, -1):
        world.set_lean(lean)
        leans.append(world.true_value("echo"))
    world.set_lean(0)
    for swing in (1, 0, -1):
        world.set_swing(swing)
        swings.append(world.true_value("echo"))
    plumb_deg = math.degrees(math.atan(world.true_value("plumb") / 1000))
    slope_deg = rules(world, lambda spot: world.true_value("floor_rule", spot))["slope"]
    front, rear = (
        sum(world.true_value("ride_height", f"{end} {side}") for side in sides) / 2
        for end in ("front", "rear")
    )
    # The example vehicle's middles are 385 and 390 mm.
    nose_up_deg = math.degrees(math.atan((front - 385.0 - rear + 390.0) / 2700.0))
    return vertex(swings) + turned, vertex(leans) - plumb_deg - slope_deg - nose_up_deg


@pytest.mark.parametrize(
    ("spread", "within_deg"),
    [
        pytest.param(Spread(), 0.06, id="as it is found"),
        # What is left at the end of a job: here the readings have to lead to the truth itself.
        pytest.param(
            Spread(
                aim_deg=0.5,
                stand_sideways_mm=5.0,
                stand_distance_mm=10.0,
                stand_turn_deg=0.1,
                stand_height_mm=8.0,
                stand_level_mm_per_m=2.0,
                stand_plumb_mm_per_m=1.0,
            ),
            0.01,
            id="as it is left",
        ),
    ],
)
def test_perfect_scales_lead_to_the_hidden_aim(
    world_of: WorldOf,
    vehicle: Vehicle,
    mount: MountModel,
    bay: Bay,
    spread: Spread,
    within_deg: float,
) -> None:
    no_detent_errors = (0.0,) * 5
    for seed in range(60):
        truth = replace(
            Truth.draw(Random(seed), vehicle, mount, bay, spread),
            lean_detent_errors_deg=no_detent_errors,
            swing_detent_errors_deg=no_detent_errors,
            # So large that its edges add nothing: of the geometry alone.
            face=Face(900.0, 900.0),
            unseen=Unseen(),
        )
        found = aim_by_the_readings(world_of(truth))
        assert found == pytest.approx((truth.aim_yaw_deg, truth.aim_elevation_deg), abs=within_deg)


def test_hidden_truths_stay_within_their_spread(
    vehicle: Vehicle, mount: MountModel, bay: Bay
) -> None:
    for seed in range(200):
        truth = Truth.draw(Random(seed), vehicle, mount, bay)
        assert max(abs(truth.aim_yaw_deg), abs(truth.aim_elevation_deg)) <= 2.5
        assert abs(truth.stand.turn_deg) <= 1.5
        assert max(abs(truth.toe_left_deg), abs(truth.toe_right_deg)) <= 0.25
        assert 12.5 < truth.battery_volt < 14.5
        for real, filed in zip(truth.mount.screws, mount.screws, strict=True):
            for value, figure in (
                (real.y_mm, filed.y_mm),
                (real.z_mm, filed.z_mm),
                (real.pitch_mm, filed.pitch_mm),
            ):
                assert abs(value / figure - 1) <= 0.2


def test_the_drawn_aim_is_what_the_bay_has_at_first(rehearse: Rehearse) -> None:
    for seed in range(20):
        rehearsal = rehearse(seed)
        now = rehearsal.world.truth_now()
        assert now.aim_yaw_deg == pytest.approx(rehearsal.truth.aim_yaw_deg, abs=1e-9)
        assert now.aim_elevation_deg == pytest.approx(rehearsal.truth.aim_elevation_deg, abs=1e-9)


def test_turning_the_stand_about_its_foot_moves_it(perfect: Truth, world_of: WorldOf) -> None:
    """The foot stays where it is: 300 mm ahead and 400 mm left of the centre, as it stood."""
    world = world_of(replace(perfect, stand_foot_ahead_mm=300.0, stand_foot_left_mm=400.0))
    world.turn_stand(1.0)
    assert world.stand.turn_deg == pytest.approx(1.0)
    foot = turn_about_z(1.0) @ vector(300.0, 400.0, 0.0)
    assert world.stand.ahead_mm + foot[0] == pytest.approx(2300.0)
    assert world.stand.left_mm + foot[1] == pytest.approx(400.0)
    assert world.truth_now().plate_distance_mm == pytest.approx(1207.0, abs=0.3)


@pytest.mark.parametrize(
    ("scale_name", "move", "shown"),
    [
        ("plate_distance", lambda w: w.move_stand(-30.0, 0.0), 1170.0),
        ("plate_distance", lambda w: w.move_stand(30.0, 0.0), 1230.0),
        ("plate_height", lambda w: w.lift_plate(12.0), 532.0),
        ("plumb", lambda w: w.tilt_plate(2.5), 2.5),
        ("level", lambda w: w.level_stand(-1.5), -1.5),
    ],
)
def test_hands_move_what_the_scale_shows(
    perfect: Truth,
    world_of: WorldOf,
    scale_name: str,
    move: Callable[[World], None],
    shown: float,
) -> None:
    world = world_of(perfect)
    move(world)
    assert world.true_value(scale_name) == pytest.approx(shown, abs=0.01)


def test_pushing_the_stand_sideways_disturbs_its_turn(rehearse: Rehearse) -> None:
    turns = []
    for seed in range(300):
        world = rehearse(seed).world
        before = world.stand.turn_deg
        world.move_stand(0.0, 20.0)
        turns.append(world.stand.turn_deg - before)
    assert math.sqrt(sum(turn**2 for turn in turns) / len(turns)) == pytest.approx(0.02, rel=0.2)


@pytest.mark.parametrize("name", sorted(SCALES))
def test_a_scale_reads_in_its_steps_and_close_to_the_truth(name: str) -> None:
    ruler, random = scale(name), Random(5)
    readings = [ruler.read(3.37, random) for _ in range(500)]
    assert all(reading % ruler.resolution == 0 for reading in readings)
    step = float(ruler.resolution)
    mean = float(sum(readings, Decimal(0))) / len(readings)
    assert abs(mean - 3.37) <= max(0.5 * step, 4 * ruler.noise_sd / math.sqrt(len(readings)))


def test_an_unknown_scale_or_place_is_named(perfect: Truth, world_of: WorldOf) -> None:
    world = world_of(perfect)
    with pytest.raises(RehearsalError, match="a scale named 'barometer'"):
        world.read("barometer")
    with pytest.raises(RehearsalError, match="at 'middle'"):
        world.read("arm", "middle")
    with pytest.raises(RehearsalError, match="wanted one of"):
        scale("barometer")


def test_the_same_seed_gives_the_same_bay(rehearse: Rehearse) -> None:
    first, second = rehearse(11), rehearse(11)
    assert first.truth == second.truth
    assert [first.world.read("echo") for _ in range(5)] == [
        second.world.read("echo") for _ in range(5)
    ]
    assert rehearse(12).truth != first.truth


def test_the_bay_takes_little_time(rehearse: Rehearse) -> None:
    """A job reads about sixty scales: the bay may take little of a second for them."""
    world = rehearse(4).world
    start = time.process_time()
    for _ in range(20):
        for name in ("spot", "arm"):
            world.read(name, "left")
        world.read("echo")
    assert time.process_time() - start < 1.0

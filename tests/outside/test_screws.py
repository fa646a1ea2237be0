"""Screws and the pivoted mount against hand-worked figures. Test ids are row ids.

Thread pitches (M4 0.7, M5 0.8, M6 1.0, M8 1.25 mm): ISO 261 / ISO 262, read second hand.
"""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from skspatial.objects import Plane

from companion.calibration.mount import Mount, Screw, forward, geometry_response, inverse
from companion.calibration.response import Response, as_matrix
from companion.calibration.screws import plan_turns
from companion.uncertainty.measured import rectangular_u

Position = tuple[float, float]
NO_DOUBT = np.diag([1e-8, 1e-8])


def mount(first: Position, second: Position, pitch_mm: float) -> Mount:
    a, b = (
        Screw(name, name, *position, pitch_mm, "right", 9.0, 9.0, 0.25, 0.0)
        for name, position in (("A", first), ("B", second))
    )
    return Mount((a, b), "clockwise")


def one_lever(lever_mm: float, pitch_mm: float) -> Mount:
    """Screw A turns yaw alone, screw B elevation alone."""
    return mount((lever_mm, 0.0), (0.0, lever_mm), pitch_mm)


def sure(of: Mount) -> Response:
    return Response(as_matrix(geometry_response(of)), as_matrix(np.zeros((4, 4))))


# SCR-1, SCR-3: definition.
def test_scr_1_and_3_advance_of_a_single_start_thread() -> None:
    for pitch_mm, turns, advance_mm in (
        (0.8, 0.25, 0.2),
        (25.4 / 100, 1, 0.254),
        (25.4 / 80, 1, 0.3175),
    ):
        yaw, _ = forward(one_lever(60.0, pitch_mm), (turns, 0.0))
        assert 60.0 * math.tan(math.radians(yaw)) == pytest.approx(advance_mm, rel=1e-12)


# SCR-2 (textbook, from memory): a micrometer's division is its pitch over the divisions.
def test_scr_2_a_fiftieth_of_a_fine_screw() -> None:
    fine = Screw("A", "A", 60.0, 0.0, 0.5, "right", 9.0, 9.0, 1.0 / 50.0, 0.0)
    assert float(fine.step) * fine.rearward_mm_per_turn == pytest.approx(0.01, rel=1e-12)


# SCR-4: the form is published on abridgedoptics.com's mount sensitivity page (read).
# SCR-5 to SCR-8: definition.
@pytest.mark.parametrize(
    ("lever_mm", "pitch_mm", "turns", "angle_deg"),
    [
        pytest.param(60.0, 0.8, 1.0, 0.763898461, id="SCR-5-turn"),
        pytest.param(60.0, 0.8, 0.25, 0.190985224, id="SCR-5-quarter"),
        pytest.param(60.0, 1.0, 0.25, 0.238731033, id="SCR-6"),
        pytest.param(80.0, 1.25, 0.25, 0.223810500, id="SCR-7"),
        pytest.param(60.0, 0.7, 0.25, 0.167112216, id="SCR-8"),
    ],
)
def test_angle_for_turns(lever_mm: float, pitch_mm: float, turns: float, angle_deg: float) -> None:
    of = one_lever(lever_mm, pitch_mm)
    assert forward(of, (turns, 0.0)) == pytest.approx((angle_deg, 0.0), abs=1e-9)
    assert forward(of, (0.0, turns)) == pytest.approx((0.0, angle_deg), abs=1e-9)
    assert geometry_response(of)[0, 0] * turns == pytest.approx(angle_deg, rel=1e-4)


# SCR-9 to SCR-11: definition.
@pytest.mark.parametrize(
    ("wanted_deg", "lever_mm", "pitch_mm", "turns", "quarters", "left_deg"),
    [
        pytest.param(0.5, 60.0, 0.8, 0.654515084, Fraction(3, 4), 0.072938698, id="SCR-9"),
        pytest.param(0.3, 70.0, 1.0, 0.366522492, Fraction(1, 4), -0.095373086, id="SCR-10"),
        pytest.param(1.2, 45.0, 0.8, 1.178269532, Fraction(5, 4), 0.073030020, id="SCR-11"),
    ],
)
def test_turns_for_a_wanted_angle(
    wanted_deg: float,
    lever_mm: float,
    pitch_mm: float,
    turns: float,
    quarters: Fraction,
    left_deg: float,
) -> None:
    of = one_lever(lever_mm, pitch_mm)
    assert inverse(of, wanted_deg, 0.0) == pytest.approx((turns, 0.0), abs=1e-9)
    plan = plan_turns(of, -wanted_deg, 0.0, sure(of), (0, 0), 0.2, 0.2, NO_DOUBT)
    assert list(plan.turns) == [quarters, 0]
    assert forward(of, plan.turns)[0] - wanted_deg == pytest.approx(left_deg, abs=1e-9)
    # The plan works with small angles: good to 1 in 1000 at these sizes.
    assert plan.predicted_yaw_deg == pytest.approx(left_deg, abs=1e-3 * wanted_deg)


# SCR-12: definition. The worst aim for quarter turns lies halfway between two of them.
@pytest.mark.parametrize(
    ("lever_mm", "pitch_mm", "worst_deg"),
    [
        pytest.param(60.0, 0.8, 0.095492877, id="M5"),
        pytest.param(60.0, 1.0, 0.119366035, id="M6"),
        pytest.param(60.0, 1.25, 0.149207422, id="M8"),
    ],
)
def test_scr_12_a_tolerance_quarter_turns_cannot_reach_is_said(
    lever_mm: float, pitch_mm: float, worst_deg: float
) -> None:
    of = one_lever(lever_mm, pitch_mm)
    assert forward(of, (0.125, 0.0))[0] == pytest.approx(worst_deg, abs=1e-9)
    for share, reachable in ((1.001, True), (0.999, False)):
        tolerance = worst_deg * share
        plan = plan_turns(
            of, worst_deg, worst_deg, sure(of), (0, 0), tolerance, tolerance, NO_DOUBT
        )
        assert plan.reachable is reachable
        assert ("too coarse" in plan.why) is not reachable


# SCR-13: JCGM 100:2008 4.3.7 applied (read second hand).
def test_scr_13_doubt_of_quarter_turn_rounding() -> None:
    half_step_deg = geometry_response(one_lever(60.0, 0.8))[0, 0] / 8.0
    assert rectangular_u(half_step_deg) == pytest.approx(0.055132890, rel=1e-5)


GENERAL = mount((60.0, 5.0), (-4.0, 55.0), 0.8)


def elevation_of(pitch_deg: float, yaw_deg: float) -> float:
    """The table's pitch is the slope z / x; the boresight's elevation is above x and y together."""
    slope, yaw = math.tan(math.radians(pitch_deg)), math.radians(yaw_deg)
    return math.degrees(math.atan2(slope, math.hypot(1.0, math.tan(yaw))))


# SCR-14: linear solve.
def test_scr_14_two_screws_taken_together() -> None:
    assert inverse(GENERAL, 0.40, elevation_of(-0.25, 0.40)) == pytest.approx(
        (0.496336340, -0.334887521), abs=1e-9
    )
    alone = (
        inverse(one_lever(60.0, 0.8), 0.40, 0.0)[0],
        inverse(one_lever(55.0, 0.8), 0.0, -0.25)[1],
    )
    assert alone == pytest.approx((0.523607, -0.299980), abs=1e-6)


# SCR-15: inverse of SCR-14.
def test_scr_15_what_quarter_turns_leave() -> None:
    assert forward(GENERAL, (0.50, -0.25)) == pytest.approx(
        (0.396922243, elevation_of(-0.179480168, 0.396922243)), abs=1e-9
    )
    plan = plan_turns(GENERAL, -0.40, 0.25, sure(GENERAL), (0, 0), 0.2, 0.2, NO_DOUBT)
    assert list(plan.turns) == [Fraction(1, 2), Fraction(-1, 4)]


# SCR-16: definition.
def test_scr_16_both_screws_on_one_side() -> None:
    of = mount((60.0, 0.0), (60.0, 50.0), 0.8)
    assert inverse(of, 0.3, 0.0) == pytest.approx((0.392702670, 0.392702670), abs=1e-9)
    assert inverse(of, 0.0, 0.3) == pytest.approx((0.0, 0.327252225), abs=1e-9)


# SCR-17: Python's built-in rounding, run here: half to even. Turns are never rounded that way.
def test_scr_17_a_tie_between_two_quarters_is_not_left_to_rounding() -> None:
    assert (round(2.5), round(3.5)) == (2, 4)
    of = one_lever(60.0, 0.8)
    step_deg = geometry_response(of)[0, 0] / 4.0
    for quarters in (2.5, 3.5):
        plan = plan_turns(of, -quarters * step_deg, 0.0, sure(of), (0, 0), 0.2, 0.2, NO_DOUBT)
        assert abs(abs(plan.predicted_yaw_deg) - step_deg / 2.0) < 1e-9


# Three screws: the plane through three points, worked by general libraries (scikit-spatial).
def test_three_screws_turn_the_plane_through_their_tips() -> None:
    places = ((45.0, 35.0), (-45.0, 35.0), (5.0, -40.0))
    of = Mount(
        tuple(
            Screw(f"S{n}", f"S{n}", y, z, 0.8, "right", 9.0, 9.0, 0.25, 0.0)
            for n, (y, z) in enumerate(places)
        ),
        "clockwise",
    )
    for turns in ((1.0, 0.0, 0.0), (0.5, -0.75, 0.25), (-1.25, 0.5, 1.0)):
        tips = [[-0.8 * turn, y, z] for turn, (y, z) in zip(turns, places, strict=True)]
        normal = Plane.from_points(*tips).normal
        x, y, z = normal / normal[0]
        yaw, elevation = forward(of, turns)
        assert math.tan(math.radians(yaw)) == pytest.approx(y / x, rel=1e-9)
        assert math.sin(math.radians(elevation)) == pytest.approx(z / math.hypot(x, y, z), rel=1e-9)


# Geometry: five turns of both screws, where the slope z / x and the elevation part visibly.
def test_the_elevation_of_a_far_turned_sensor_is_that_of_its_normal() -> None:
    tips = [[-0.8 * 5.0, 60.0, 5.0], [-0.8 * 5.0, -4.0, 55.0], [0.0, 0.0, 0.0]]
    x, y, z = Plane.from_points(*tips).normal
    elevation = forward(GENERAL, (5.0, 5.0))[1]
    assert elevation == pytest.approx(math.degrees(math.asin(abs(z) / math.hypot(x, y, z))))
    assert abs(math.degrees(math.atan(z / x)) - elevation) > 0.005

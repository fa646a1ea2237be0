"""The pictures show what was measured, the right way round, and say how large."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from functools import partial
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.record import Entry, MemoryLog
from companion.report.fold import fold
from companion.report.pictures import svg
from companion.report.pictures.convergence import convergence as convergence_in
from companion.report.pictures.dials import dials as dials_in
from companion.report.pictures.lean_curve import lean_curves as lean_curves_in
from companion.report.pictures.plan_view import plan_view as plan_view_in
from companion.report.view import SessionView
from companion.report.wording import wording_in
from tests.drawn import drawn, of_class, points, wound_turns

ENGLISH = wording_in()
plan_view = partial(plan_view_in, wording=ENGLISH)
lean_curves = partial(lean_curves_in, wording=ENGLISH)
convergence = partial(convergence_in, wording=ENGLISH)


def dials(view):
    return dials_in(view, ENGLISH.of(view.opened))


SVG = "{http://www.w3.org/2000/svg}"


def view_of(*entries: tuple[str, dict[str, Any]]) -> SessionView:
    log = MemoryLog("s1")
    log.append([Entry(kind, body) for kind, body in entries])
    return fold("s1", log.events("s1"))


def computed(step_id: str, **values: float) -> tuple[str, dict[str, Any]]:
    outputs = {
        name: {"value": value, "u": 0.05, "unit": name.rpartition("_")[2]}
        for name, value in values.items()
    }
    return ("computed", {"step_id": step_id, "outputs": outputs, "inputs": {}})


def ends(part: ElementTree.Element) -> tuple[svg.Point, svg.Point]:
    x1, y1, x2, y2 = (float(part.get(name, "nan")) for name in ("x1", "y1", "x2", "y2"))
    return (x1, y1), (x2, y2)


def words(picture: object) -> str:
    return " | ".join(part.text or "" for part in drawn(picture).iter(f"{SVG}text"))


def plan(**values: float) -> object:
    return plan_view(view_of(computed("stand", **values)))


def stand_centre(picture: object) -> svg.Point:
    (dot,) = of_class(picture, "stand-dot-last")
    return float(dot.get("cx", "nan")), float(dot.get("cy", "nan"))


def test_left_of_the_thrust_line_is_drawn_up_and_too_far_is_drawn_away_from_the_car() -> None:
    middle = stand_centre(plan(stand_offset_left_mm=0.0))
    left = stand_centre(plan(stand_offset_left_mm=4.0))
    right = stand_centre(plan(stand_offset_left_mm=-4.0))
    far = stand_centre(plan(distance_error_mm=9.0))
    near = stand_centre(plan(distance_error_mm=-9.0))
    assert left[1] < middle[1] < right[1]
    assert near[0] < middle[0] < far[0]


def test_an_error_of_place_is_drawn_as_many_times_larger_as_the_picture_says() -> None:
    picture = plan(stand_offset_left_mm=4.0)
    found = re.search(r"Errors of place are drawn (\d+) times", words(picture))
    assert found
    px_per_mm = 0.08
    shift_px = stand_centre(plan(stand_offset_left_mm=0.0))[1] - stand_centre(picture)[1]
    assert shift_px == pytest.approx(4.0 * px_per_mm * int(found[1]), abs=0.02)


@pytest.mark.parametrize("turn_deg", [0.4, -0.4])
def test_a_turned_stand_is_drawn_turned_that_way_and_as_large_as_said(turn_deg: float) -> None:
    picture = plan(stand_turn_deg=turn_deg)
    found = re.search(r"errors of angle (\d+) times", words(picture))
    assert found
    (plate,) = [part for part in of_class(picture, "plate-last") if part.get("x1") != "580"]
    (x1, y1), (x2, y2) = ends(plate)
    upper, lower = sorted([(y1, x1), (y2, x2)])
    # Anticlockwise from above, with forward to the right and left up: the left end swings back.
    lean_deg = math.degrees(math.atan2(lower[1] - upper[1], lower[0] - upper[0]))
    assert lean_deg == pytest.approx(turn_deg * int(found[1]), abs=0.05)


@pytest.mark.parametrize("thrust_deg", [0.2, -0.2])
def test_a_thrust_direction_to_the_left_is_drawn_rising(thrust_deg: float) -> None:
    picture = plan(thrust_direction_deg=thrust_deg)
    (start, end) = ends(of_class(picture, "thrust")[0])
    found = re.search(r"errors of angle (\d+) times", words(picture))
    assert found
    rise_deg = math.degrees(math.atan2(start[1] - end[1], end[0] - start[0]))
    assert rise_deg == pytest.approx(thrust_deg * int(found[1]), abs=0.05)


def test_first_and_last_stand_are_both_drawn_when_it_was_moved() -> None:
    moved = plan_view(
        view_of(
            computed("sideways", stand_offset_left_mm=7.0),
            computed("sideways", stand_offset_left_mm=1.0),
        )
    )
    assert len(of_class(moved, "stand-dot-first")) == 1
    assert "first 7.000\u00a0mm left" in words(moved)
    assert "last 1.000\u00a0mm left" in words(moved)
    assert of_class(plan(stand_offset_left_mm=1.0), "stand-dot-first") == []


def test_without_a_measured_stand_there_is_no_plan() -> None:
    assert plan_view(view_of(computed("floor", floor_twist_mm=1.0))) is None


def peak(step_id: str, vertex_deg: float, width_deg: float = 8.0) -> tuple[str, dict[str, Any]]:
    inputs: dict[str, Any] = {}
    for place, detent in enumerate((-4.0, 0.0, 4.0), start=1):
        echo = 52 - 24 * ((detent - vertex_deg) / width_deg) ** 2
        inputs[f"lean_{place}_deg"] = {
            "value": detent,
            "u": 0.1,
            "unit": "deg",
            "source": "entered",
        }
        inputs[f"echo_{place}_db"] = {"value": echo, "u": 0.1, "unit": "dB", "source": step_id}
    kind, body = computed(step_id, vertex_deg=vertex_deg, beam_width_deg=width_deg, peak_db=52.0)
    return kind, {**body, "formula": "echo_vertex", "inputs": inputs}


@given(vertex_deg=st.floats(-3, 3))
def test_the_curve_passes_through_its_readings_and_peaks_at_the_vertex(vertex_deg: float) -> None:
    (picture,) = lean_curves(view_of(peak("lean_peak", vertex_deg)))
    (curve,) = of_class(picture, "curve")
    points = [
        tuple(map(float, pair.split(",")))
        for pair in curve.get("d", "").removeprefix("M").split(" L")
    ]
    for reading in of_class(picture, "reading"):
        x, y = float(reading.get("cx", "nan")), float(reading.get("cy", "nan"))
        before = max(point for point in points if point[0] <= x)
        after = min(point for point in points if point[0] >= x)
        share = 0 if after[0] == before[0] else (x - before[0]) / (after[0] - before[0])
        assert before[1] + share * (after[1] - before[1]) == pytest.approx(y, abs=1.0)
    (vertex,) = of_class(picture, "vertex")
    highest = min(points, key=lambda point: point[1])
    assert float(vertex.get("x1", "nan")) == pytest.approx(highest[0], abs=5)


def test_leans_are_seen_from_the_side_and_swings_from_above_first_and_last() -> None:
    view = view_of(
        peak("lean_peak", 0.8),
        peak("swing_peak", -1.4),
        peak("lean_peak", 0.3),
        peak("lean_peak", 0.1),
        peak("swing_peak", 0.2),
    )
    titles = [drawn(picture).findtext(f"{SVG}title") for picture in lean_curves(view)]
    assert titles == [
        "Plate leans from the side, first round",
        "Plate leans from the side, last round",
        "Plate swings from above, first round",
        "Plate swings from above, last round",
    ]
    told = [words(picture) for picture in lean_curves(view)]
    assert "strongest at 0.800° top towards the car" in told[0]
    assert "strongest at 1.400° right edge towards the car" in told[2]


def test_a_plate_leaning_with_its_top_towards_the_car_is_drawn_so() -> None:
    (picture,) = lean_curves(view_of(peak("lean_peak", 0.5)))
    tops = [
        min(ends(plate), key=lambda end: end[1])[0] for plate in of_class(picture, "plate-first")
    ]
    away, towards = tops  # in the order of the detents, -4 then +4
    assert towards < 78 < away  # the radar is on the left


def test_a_peak_that_is_not_whole_is_not_drawn() -> None:
    assert lean_curves(view_of(computed("lean_peak", vertex_deg=0.1))) == ()


def aims(*pairs: tuple[float, float]) -> SessionView:
    decision = {"result": "aim_yaw_deg", "low": -0.4, "high": 0.4, "value": 0.1}
    return view_of(
        *(computed("aim", aim_yaw_deg=yaw, aim_elevation_deg=up) for yaw, up in pairs),
        ("decided", decision),
    )


def test_the_rounds_are_drawn_left_and_up_above_zero_with_limits_and_doubt() -> None:
    picture = convergence(aims((1.0, -0.5), (0.1, 0.05)))
    dots = [float(dot.get("cy", "nan")) for dot in of_class(picture, "reading")]
    axis_y = ends(of_class(picture, "axis")[0])[0][1]
    assert dots[0] < dots[1] < axis_y
    assert dots[2] > axis_y > dots[3]
    assert len(of_class(picture, "limits")) == 1
    bars = of_class(picture, "bar")[::3]
    scale = (axis_y - dots[0]) / 1.0
    (_, top), (_, bottom) = ends(bars[0])
    assert bottom - top == pytest.approx(4 * 0.05 * scale, abs=0.05)
    assert "1.000° left" in words(picture)


def test_without_an_aim_there_are_no_rounds() -> None:
    assert convergence(view_of(computed("turn", stand_turn_deg=0.1))) is None


def test_dials_stand_in_the_order_of_the_mount_file_and_wind_the_right_way() -> None:
    screws = [{"id": "upper", "name": "upper screw"}, {"id": "lower", "name": "lower screw"}]
    (picture,) = dials(
        view_of(
            ("opened", {"mount": {"screws": screws}}),
            ("screw_plan", {"round": 1, "turns": {"lower": "-1/4", "upper": "1/4"}}),
        )
    )
    told = words(picture)
    assert told.index("upper screw") < told.index("lower screw")
    assert told.index("¼\u00a0turn | clockwise") < told.index("¼\u00a0turn | anticlockwise")
    clockwise, anticlockwise = of_class(picture, "turn")
    for arrow, sign in ((clockwise, 1), (anticlockwise, -1)):
        points = arrow.get("d", "").removeprefix("M").split(" L")
        start, end = (float(points[place].split(",")[0]) for place in (0, -1))
        assert (end - start) * sign > 20  # from twelve to three o'clock, or to nine


@pytest.mark.parametrize("turns", ["1/4", "-1/4", "1", "-1", "7/4", "-9/4", "5", "-5"])
def test_a_dial_winds_as_far_as_the_screw_is_turned_and_its_head_points_on(turns: str) -> None:
    (picture,) = dials(view_of(("screw_plan", {"round": 1, "turns": {"upper": turns}})))
    (dial,) = of_class(picture, "dial")
    centre = float(dial.get("cx", "nan")), float(dial.get("cy", "nan"))
    (arrow,) = of_class(picture, "turn")
    wanted = float(Fraction(turns))
    assert wound_turns(points(arrow), centre) == pytest.approx(wanted, abs=0.01)
    (head,) = of_class(picture, "turn-head")
    tip, *barbs = points(head)
    for barb in barbs:
        assert wound_turns([barb, tip], centre) * wanted > 0


def test_no_turn_draws_no_arrow() -> None:
    (picture,) = dials(view_of(("screw_plan", {"round": 1, "turns": {"upper": "0"}})))
    assert of_class(picture, "turn") == []
    assert "not turned" in words(picture)


@given(told=st.text())
def test_text_in_a_picture_is_escaped(told: str) -> None:
    picture = svg.picture("p", 10, 10, told, told, svg.label((0, 0), told, told, told))
    assert re.findall(r"<[a-z/]+", str(picture)).count("<text") == 1
    assert len(re.findall(r"<", str(picture))) == 8


@given(least=st.floats(1e-6, 1e6))
def test_steps_of_a_scale_are_round_and_large_enough(least: float) -> None:
    step = svg.round_step(least)
    assert least * (1 - 1e-6) <= step <= least * 2.5 * (1 + 1e-6)
    mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - head) for head in (1, 2, 5, 10)) < 1e-6


@given(most=st.floats(1, 1e5), largest=st.integers(1, 1000))
def test_a_drawing_factor_is_round_and_never_too_large(most: float, largest: int) -> None:
    factor = svg.round_factor(most, largest)
    assert 1 <= factor <= min(most, largest)
    assert Fraction(factor, 10 ** (len(str(factor)) - 1)) in (1, 2, 5)

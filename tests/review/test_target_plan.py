"""The picture of a reflector, a board or mats: where each is, the right way round."""

from __future__ import annotations

import math
import re
from functools import partial
from typing import Any

import pytest

from companion.record import Entry, MemoryLog
from companion.report.fold import fold
from companion.report.pictures import svg
from companion.report.pictures.plan_view import plan_view
from companion.report.pictures.target_plan import target_plan as target_plan_in
from companion.report.view import SessionView
from companion.report.wording import wording_in
from tests.drawn import drawn, of_class

ENGLISH = wording_in()
target_plan = partial(target_plan_in, wording=ENGLISH)
VEHICLE = {"name": "v", "wheelbase_mm": 2700.0, "rear_track_mm": 1550.0}
MATS = ("front_", 1.0), ("rear_", -1.0)


def figures(given: dict[str, float]) -> dict[str, Any]:
    return {name: {"value": value, "u": 0.1, "source": name} for name, value in given.items()}


def worked_out(
    formula: str, inputs: dict[str, float], outputs: dict[str, float], step: str = ""
) -> tuple[str, dict[str, Any]]:
    made = {
        name: {"value": value, "u": 0.1, "unit": name.rpartition("_")[2]}
        for name, value in outputs.items()
    }
    body = {
        "step_id": step or formula,
        "formula": formula,
        "inputs": figures(inputs),
        "outputs": made,
    }
    return ("computed", body)


def view_of(*entries: tuple[str, dict[str, Any]], job: dict[str, Any] | None = None) -> SessionView:
    log = MemoryLog("s1")
    opened = ("opened", {"vehicle": VEHICLE, "job": job or {}})
    log.append([Entry(kind, body) for kind, body in (opened, *entries)])
    return fold("s1", log.events("s1"))


def corner(side: float, sideways: float = 0.0, away: float = 0.0, facing: float = 0.0) -> object:
    place = {
        "track_mm": 1550.0,
        "wanted_radius_mm": 2800.0,
        "wanted_angle_deg": 38.0,
        "side": side,
    }
    return target_plan(
        view_of(
            worked_out("bar_facing", {"bar_mm": 800.0}, {"facing_deg": facing}),
            worked_out(
                "corner_place", place, {"sideways_error_mm": sideways, "away_error_mm": away}
            ),
        )
    )


def centre(picture: object, class_: str = "stand-dot-last") -> svg.Point:
    (dot,) = of_class(picture, class_)
    return float(dot.get("cx", "nan")), float(dot.get("cy", "nan"))


def bars(picture: object, class_: str) -> list[tuple[float, float, float, float]]:
    """Every bar of this class but the key's, which has no dot of its own."""
    found = of_class(picture, class_)[: len(of_class(picture, "stand-dot-last"))]
    return [tuple(float(b.get(k, "nan")) for k in ("x1", "y1", "x2", "y2")) for b in found]  # type: ignore[misc]


def rear_axle(picture: object) -> tuple[float, float, float]:
    """Its place on the page, its middle's height and the pixels to a millimetre."""
    (axle,) = of_class(picture, "stand-last")
    x, y1, y2 = (float(axle.get(key, "nan")) for key in ("x1", "y1", "y2"))
    return x, (y1 + y2) / 2, abs(y2 - y1) / 1550.0


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_reflector_belongs_behind_the_car_on_its_side_at_its_radius(side: float) -> None:
    picture = corner(side)
    x, y, px_per_mm = rear_axle(picture)
    at = centre(picture, "stand-dot-first")
    assert (x - at[0]) / px_per_mm == pytest.approx(2800 * math.cos(math.radians(38)), abs=0.5)
    assert (y - at[1]) / px_per_mm == pytest.approx(
        side * 2800 * math.sin(math.radians(38)), abs=0.5
    )
    (x1, y1, x2, y2) = bars(picture, "plate-first")[0]
    # Square to the line from the axle's middle.
    assert (x2 - x1) * (at[0] - x) + (y2 - y1) * (at[1] - y) == pytest.approx(0.0, abs=2.0)
    told = " ".join(drawn(picture).itertext())
    assert ("car's left" if side > 0 else "car's right") in told.split("straight back to the ")[1]
    assert "radar" not in told


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_what_it_stood_off_by_is_drawn_that_way_and_as_large_as_said(side: float) -> None:
    picture = corner(side, sideways=3.0, away=-2.0)
    wanted, last = centre(picture, "stand-dot-first"), centre(picture)
    factor = re.search(r"Errors of place are drawn (\d+) times", str(picture))
    assert factor
    scale = rear_axle(picture)[2] * int(factor[1])
    assert (wanted[1] - last[1]) / scale == pytest.approx(3.0, abs=0.01)
    # Too near is towards the car, which stands to the right.
    assert (last[0] - wanted[0]) / scale == pytest.approx(2.0, abs=0.01)


@pytest.mark.parametrize("side", [1.0, -1.0])
@pytest.mark.parametrize("facing", [0.3, -0.3])
def test_a_turned_reflector_is_drawn_turned_that_way(side: float, facing: float) -> None:
    picture = corner(side, facing=facing)
    factor = re.search(r"errors of angle (\d+) times", str(picture))
    assert factor

    def angle(class_: str) -> float:
        x1, y1, x2, y2 = bars(picture, class_)[0]
        return math.degrees(math.atan2(y1 - y2, x2 - x1))

    turned = angle("plate-last") - angle("plate-first")
    assert turned == pytest.approx(facing * int(factor[1]), abs=0.1)


def test_a_board_stands_ahead_of_the_front_axle_and_off_by_what_was_measured() -> None:
    inputs = {
        "track_mm": 1560.0,
        "wheelbase_mm": 2700.0,
        "wanted_ahead_mm": 2000.0,
        "offset_left_mm": -4.0,
    }
    picture = target_plan(
        view_of(
            worked_out(
                "board_place",
                inputs,
                {"board_distance_error_mm": 2.0, "board_height_error_mm": 1.0},
            )
        )
    )
    x, y, px_per_mm = rear_axle(picture)
    wanted, last = centre(picture, "stand-dot-first"), centre(picture)
    assert ((wanted[0] - x) / px_per_mm, wanted[1]) == pytest.approx((4700.0, y), abs=0.5)
    assert last[0] > wanted[0]
    assert last[1] > wanted[1]


def test_mats_lie_before_and_behind_each_off_its_own_way() -> None:
    entries = [
        worked_out(
            "mat_place",
            {"track_mm": 1550.0, "mat_mm": 2400.0, "wanted_mm": 1000.0, "end": end},
            {
                f"{name}distance_error_mm": 2.0,
                f"{name}sideways_error_mm": 1.0,
                f"{name}turned_deg": 0.1,
            },
            step=name,
        )
        for name, end in MATS
    ]
    picture = target_plan(view_of(*entries))
    x, _, px_per_mm = rear_axle(picture)
    first, last = (
        [float(dot.get("cx", "nan")) for dot in of_class(picture, class_)]
        for class_ in ("stand-dot-first", "stand-dot-last")
    )
    assert [(at - x) / px_per_mm for at in first] == pytest.approx([3700.0, -1000.0], abs=0.5)
    # Too far is away from the car at either end.
    assert last[0] > first[0]
    assert last[1] < first[1]
    # Turned to the left, seen from above, the left (upper) end swings back at either end.
    for x1, y1, x2, y2 in bars(picture, "plate-last"):
        assert (y2 < y1) == (x2 < x1)


def test_no_stand_is_drawn_before_the_radar_in_a_job_that_measures_none() -> None:
    toe = worked_out("toe_from_angle", {}, {"thrust_direction_deg": 0.1})
    elsewhere = {"outputs": {"sideways_error_mm": "sideways_error_mm"}}
    there = {"outputs": {"stand_offset_left_mm": "stand_offset_left_mm"}}
    for step, shown in ((elsewhere, False), (there, True)):
        view = view_of(toe, job={"stages": [{"id": "a", "steps": [step]}]})
        assert (plan_view(view, ENGLISH) is not None) is shown
        assert target_plan(view) is None


def test_a_record_that_does_not_say_all_has_no_picture() -> None:
    half = worked_out("corner_place", {"side": 1.0}, {"sideways_error_mm": 1.0})
    assert target_plan(view_of(half)) is None

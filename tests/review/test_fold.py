"""What the report counts, and what no longer counts."""

from __future__ import annotations

from typing import Any

from companion.facts.figures import Quantity
from companion.record import Entry, MemoryLog
from companion.report.fold import fold
from companion.report.tables import limits_of
from companion.report.view import SessionView
from companion.report.wording import wording_in


def view_of(*entries: tuple[str, dict[str, Any]]) -> SessionView:
    log = MemoryLog("s1")
    log.append([Entry(kind, body) for kind, body in entries])
    return fold("s1", log.events("s1"))


def accepted(reading_id: str, value: str) -> tuple[str, dict[str, Any]]:
    return ("accepted", {"reading_id": reading_id, "value": value})


def computed(step_id: str, **values: float) -> tuple[str, dict[str, Any]]:
    outputs = {name: {"value": value, "u": 0.1, "unit": "deg"} for name, value in values.items()}
    return ("computed", {"step_id": step_id, "outputs": outputs})


def test_going_back_takes_the_newest_reading_and_what_came_of_it() -> None:
    view = view_of(
        accepted("left", "771"),
        computed("aim", aim_yaw_deg=1.0),
        accepted("left", "772"),
        computed("aim", aim_yaw_deg=2.0),
        ("taken_back", {"step_ids": ["left", "aim"], "why": "taken back by the technician"}),
        accepted("left", "773"),
    )
    assert [(reading.fact.value, reading.taken_back) for reading in view.readings] == [
        ("771", ""),
        ("772", "taken back by the technician"),
        ("773", ""),
    ]
    assert [aim.outputs["aim_yaw_deg"].value for aim in view.aims] == [1.0]


def test_going_back_twice_takes_the_two_newest() -> None:
    view = view_of(
        accepted("left", "1"),
        accepted("left", "2"),
        ("taken_back", {"step_ids": ["left"], "why": "technician, first", "by_technician": True}),
        ("taken_back", {"step_ids": ["left"], "why": "technician, second", "by_technician": True}),
    )
    assert [reading.taken_back for reading in view.readings] == [
        "technician, second",
        "technician, first",
    ]


def test_the_last_standing_result_is_the_one_that_counts() -> None:
    view = view_of(
        computed("turn", stand_turn_deg=0.3),
        computed("turn", stand_turn_deg=0.1),
        computed("turn", stand_turn_deg=9.9),
        ("taken_back", {"step_ids": ["turn"], "why": "taken back by the technician"}),
    )
    assert view.outputs_named("stand_turn_deg")[-1].value == 0.1


def test_the_result_is_the_aim_at_the_end() -> None:
    view = view_of(("finished", {"result": "inside", "yaw": {"value": 0.1, "u": 0.02}}))
    assert view.outcome == "inside"
    assert {name: axis.quantity for name, axis in view.result.items()} == {
        "yaw": Quantity(0.1, 0.02, "deg")
    }


def test_readings_and_decisions_know_their_stage() -> None:
    view = view_of(
        ("stage", {"title": "Floor"}),
        accepted("spot", "12"),
        ("stage", {"title": "Aim"}),
        ("decided", {"result": "aim_yaw_deg", "value": 0.1, "low": -0.4, "high": 0.4}),
    )
    assert view.readings[0].stage == "Floor"
    assert view.decisions[0].stage == "Aim"
    assert view.latest_decision("aim_yaw_deg") is view.decisions[0].fact
    assert view.latest_decision("aim_elevation_deg") is None


def test_a_reading_that_was_decided_on_itself_is_shown_with_its_limits() -> None:
    view = view_of(
        ("accepted", {"reading_id": "gap_mm", "value": "3", "unit": "mm"}),
        ("decided", {"result": "gap_mm", "low": -4.0, "high": 4.0}),
        ("accepted", {"reading_id": "gap_mm", "value": "2", "unit": "mm"}),
    )
    assert [limits_of(kept, view, wording_in()) for kept in view.readings] == [
        "within 4\u00a0mm",
        "",
    ]


def test_what_is_measured_again_after_a_correction_still_counts_as_history() -> None:
    view = view_of(
        accepted("left", "771"),
        computed("sideways", stand_offset_left_mm=7.0),
        ("taken_back", {"step_ids": ["left", "sideways"], "why": "Now both arm scales again."}),
        accepted("left", "777"),
        computed("sideways", stand_offset_left_mm=1.0),
    )
    assert [reading.taken_back for reading in view.readings] == ["", ""]
    assert [bool(reading.measured_again) for reading in view.readings] == [True, False]
    assert [offset.value for offset in view.outputs_named("stand_offset_left_mm")] == [7.0, 1.0]


def test_going_back_after_a_correction_takes_the_newest_only() -> None:
    view = view_of(
        accepted("left", "1"),
        ("taken_back", {"step_ids": ["left"], "why": "Now the scale again."}),
        accepted("left", "2"),
        ("taken_back", {"step_ids": ["left"], "why": "taken back by the technician"}),
    )
    assert [(bool(r.taken_back), bool(r.measured_again)) for r in view.readings] == [
        (False, True),
        (True, False),
    ]


def aim_decided(round_number: int, yaw_deg: float) -> tuple[str, dict[str, Any]]:
    yaw = {"value": yaw_deg, "u": 0.05, "tolerance": 0.4}
    return (
        "aim_decided",
        {"round": round_number, "yaw": yaw, "elevation": yaw, "answer": "outside"},
    )


def test_the_aim_is_told_as_it_was_judged_before_and_after_each_round() -> None:
    view = view_of(
        computed("aim", aim_yaw_deg=1.1),
        aim_decided(0, 1.0),
        computed("aim", aim_yaw_deg=0.1),
        aim_decided(1, 0.2),
    )
    told = [(when, aim.value) for when, aim in view.aim_history("aim_yaw_deg")]
    assert told == [(0, 1.0), (1, 0.2)]
    assert view.aim_limits("aim_yaw_deg") == (-0.4, 0.4)


def test_an_example_in_any_of_the_files_marks_the_job() -> None:
    assert view_of(("opened", {"bay": {"example": True}})).opened.has_an_example
    assert not view_of(
        ("opened", {"bay": {"example": False}, "vehicle": "odd"})
    ).opened.has_an_example

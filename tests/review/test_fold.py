"""What the report counts, and what no longer counts."""

from __future__ import annotations

from typing import Any

from companion.record import Entry, MemoryLog
from companion.review.fold import fold
from companion.review.view import SessionView


def view_of(*entries: tuple[str, dict[str, Any]]) -> SessionView:
    log = MemoryLog("s1")
    log.append([Entry(kind, body) for kind, body in entries])
    return fold("s1", log.events("s1"))


def accepted(reading_id: str, value: str, prompt_id: str = "") -> tuple[str, dict[str, Any]]:
    return ("accepted", {"reading_id": reading_id, "value": value, "prompt_id": prompt_id})


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
    assert [(reading.value, reading.taken_back) for reading in view.readings] == [
        ("771", ""),
        ("772", "taken back by the technician"),
        ("773", ""),
    ]
    assert [aim.outputs["aim_yaw_deg"].value for aim in view.aims] == [1.0]


def test_going_back_twice_takes_the_two_newest() -> None:
    view = view_of(
        accepted("left", "1"),
        accepted("left", "2"),
        ("taken_back", {"step_ids": ["left"], "why": "technician, first"}),
        ("taken_back", {"step_ids": ["left"], "why": "technician, second"}),
    )
    assert [reading.taken_back for reading in view.readings] == [
        "technician, second",
        "technician, first",
    ]


def test_a_reading_is_also_known_by_the_step_that_asked_for_it() -> None:
    view = view_of(
        ("said", {"prompt_id": "p1", "step_id": "read_left"}),
        accepted("left_mm", "771", "p1"),
        ("taken_back", {"step_ids": ["read_left"], "why": "taken back by the technician"}),
    )
    assert view.readings[0].taken_back == "taken back by the technician"


def test_the_last_standing_result_is_the_one_that_counts() -> None:
    view = view_of(
        computed("turn", stand_turn_deg=0.3),
        computed("turn", stand_turn_deg=0.1),
        computed("turn", stand_turn_deg=9.9),
        ("taken_back", {"step_ids": ["turn"], "why": "taken back by the technician"}),
    )
    assert view.outputs_named("stand_turn_deg")[-1].value == 0.1


def test_the_result_may_be_written_nested_or_flat() -> None:
    nested = view_of(("finished", {"result": "inside", "yaw": {"value": 0.1, "u": 0.02}}))
    flat = view_of(("finished", {"result": "inside", "yaw_deg": 0.1, "u_yaw": 0.02}))
    assert nested.result.yaw == flat.result.yaw
    assert nested.result.yaw.u == 0.02


def test_readings_and_decisions_know_their_stage() -> None:
    view = view_of(
        ("stage", {"title": "Floor"}),
        accepted("spot", "12"),
        ("stage", {"title": "Aim"}),
        ("decided", {"result": "aim_yaw_deg", "value": 0.1, "low": -0.4, "high": 0.4}),
    )
    assert view.readings[0].stage == "Floor"
    assert view.decisions[0].stage == "Aim"
    assert view.latest_decision("aim_yaw_deg") is view.decisions[0]
    assert view.latest_decision("aim_elevation_deg") is None


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
    assert told == [("before", 1.0), ("after round 1", 0.2)]
    assert view.aim_limits("aim_yaw_deg") == (-0.4, 0.4)


def test_an_example_in_any_of_the_files_marks_the_job() -> None:
    assert view_of(("opened", {"bay": {"example": True}})).is_example
    assert not view_of(("opened", {"bay": {"example": False}, "vehicle": "odd"})).is_example

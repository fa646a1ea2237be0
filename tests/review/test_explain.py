"""Following a number back to what was read and said, out of the record alone."""

from __future__ import annotations

import re
from typing import Any

import pytest

from companion.calibration.formulas import FORMULAS
from companion.job.loader import JobPaths
from companion.record import Entry, MemoryLog, StoredEvent
from companion.report import wording
from companion.report.explain import NothingToExplain, explain, names
from companion.report.explain_advice import ADVICE
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.slips import PlannedSlip
from companion.speech.silent import SilentVoice


@pytest.fixture(scope="module")
def rehearsed_job() -> tuple[StoredEvent, ...]:
    log = MemoryLog("rehearsed")
    loaded = assembly.load(JobPaths())
    run_rehearsal(loaded, assembly.language(), make_rehearsal(loaded, 1), SilentVoice(), log)
    return tuple(log.events("rehearsed"))


def told(events: tuple[StoredEvent, ...], name: str) -> str:
    return "\n".join(explain(events, name))


def last(events: tuple[StoredEvent, ...], kind: str, **wanted: str) -> StoredEvent:
    return [
        event
        for event in events
        if event.kind == kind and all(event.body.get(k) == v for k, v in wanted.items())
    ][-1]


def events_of(*entries: tuple[str, dict[str, Any]]) -> tuple[StoredEvent, ...]:
    log = MemoryLog("made")
    log.append([Entry(kind, body) for kind, body in entries])
    return tuple(log.events("made"))


def test_a_result_is_told_with_its_formula_written_out_and_its_source(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    text = told(rehearsed_job, "aim_elevation_deg")
    assert "Formula: aim_error" in text
    assert FORMULAS["aim_error_of_body"].text in text
    assert f"source: {FORMULAS['aim_error'].source}" in text


def test_every_input_says_where_it_came_from(rehearsed_job: tuple[StoredEvent, ...]) -> None:
    reading = last(rehearsed_job, "accepted", reading_id="spot_left_mm")
    text = told(rehearsed_job, "stand_turn_deg")
    assert f'"{reading.body["spoken"]}", event {reading.seq}' in text
    path = last(rehearsed_job, "computed", step_id="stand_turn").body["inputs"]["path_mm"]
    assert path["u"] > 0
    assert (
        f"path_mm = {path['value']:.6g} (u {path['u']:.2g}): bay.stand.laser_path_mm, "
        "as the bay file says" in text
    )
    assert "the result left_run_out_heading_deg, worked out by run_out" in text
    assert "grows_to_left = 1: a figure of the job file" in told(rehearsed_job, "left_run_out_deg")
    assert "the negative of bay.stand.lean_away_deg" in told(rehearsed_job, "lean_vertex_deg")


def test_the_doubt_is_told_twice_over_and_its_parts_make_a_whole(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    text = told(rehearsed_job, "stand_offset_left_mm")
    u = last(rehearsed_job, "computed", step_id="stand_sideways").body["outputs"][
        "stand_offset_left_mm"
    ]["u"]
    first = re.search(r"± ([\d.]+)\u00a0mm \(U = k u, k = 2, about 95 %; standard", text)
    assert first is not None
    assert float(first[1]) == pytest.approx(2 * u, rel=0.05)
    shares = [line.split("%") for line in text.splitlines() if "\u00a0%  " in line]
    assert sum(float(share) for share, _ in shares) == pytest.approx(100, abs=0.1 * len(shares))
    assert any("arm_left_mm" in what for _, what in shares)
    assert "the uncertainty entered for path_mm in left_run_out" in told(
        rehearsed_job, "left_run_out_deg"
    )


def test_the_last_take_counts_and_not_an_earlier_one(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    distances = [
        event
        for event in rehearsed_job
        if event.kind == "accepted" and event.body["reading_id"] == "plate_distance_mm"
    ]
    assert len(distances) > 1
    text = told(rehearsed_job, "distance_error_mm")
    assert f"event {distances[-1].seq}" in text
    assert f"event {distances[0].seq}\n" not in text


def test_a_result_that_was_decided_on_brings_its_decision(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    text = told(rehearsed_job, "distance_error_mm")
    high = last(rehearsed_job, "decided", step_id="distance_decision").body["high"]
    assert "Decision: Plate distance (distance_decision)" in text
    assert f"limits: within {high:g}\u00a0mm" in text
    assert "inside only with at least 95.0\u00a0%" in text
    assert "answer: inside" in text


def test_a_plain_decision_says_that_the_value_alone_counts(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    assert "the value alone has to be inside" in told(rehearsed_job, "floor_twist_check")


def test_the_aim_decision_tells_both_axes_the_limits_and_the_probability(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    body = last(rehearsed_job, "aim_decided").body
    text = told(rehearsed_job, "aim_decision")
    assert "Aim sideways" in text
    assert "Aim up or down" in text
    for axis in ("yaw", "elevation"):
        assert f"; within {body[axis]['tolerance']:g}°" in text
    sets = "1 set" if body["sets"] == 1 else f"{body['sets']} sets"
    assert f"after {body['round']} round on the screws and {sets}" in text
    assert "answer: inside, and confirmed" in text


def test_a_step_tells_all_its_results(rehearsed_job: tuple[StoredEvent, ...]) -> None:
    text = told(rehearsed_job, "floor_plane")
    for result in ("floor_slope_up_deg", "floor_side_slope_deg", "floor_twist_mm"):
        assert f"({result})" in text
        assert f"What the uncertainty of {result} is made of" in text


def test_a_reading_is_told_as_it_was_said_back_and_where_it_is_used(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    reading = last(rehearsed_job, "accepted", reading_id="arm_left_mm")
    text = told(rehearsed_job, "arm_left_mm")
    assert f'said back as "{reading.body["spoken"]}"' in text
    assert "used in: arms_apart, stand_sideways" in text
    assert "used in: no formula" in told(rehearsed_job, "battery_volt")


def test_an_answer_to_a_question_is_told(rehearsed_job: tuple[StoredEvent, ...]) -> None:
    assert "answered words only" in told(rehearsed_job, "consent")
    assert "proposed" not in told(rehearsed_job, "consent")
    # The example's file says how its aim is read, and one yes was enough.
    assert "proposed by the vehicle's file, and answered yes" in told(rehearsed_job, "aim_route")


def test_an_unknown_name_gets_the_list_of_what_there_is(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    with pytest.raises(NothingToExplain) as error:
        told(rehearsed_job, "no_such_thing")
    message = str(error.value)
    assert "session rehearsed holds nothing called 'no_such_thing'" in message
    assert "aim_yaw_deg" in message
    assert "spot_left_mm" in message
    assert "turn_decision" in message


def test_an_empty_session_has_nothing_to_explain() -> None:
    with pytest.raises(NothingToExplain, match="results: none; readings: none; steps: none"):
        list(explain((), "aim_yaw_deg"))


def test_what_was_taken_back_says_so() -> None:
    events = events_of(
        ("accepted", {"reading_id": "left_mm", "title": "Left", "value": "7", "spoken": "seven"}),
        ("taken_back", {"step_ids": ["left_mm"], "why": "taken back by the technician"}),
    )
    assert "It has not counted since event 2: taken back by the technician" in told(
        events, "left_mm"
    )


def test_a_record_without_the_formulas_text_says_not_recorded() -> None:
    outputs = {"gap_mm": {"value": 1.5, "u": 0.0, "unit": "mm", "budget": []}}
    events = events_of(("computed", {"step_id": "gap", "formula": "gap", "outputs": outputs}))
    text = told(events, "gap_mm")
    assert text.count("not recorded") == 2
    assert "none, its inputs are exact" in text


def everything_named(events: tuple[StoredEvent, ...]) -> set[str]:
    """All results, readings and steps that any fact of the record names, by its own keys."""
    found: set[str] = set()
    for event in events:
        body = event.body
        if event.kind in ("said", "done", "misfit", "doubted", "corrected", "not_allowed"):
            continue
        found |= {body[key] for key in ("step_id", "reading_id", "result") if body.get(key)}
        if event.kind == "computed":
            found |= set(body["outputs"])
    return found - {"inside", "tool_inside", "stopped"}


@pytest.mark.parametrize("toe_route", ["degrees", "millimetres"])
@pytest.mark.parametrize("aim_route", ["echo_levels", "tool_angle"])
def test_every_result_of_a_whole_job_explains_itself(toe_route: Any, aim_route: Any) -> None:
    """With slips at a spot and an echo, so that suspects are named and turns are judged."""
    log, loaded = MemoryLog("walked"), assembly.load(JobPaths())
    slips = [
        PlannedSlip("mixes_up_direction", 1, "spot"),
        PlannedSlip("off_by_ten", 2, "echo"),
        PlannedSlip("moves_wrong_way", 2),
    ]
    rehearsal = make_rehearsal(
        loaded,
        4,
        slips=slips,
        scenario=Scenario(answers={"toe_route": toe_route, "aim_route": aim_route}),
    )
    run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    events = tuple(log.events("walked"))
    kinds = {event.kind for event in events}
    assert {"shims", "stand_moves", "suspected", "screw_plan", "move_judged"} <= kinds
    listed = names(events)
    assert set().union(*listed.values()) >= everything_named(events)
    for name in everything_named(events):
        text = told(events, name)
        assert text.strip(), name
        assert wording.wording_in().not_recorded not in text, f"{name}: {text}"
    for result in listed["results"]:
        text = told(events, result)
        assert "Formula: " in text
        assert "  source: " in text
        assert "Inputs:" in text
        assert "What the uncertainty of" in text or "its inputs are exact" in text
    for event in events:
        if event.kind in ("decided", "aim_decided", *ADVICE) and event.body.get("step_id"):
            told_of_step = told(events, event.body["step_id"])
            assert "formula: " in told_of_step.lower(), event.kind
            assert "source: " in told_of_step, event.kind


def test_the_end_is_explained_with_what_it_means_at_range(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    text = told(rehearsed_job, "finish")
    assert "Result: inside" in text
    for metres in ("50", "100", "150"):
        assert re.search(rf"at {metres}\s+m: \d\.\d+\s+m (left|right) ± \d\.\d+\s+m", text), text
    assert "formula: miss = range tan(angle)" in text


def test_the_moves_of_the_stand_are_explained_with_what_they_make_stale(
    rehearsed_job: tuple[StoredEvent, ...],
) -> None:
    text = told(rehearsed_job, "stand_place")
    assert "Moves of the stand, in their order" in text
    assert "to be measured again" in text
    assert "foot 100 mm ahead and 0 mm left of the centre (u 200 mm)" in " ".join(text.split())

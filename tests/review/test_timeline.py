"""Each event is one line: who, what, and what became of it."""

from __future__ import annotations

from typing import Any

import pytest

from companion.record import Entry, MemoryLog
from companion.report.timeline import Line, line_of
from companion.report.wording import MINUS, wording_in


def line(kind: str, /, **body: Any) -> Line:
    (event,) = MemoryLog("s1").append([Entry(kind, body)])
    return line_of(event, wording_in())


@pytest.mark.parametrize(
    ("kind", "body", "who", "label", "told"),
    [
        ("said", {"purpose": "ask", "text": "Left arm?"}, "companion", "asks", "Left arm?"),
        ("said", {"purpose": "read_back", "text": "7"}, "companion", "says back", "7"),
        ("heard", {"words": "seven one"}, "technician", "heard", "“seven one”"),
        ("refused", {"reason": "too_loud"}, "technician", "refused", "too loud"),
        ("silent", {"waited_s": 8.0}, "technician", "silence", "no answer in 8 seconds"),
        (
            "late",
            {"prompt_id": "p1"},
            "technician",
            "late",
            "an answer to an earlier question, not taken",
        ),
        (
            "answered",
            {"step_id": "resumed", "title": "", "choice": "not_touched", "asked": "break"},
            "kept",
            "answered",
            "Touched in the break: not touched",
        ),
        (
            "answered",
            {"step_id": "resumed", "title": "Touched in the break", "choice": "was_moved"},
            "kept",
            "answered",
            "Touched in the break: was moved",
        ),
        ("accepted", {"title": "Left", "spoken": "seven"}, "kept", "confirmed", "Left: seven"),
        (
            "accepted",
            {"title": "Left", "value": "7", "unit": "mm"},
            "kept",
            "confirmed",
            "Left: 7\u00a0mm",
        ),
        (
            "answered",
            {"title": "Reason", "choice": "new_part"},
            "kept",
            "answered",
            "Reason: new part",
        ),
        ("done", {"step_id": "a/1", "text": "Wheels chocked."}, "kept", "done", "Wheels chocked."),
        ("done", {"step_id": "lift_car"}, "kept", "done", "lift car"),
        ("consent", {"keep_sound": False}, "kept", "consent", "keep sound: no"),
        ("doubted", {"why": "far from the last"}, "worked_out", "unlikely", "far from the last"),
        (
            "misfit",
            {"why": "no peak"},
            "worked_out",
            "misfit",
            "Readings that do not fit together.",
        ),
        ("move_judged", {"kind": "wrong_way"}, "worked_out", "move", "judged wrong way"),
        ("stopped", {"why": "lift needed"}, "session", "stopped", "lift needed"),
        ("finished", {"result": "not_settled"}, "session", "finished", "not settled"),
        ("unheard_of", {"a": [1, True]}, "session", "unheard_of", "a: 1, yes"),
    ],
)
def test_events_as_lines(kind: str, body: dict[str, Any], who: str, label: str, told: str) -> None:
    found = line(kind, **body)
    assert (found.who, found.label, found.told) == (who, label, told)


def test_what_was_understood_stands_beside_what_was_heard() -> None:
    found = line(
        "heard",
        words="go back",
        meaning={"kind": "command", "name": "go_back"},
        confidence=0.914,
        ears="typed",
        n_best=["go back", "no"],
    )
    assert found.detail == (
        "understood as the command go back · confidence 0.91 · by typed · next guesses: “no”"
    )


def test_a_decision_tells_its_chance_or_that_limits_alone_decided() -> None:
    body = {"title": "Stand sideways", "result": "stand_offset_left_mm", "answer": "inside"}
    body |= {"value": 0.5, "u": 0.3, "unit": "mm", "probability_inside": 0.97}
    by_chance = line("decided", level=0.95, **body)
    assert by_chance.told == "Stand sideways: inside"
    assert by_chance.detail == "0.50\u00a0mm left, chance of being inside 97.0\u00a0%"
    assert line("decided", level=None, **body).detail == "0.50\u00a0mm left, by its limits alone"


def test_the_aim_as_judged_is_told_with_both_directions() -> None:
    found = line(
        "aim_decided",
        yaw={"value": -1.23, "u": 0.05},
        elevation={"value": -0.67, "u": 0.05},
        probability_inside=0.0,
        answer="outside",
    )
    assert found.told == "aim: outside"
    assert found.detail.startswith("1.230° right, 0.670° down, chance of both being inside under")


def test_a_peak_is_told_with_the_words_of_its_own_axis() -> None:
    outputs = {"vertex_deg": {"value": -1.0, "u": 0.1, "unit": "deg"}}
    assert "right edge towards" in line("computed", step_id="swing_peak", outputs=outputs).told
    assert "top away" in line("computed", step_id="lean_peak", outputs=outputs).told


def test_turns_are_told_in_words() -> None:
    found = line("screw_plan", round=2, turns={"upper_left": "-11/4"})
    assert found.told == "round 2: upper left 2¾\u00a0turns anticlockwise"


def test_refusals_cautions_and_stages_are_marked() -> None:
    assert line("refused", reason="unsure").is_refusal
    assert line("silent").is_refusal
    assert line("said", purpose="caution", text="Mind the jack").is_caution
    stage = line("stage", title="Floor", number=3, of=14)
    assert (stage.is_stage, stage.told) == (True, "Floor (3/14)")


def test_advice_is_one_line_without_its_budget_and_formula() -> None:
    advised = line(
        "suspected",
        step_id="beam_check",
        suspects=[
            {"cause": "the left spot", "percent": 71.2, "error": -178.2},
            {"cause": "the right spot", "percent": 28.8, "error": 178.2},
        ],
        asked_again=["the left spot"],
        text="each cause alone",
        source="Bayes' rule",
    )
    assert (advised.who, advised.label) == ("worked_out", "advice")
    assert advised.told == "Suspects (beam check)"
    assert f"71.2\u00a0% the left spot, misread by {MINUS}178.20 if it was that" in advised.detail
    assert advised.detail.endswith("read again: the left spot")

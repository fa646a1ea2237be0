"""What a job tells is read into models and written again without a difference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import FrozenInstanceError
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.facts.aim import Axis, MoveJudged, ScrewPlan
from companion.facts.answers import Accepted
from companion.facts.beforehand import (
    HearingBefore,
    NoiseChecked,
    RoomNoise,
    VoiceChecked,
    VoiceFound,
)
from companion.facts.ending import Finished
from companion.facts.figures import Share
from companion.facts.kinds import KINDS, Entry, body_of, fact_of, kind_of
from companion.facts.meanings import NOT_TOLD, Yes
from companion.facts.opening import Opened
from companion.facts.talking import Heard, How
from companion.facts.workings import Corrected, Correction, Decided
from companion.record import StoredEvent
from companion.record.canonical import canonical_json


def test_every_event_of_a_job_is_written_as_it_was_read(
    rehearsed_events: tuple[StoredEvent, ...],
) -> None:
    for event in rehearsed_events:
        fact = fact_of(event.kind, event.body)
        assert not isinstance(fact, Entry), event
        assert kind_of(fact) == event.kind
        assert canonical_json(body_of(fact)) == canonical_json(event.body)


def test_the_jobs_tell_most_kinds(rehearsed_events: tuple[StoredEvent, ...]) -> None:
    told = {event.kind for event in rehearsed_events}
    assert {"opened", "stage", "said", "heard", "accepted", "answered", "done"} <= told
    assert {"computed", "decided", "aim_decided", "screw_plan", "move_judged"} <= told
    assert {"corrected", "stand_moves", "shims", "taken_back", "finished"} <= told
    assert "voice_checked" in told


def test_a_fact_is_read_once_and_only_when_asked_for(
    rehearsed_events: tuple[StoredEvent, ...],
) -> None:
    event = rehearsed_events[0]
    assert event.fact is event.fact
    assert isinstance(event.fact, Opened)
    assert event.fact.bay_told.shop == "Example Workshop"
    step = event.fact.job_told.step("arm_left_mm")
    assert step is not None
    assert (step.step, step.unit) == ("reading", "mm")
    assert event.fact.has_an_example


def test_what_was_found_before_the_work_is_written_as_it_was_read() -> None:
    noise = RoomNoise(-58.2, -50.0, "reliable", "It is quiet enough to work by voice.")
    opened = Opened(microphone="headset", hearing=HearingBefore(noise, True))
    heard = Heard("p1", Yes(), How("yes", "own", None, speech_dbfs=-24.0, snr_db=21.5))
    found = VoiceFound(10, 9, ("fifteen -> fifty",), -24.0, None, True, 0.87)
    for fact in (NoiseChecked(noise), opened, heard, VoiceChecked("fair", found)):
        assert fact_of(fact.KIND, body_of(fact)) == fact
    assert body_of(VoiceChecked("declined")) == {"outcome": "declined"}
    assert fact_of("voice_checked", {"outcome": "left"}) == VoiceChecked("left")


def test_a_kind_that_is_not_known_is_kept_as_it_is() -> None:
    fact = fact_of("unheard_of", {"a": [1, True]})
    assert fact == Entry("unheard_of", {"a": [1, True]})
    assert (kind_of(fact), body_of(fact)) == ("unheard_of", {"a": [1, True]})


def test_what_an_older_record_lacks_is_not_recorded() -> None:
    accepted = fact_of("accepted", {"reading_id": "left_mm", "value": "775"})
    assert accepted == Accepted("left_mm", "", "775", "", None, "", None, take=1, attempts=1)
    decided = fact_of("decided", {"answer": "too_close"})
    assert isinstance(decided, Decided)
    assert (decided.value, decided.level, decided.readings_to_settle) == (None, None, 0)
    assert decided.grounds.text == ""
    assert fact_of("finished", {"result": "stopped"}) == Finished("stopped", None, None, ())


def test_values_of_another_shape_are_passed_over() -> None:
    body = {
        "step_id": 7,
        "turns": {"left": "11/4", "right": "a lot"},
        "steps": [3, {}],
        "round": "2",
    }
    plan = fact_of("screw_plan", body)
    assert isinstance(plan, ScrewPlan)
    assert plan.step_id == "7"
    assert plan.turns == {"left": Fraction(11, 4)}
    assert [step.turns for step in plan.steps] == [0]
    assert (plan.round, plan.aim.yaw_deg) == (2, None)
    told = fact_of("finished", {"yaw": {"value": float("inf"), "budget": [["a", 3], ["b"], 4]}})
    assert isinstance(told, Finished)
    assert told.yaw == Axis(None, None, (Share("a", 3.0),))


def test_a_meaning_that_cannot_be_read_is_none_of_any_answer() -> None:
    for meaning in ({"kind": "number", "value": "-1"}, {"kind": "of a later version"}, "yes", None):
        assert fact_of("heard", {"prompt_id": "p1", "meaning": meaning}) == Heard("p1", NOT_TOLD)


def test_a_sign_off_of_another_form_is_none() -> None:
    assert fact_of("signed_off", {"by": "A. Example"}) == Entry("signed_off", {"by": "A. Example"})


def test_a_name_that_python_keeps_for_itself_is_written_as_it_always_was() -> None:
    fact = Corrected("sideways", "4 millimetres left", Correction(4.0, 0.3))
    assert body_of(fact)["move"] == {"from": 4.0, "u": 0.3}
    assert fact_of("corrected", body_of(fact)) == fact


def test_how_it_was_heard_stands_beside_what_was_heard() -> None:
    heard = Heard("p1", Yes(), How("yes", "typed", None, confidence=1.0))
    assert body_of(heard) == {
        "prompt_id": "p1",
        "meaning": {"kind": "yes"},
        "words": "yes",
        "ears": "typed",
        "clip_sha256": None,
        "confidence": 1.0,
    }


def test_a_move_of_the_stand_is_judged_without_the_screws() -> None:
    body = {"step_id": "s", "kind": "wrong_way", "screw_ids": [], "probability": None}
    fact = fact_of("move_judged", body)
    assert isinstance(fact, MoveJudged)
    assert fact.judgement is None
    assert canonical_json(body_of(fact)) == canonical_json(body)


def test_a_misspelt_field_is_refused() -> None:
    with pytest.raises(TypeError, match="valeu"):
        Axis(valeu=1.0, u=0.1)  # type: ignore[call-arg]
    with pytest.raises(FrozenInstanceError):
        Axis(1.0, 0.1).value = 2.0  # type: ignore[misc]


numbers = st.floats(allow_nan=False, allow_infinity=False) | st.integers(-(2**53) + 1, 2**53 - 1)
names = sorted({field for model in KINDS.values() for field in model.__annotations__})
values = st.recursive(
    st.none() | st.booleans() | numbers | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(names), inner, max_size=3)
    ),
    max_leaves=6,
)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(sorted(KINDS)), st.dictionaries(st.sampled_from(names), values, max_size=5))
def test_any_body_whatever_is_read_and_what_was_read_is_stable(
    kind: str, body: Mapping[str, Any]
) -> None:
    fact = fact_of(kind, body)
    assert kind_of(fact) == kind
    again = fact_of(kind, body_of(fact))
    assert again == fact
    canonical_json(body_of(fact))

"""An answer that the vehicle's file gives is proposed: one explicit yes takes it, nothing else."""

from __future__ import annotations

import pytest

from companion.dialogue.machine import begin
from companion.dialogue.prefetch import texts_ahead
from companion.dialogue.state import Mode
from companion.facts.meanings import Yes
from companion.facts.talking import Heard, How


@pytest.fixture
def proposed(bay):
    """The talk where the shipped vehicle's file proposes how the aim is read."""
    return bay.go_on_to("aim_route")


def test_it_is_named_behind_what_is_to_be_done_and_yes_takes_both(proposed):
    assert proposed.spoken[-1] == "Start aiming mode. Echo levels?"
    told = proposed.fact("said")["prompt"]
    assert told["said_back"]["choice"] == "echo_levels"
    assert told["said_back"]["proposed"]
    assert told["first"] == ["aiming_mode_on"]
    proposed.hear("yes")
    assert proposed.fact("answered") == {
        "step_id": "aim_route",
        "title": "What the scan tool gives",
        "choice": "echo_levels",
        "proposed": True,
    }
    assert "aiming_mode_on" in proposed.state.done
    assert proposed.step_id == "echo_lean_towards_db"


def test_no_asks_the_question_in_full_and_is_no_miss(proposed):
    proposed.hear("no")
    assert proposed.asked == (
        "Start aiming mode. Echo levels, tool angle, tool correction, or screw turns?"
    )
    assert proposed.fact("said")["prompt"]["first"] == ["aiming_mode_on"]
    assert not proposed.can_hear("yes")
    assert proposed.state.no_matches == 0
    proposed.hear("tool angle", "yes")
    assert proposed.state.answers["aim_route"] == "tool_angle"
    assert "proposed" not in proposed.fact("answered")


@pytest.mark.parametrize("before", [[], ["repeat"], ["where are we"], ["louder"]])
def test_what_a_yes_would_take_is_named_after_every_miss(proposed, before):
    proposed.hear(*before).mishear()
    assert proposed.spoken[-1] == "Sorry? Start aiming mode. Echo levels? Yes or no?"
    proposed.silence()
    assert proposed.mishear().spoken[-1].endswith("Start aiming mode. Echo levels? Yes or no?")


def test_a_yes_that_cut_it_short_takes_nothing(proposed):
    """The pedal silenced it: what it named was perhaps not heard."""
    proposed.do(Heard(proposed.prompt_id, Yes(), How("yes", cut_short=(0,))))
    assert "aim_route" not in proposed.state.answers
    assert "aiming_mode_on" not in proposed.state.done
    assert proposed.spoken[-1] == "Start aiming mode. Echo levels? Yes or no?"
    proposed.hear("yes")
    assert proposed.state.answers["aim_route"] == "echo_levels"


def test_another_answer_is_said_back_and_wants_a_yes_of_its_own(proposed):
    proposed.hear("tool correction")
    assert proposed.state.mode is Mode.CONFIRMING
    assert "aim_route" not in proposed.state.answers
    proposed.hear("yes")
    assert proposed.state.answers["aim_route"] == "tool_correction"


def test_silence_and_noise_take_nothing(proposed):
    proposed.silence().mishear().mishear().mishear()
    assert "aim_route" not in proposed.state.answers
    assert proposed.spoken[-1].endswith("Start aiming mode. Echo levels? Yes or no?")
    proposed.silence()
    assert proposed.silence().silence().state.mode is Mode.PAUSED
    assert "aim_route" not in proposed.state.answers


def test_who_takes_it_back_is_asked_in_full(proposed):
    proposed.hear("yes", "go back")
    assert proposed.asked.endswith("Echo levels, tool angle, tool correction, or screw turns?")
    assert not proposed.can_hear("yes")


@pytest.mark.parametrize("answer", [[], ["no"], ["echo levels"], ["yes", "go back"]])
def test_it_is_proposed_once_whatever_comes_between(proposed, answer):
    proposed.hear(*answer, "wait", "continue")
    assert proposed.asked.endswith("Echo levels, tool angle, tool correction, or screw turns?")
    assert not proposed.can_hear("yes")
    proposed.resume().hear("not touched", "yes")
    assert proposed.asked.endswith("Echo levels, tool angle, tool correction, or screw turns?")
    assert not proposed.can_hear("yes")


def test_it_is_rendered_ahead(proposed):
    ahead = texts_ahead(begin(proposed.state.plan, proposed.grammar))
    assert "Start aiming mode. Echo levels?" in set(ahead)

"""A reading or a choice counts after it was said back and a yes was heard, and never otherwise."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.dialogue.machine import begin, step
from companion.dialogue.state import Mode
from companion.facts.meanings import Yes
from companion.facts.opening import Opened
from companion.facts.talking import Heard, How, Refused, Silent
from companion.runtime import assembly

ARM = """
- {step: reading, id: arm_mm, title: Left arm scale, ask: Left arm scale., unit: mm,
   number: {style: whole, whole_digits: 3}, plausible: [650, 900], resolution: 1}
- {step: reading, id: spot_mm, title: Left spot, ask: "Left spot, left or right.", unit: mm,
   number: {style: whole, whole_digits: 3, directions: [left, right]}, plausible: [-300, 300],
   resolution: 1}
"""


def test_the_first_thing_said_is_what_must_not_be_forgotten(bay):
    cautions = [c.say for c in bay.state.plan.files.job.cautions]
    assert bay.said[: len(cautions)] == cautions
    assert bay.said[len(cautions) :] == [bay.asked]
    assert bay.asked.startswith("Your voice is personal data.")


def test_a_stage_whose_first_prompt_tells_what_it_is_about_is_shown_and_not_said(bay):
    assert bay.fact("stage")["title"] == "Job card"
    bay.go_on_to("line_laser")
    assert bay.fact("stage")["title"] == "Floor check"
    assert "Floor check." not in bay.said


def test_a_reading_is_said_back_digit_by_digit_and_counts_after_yes(small):
    talk = small(ARM)
    assert talk.asked == "Left arm scale."
    talk.hear("seven hundred and seventy five")
    assert talk.said == ["Seven seven five millimetres. Yes or no?"]
    assert talk.state.mode is Mode.CONFIRMING
    assert talk.state.readings == {}
    talk.hear("yes")
    assert talk.value("arm_mm") == Decimal(775)
    assert talk.fact("accepted")["spoken"] == "seven seven five millimetres"
    assert talk.asked == "Left spot, left or right."


@pytest.mark.parametrize(
    ("words", "value", "back"),
    [
        ("one two left", "12", "One two millimetres left. Yes or no?"),
        ("one two right", "-12", "One two millimetres right. Yes or no?"),
        ("zero", "0", "Zero millimetres. Yes or no?"),
    ],
)
def test_the_way_is_said_back_in_words_and_kept_as_a_sign(small, words, value, back):
    talk = small(ARM).hear("seven seven five", "yes", words)
    assert talk.said == [back]
    talk.hear("yes")
    assert talk.value("spot_mm") == Decimal(value)
    assert talk.fact("accepted")["value"] == value


def test_no_asks_again_and_nothing_is_kept(small):
    talk = small(ARM).hear("seven seven five", "no")
    assert talk.said == ["Not taken. Digit by digit, such as one, five, two. Left arm scale."]
    assert talk.state.readings == {}
    assert not talk.every("accepted")


def test_a_new_number_replaces_the_one_that_waits_for_its_yes(small):
    talk = small(ARM).hear("seven seven five", "correction seven six five")
    assert talk.said == ["Seven six five millimetres. Yes or no?"]
    talk.hear("seven five five", "yes")
    assert talk.value("arm_mm") == Decimal(755)
    assert [body["value"] for body in talk.every("accepted")] == ["755"]


def test_a_choice_is_said_back_too(bay):
    bay.hear("keep the sound")
    assert bay.said == ["Keep the sound. Yes or no?"]
    bay.hear("words only")
    assert bay.said == ["Words only. Yes or no?"]
    bay.hear("yes")
    assert bay.fact("answered")["choice"] == "words_only"
    assert bay.fact("consent") == {"keep_sound": False}
    assert bay.state.keep_sound is False


def test_keeping_the_sound_needs_that_very_answer_confirmed(bay):
    assert bay.state.keep_sound is False
    bay.hear("keep the sound")
    assert bay.state.keep_sound is False
    bay.hear("yes")
    assert bay.state.keep_sound is True
    assert bay.fact("consent") == {"keep_sound": True}


def test_consent_that_is_taken_back_stops_the_keeping_at_once(bay):
    bay.hear("keep the sound", "yes", "go back")
    assert bay.step_id == "consent"
    assert bay.state.keep_sound is False
    assert bay.fact("consent") == {"keep_sound": False}


def test_a_yes_to_an_older_prompt_never_answers_the_open_one(small):
    talk = small(ARM).hear("seven seven five")
    older = talk.prompt_id
    talk.hear("seven six five")
    talk.do(Heard(older, Yes()))
    assert talk.state.readings == {}
    assert talk.said == []
    assert talk.fact("late") == {"prompt_id": older}
    talk.hear("yes")
    assert talk.value("arm_mm") == Decimal(765)


def test_a_yes_after_a_repetition_counts_only_under_the_repetition(small):
    talk = small(ARM).hear("seven seven five")
    older = talk.prompt_id
    talk.hear("repeat")
    assert talk.said == ["Seven seven five millimetres. Yes or no?"]
    assert talk.prompt_id != older
    talk.do(Heard(older, Yes()))
    assert talk.state.readings == {}


@pytest.mark.parametrize("words", ["yes", "no", "done", "carry on", "end the job"])
def test_what_does_not_answer_a_reading_changes_nothing(small, words):
    """The grammar stops these; a dialogue that hears them all the same says so and asks again."""
    talk = small(ARM)
    everything = assembly.language().for_step(
        talk.state.prompt.expectation.__class__(
            done=True, yes_no=True, commands=("carry_on", "end_job")
        )
    )
    assert not talk.can_hear(words)
    talk.do(Heard(talk.prompt_id, everything.parse(words)))
    assert talk.said == ["That does not fit here. Left arm scale."]
    assert talk.state.mode is Mode.ASKING
    assert talk.state.readings == {}


def test_a_number_of_another_form_is_no_answer_even_past_the_grammar(small):
    talk = small(ARM)
    form = assembly.language().for_step(small(ARM).hear("one two three").state.prompt.expectation)
    talk.do(Heard(talk.prompt_id, form.parse("one two three")))
    assert talk.state.doubted is not None
    number = talk.state.doubted
    for wrong in (
        type(number)(Decimal("12.5"), None, "mm"),
        type(number)(Decimal(1234), None, "mm"),
        type(number)(Decimal(775), "left", "mm"),
        type(number)(Decimal(775), None, "deg"),
    ):
        talk.do(Heard(talk.prompt_id, wrong))
        assert talk.said == ["That does not fit here. Left arm scale."]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(["silence", "unsure", "not_in_grammar", "too_loud"]), max_size=12))
def test_silence_and_noise_under_a_read_back_never_accept(shipped, happenings):
    state = begin(shipped.plan, assembly.language())
    state, _ = step(state, Opened())
    meaning = assembly.language().for_step(state.prompt.expectation).parse("keep the sound")
    state, _ = step(state, Heard(state.prompt.id, meaning))
    for happening in happenings:
        if happening == "silence":
            state, _ = step(state, Silent(state.prompt.id, 30.0))
        else:
            state, _ = step(state, Refused(state.prompt.id, happening, How("yes")))
        assert state.answers == {}
        assert state.keep_sound is False
        assert state.mode in (Mode.CONFIRMING, Mode.PAUSED)

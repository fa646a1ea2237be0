"""The record tells which prompts were asked again because an answer did not get through."""

from __future__ import annotations

import pytest

TWO = """
- {step: reading, id: arm_mm, title: Left arm scale, ask: Left arm scale., unit: mm,
   number: {style: whole, whole_digits: 3}, plausible: [650, 900], resolution: 1}
- {step: reading, id: gap_mm, title: The gap, ask: The gap., unit: mm,
   number: {style: whole, whole_digits: 2}, plausible: [5, 50], resolution: 1}
"""


def asked_again(talk):
    return talk.now("said")[-1]["prompt"].get("again", False)


def test_the_first_time_and_what_comes_next_are_not_asked_again(small):
    talk = small(TWO)
    assert not asked_again(talk)
    assert not asked_again(talk.hear("seven seven five"))
    assert not asked_again(talk.hear("yes"))


@pytest.mark.parametrize("way", ["noise", "silence", "no", "go back", "not expected", "a pause"])
def test_what_did_not_get_through_is(small, way):
    talk = small(TWO)
    match way:
        case "noise":
            talk.mishear()
        case "silence":
            talk.silence()
        case "no" | "go back":
            talk.hear("seven seven five", way)
        case "a pause":
            talk.hear("wait", "continue")
        case _:
            talk.hear("stop", "end the job", "no", "continue")
    assert asked_again(talk)
    assert not asked_again(talk.hear("seven seven five", "yes"))


def test_who_asks_to_hear_it_again_was_heard(small):
    talk = small(TWO)
    assert not asked_again(talk.hear("repeat"))
    assert not asked_again(talk.hear("louder"))


def test_an_unlikely_number_after_noise_is(small):
    talk = small(TWO).mishear()
    talk.hear("one two three")
    assert talk.said[0].startswith("I heard one two three. I expect six five zero to ")
    assert asked_again(talk)


def test_two_digits_have_an_example_and_one_digit_needs_none(small):
    talk = small(TWO).hear("seven seven five", "yes").mishear().mishear()
    assert talk.said == ["Sorry? Digit by digit, such as one, five. The gap."]
    one = TWO.replace("whole_digits: 2}, plausible: [5, 50]", "whole_digits: 1}, plausible: [1, 9]")
    talk = small(one).hear("seven seven five", "yes").mishear().mishear()
    assert talk.said == ["Sorry? The gap."]

"""The end of a job: what was reached, what that means, and the sign-off."""

from __future__ import annotations

from math import radians, tan

import pytest

from companion.dialogue.effects import Close
from companion.dialogue.state import Mode
from tests.spoken import say_figure

SIGN_OFF = "Sign off in the record. Say done."


def test_the_finish_says_what_inside_means_and_what_it_does_not(bay):
    bay.go_on_to("finish")
    text, ask = bay.said[-2:]
    assert text.startswith("Inside the entered limits, with the entered uncertainties.")
    assert "At one hundred metres it points at its mark." in text
    assert text.endswith("It does not mean the assistance is safe.")
    assert ask == SIGN_OFF
    assert bay.state.mode is Mode.ASKING


@pytest.mark.parametrize(("yaw", "side"), [(0.2, "left"), (-0.2, "right")])
def test_what_is_left_is_told_at_range_with_its_side(bay, aim_words, yaw, side):
    bay.spoil(**aim_words(yaw, 0.0)).go_on_to("finish")
    measured = bay.fact("aim_decided")["yaw"]["value"]
    centimetres = say_figure(round(100 * 100 * tan(radians(abs(measured)))))
    told = f"At one hundred metres it points {centimetres} centimetres {side}."
    assert told in bay.said[-2]


def test_the_sign_off_closes_the_job_with_its_result_in_the_record(bay, aim_words):
    bay.spoil(**aim_words(0.1, -0.1)).go_on_to("finish").hear("done")
    assert bay.state.mode is Mode.CLOSED
    assert bay.effects[-1] == Close("inside")
    result = bay.fact("finished")
    assert result["result"] == "inside"
    assert result["yaw"]["value"] == pytest.approx(0.1, abs=0.03)
    assert result["elevation"]["value"] == pytest.approx(-0.1, abs=0.05)
    assert result["probability_inside"] > 0.95
    assert [m["range_m"] for m in result["misses_m"]] == [50, 100, 150]
    at_100 = result["misses_m"][1]
    assert at_100["sideways_m"] == pytest.approx(100 * tan(radians(result["yaw"]["value"])))
    assert at_100["height_m"] < 0
    assert at_100["u_sideways_m"] > 0


def test_before_the_sign_off_the_job_can_still_be_stopped_or_gone_back(bay):
    bay.go_on_to("finish")
    assert bay.hear("wait", "carry on").said[0] == "Carrying on."
    assert bay.asked == SIGN_OFF
    bay.hear("go back")
    assert bay.step_id == "road_test"
    assert bay.asked.startswith("Taken back: road test")
    assert bay.state.result is None


def test_every_reading_of_a_clean_job_is_accepted_exactly_once(bay):
    bay.go_on_to("faults_after")
    takes = bay.state.takes
    assert set(takes.values()) == {1}
    assert all(body["u"] > 0 for body in bay.every("accepted"))

"""A twisted floor, a slope, an uneven load: said, put right or taken into account, recorded."""

from __future__ import annotations

from dataclasses import replace

import pytest

from companion.dialogue.machine import begin
from companion.dialogue.state import Mode
from companion.facts.opening import Opened
from companion.job.plan import make_plan
from companion.job.setup_files import Range


def test_the_slope_is_taken_into_account_without_a_word(bay, in_words):
    bay.spoil(**in_words({"rule_rear_left_mm": "502", "rule_rear_right_mm": "502"}))
    bay.go_on_to("fuel")
    fact = bay.fact("shims")
    assert fact["needed"] is False
    assert fact["under"] == {}
    assert fact["taken_into_account"]["floor_slope_up_deg"]["value"] == pytest.approx(0.0424, 0.01)


@pytest.fixture
def twisted(bay, in_words):
    """A bay whose survey knows of a twist: two corners five millimetres low."""
    files = bay.state.plan.files
    floor = files.bay.floor.model_copy(update={"twist_mm": Range(low=-4, high=4)})
    changed = replace(files, bay=files.bay.model_copy(update={"floor": floor}))
    talk = type(bay)(bay.grammar, begin(make_plan(changed), bay.grammar), bay.answers)
    low = in_words({"rule_rear_left_mm": "505", "rule_front_right_mm": "505"})
    return talk.do(Opened()).spoil(**low)


def test_twist_is_taken_out_by_shims_under_the_low_wheels(twisted, in_words):
    twisted.go_on_to("floor_shims", doing=True)
    assert twisted.asked == "Five millimetres under the rear left wheel. Say done."
    assert twisted.hear("done").asked == "Five millimetres under the front right wheel. Say done."
    fact = twisted.fact("shims")
    assert fact["under"] == {"the rear left wheel": 5, "the front right wheel": 5}
    assert (fact["value"], fact["high"]) == (-2.5, 2.0)
    assert set(twisted.fact("taken_back")["step_ids"]) >= {
        "rule_rear_left_mm",
        "rule_front_right_mm",
        "floor_plane",
    }
    assert "rule_rear_right_mm" in twisted.state.readings
    level = in_words({"rule_rear_left_mm": "500", "rule_front_right_mm": "500"})
    twisted.spoil(**level).hear("done").go_on_to("fuel")
    assert twisted.fact("shims")["needed"] is False
    assert twisted.state.results["floor_twist_mm"].value == 0


def test_shims_that_do_not_help_end_in_a_stop(twisted):
    for _ in range(3):
        twisted.go_on_to("floor_shims", doing=True).hear("done", "done")
    while twisted.state.mode is Mode.ASKING:
        twisted.answer_once()
    assert twisted.asked.startswith("The floor is still twisted.")


@pytest.mark.parametrize(
    ("heights", "check"),
    [
        ({"front_left": "374", "rear_left": "378", "front_right": "396"}, "body_lean_check"),
        ({"front_left": "372", "rear_right": "378", "rear_left": "402"}, "body_twist_check"),
    ],
)
def test_an_uneven_load_is_put_right_and_all_heights_read_again(bay, in_words, heights, check):
    bay.spoil(**in_words({f"ride_height_{k}_mm": v for k, v in heights.items()}))
    bay.go_on_to(check, doing=True)
    assert bay.asked == "The car stands unevenly. Check load, tyres and springs. Say done."
    even = {f"ride_height_{k}_mm": "385" if "front" in k else "390" for k in heights}
    bay.spoil(**in_words(even)).hear("done")
    assert bay.step_id == "ride_height_front_left_mm"
    bay.go_on_to("toe_route")
    assert bay.state.results["body_nose_up_deg"].value == pytest.approx(0, abs=1e-9)


def test_ride_heights_give_the_body_its_pitch(bay, in_words):
    """Fourteen millimetres lower behind, over 2700 of wheelbase."""
    bay.spoil(**in_words({"ride_height_rear_left_mm": "376", "ride_height_rear_right_mm": "376"}))
    bay.go_on_to("toe_route")
    assert bay.state.results["body_nose_up_deg"].value == pytest.approx(0.297, abs=0.001)

"""Results that do not fit: the likeliest reading is named, and it alone is read again."""

from __future__ import annotations

import pytest

from companion.dialogue.state import Mode

ALIKE = """
- {step: instruction, id: lift, say: Lift it.}
- {step: reading, id: left_mm, title: Left arm scale, ask: Left arm scale., unit: mm, doubt: 1,
   number: {style: whole, whole_digits: 3}, plausible: [650, 900], resolution: 1}
- {step: reading, id: right_mm, title: Right arm scale, ask: Right arm scale., unit: mm, doubt: 1,
   number: {style: whole, whole_digits: 3}, plausible: [650, 900], resolution: 1}
- {step: computation, id: sideways, formula: stand_sideways,
   inputs: {left_mm: left_mm, right_mm: right_mm}, outputs: {stand_offset_left_mm: offset_mm}}
- {step: decision, id: check, title: In the middle, result: offset_mm, within: 5, rule: plain,
   wrong: "The two disagree.",
   suspects: [{name: a costly one, readings: [left_mm], also: [lift], likely_error: 10},
              {name: the other, readings: [right_mm], likely_error: 10}],
   again: {say: Off. Again., steps: [left_mm, right_mm], at_most: 3, then_stop: Enough.}}
"""
DISAGREE = "The two beams do not agree with the toe. Likely misread: "


def test_left_said_for_right_is_the_suspect_and_nothing_else_is_read_again(bay, in_words):
    # Both beams run out alike, so that the spots are twenty four millimetres to the right.
    bay.spoil(**in_words({"spot_left_mm": "24", "spot_right_mm": "-24"}))
    bay.go_on_to("spot_right_mm").answer_once()
    assert bay.said[0].startswith(DISAGREE)
    fact = bay.fact("suspected")
    assert fact["step_id"] == "beam_check"
    assert {item["cause"] for item in fact["suspects"]} == {
        "the left beam",
        "the right beam",
        "the toe on the sheet",
        "the left clamp's run-out",
        "the right clamp's run-out",
    }
    assert sum(item["percent"] for item in fact["suspects"]) > 99.9
    assert set(fact["asked_again"]) == {"the left beam", "the right beam"}
    assert "toe_left_deg" in bay.state.readings
    assert "level_mm_per_m" in bay.state.readings
    stale = set(bay.fact("taken_back")["step_ids"])
    assert stale >= {"spot_left_mm", "spot_right_mm", "stand_turn"}
    assert not stale & {"toe_left_deg", "left_run_out", "level_decision"}


def test_a_suspect_that_was_read_rightly_makes_room_for_the_next(bay, in_words):
    bay.spoil(**in_words({"toe_left_deg": "0.30"}))
    bay.go_on_to("spot_right_mm").answer_once()
    asked = [bay.fact("suspected")["asked_again"]]
    assert len(asked[0]) <= 2
    while "the toe on the sheet" not in asked[-1]:
        before = len(bay.every("suspected"))
        while len(bay.every("suspected")) == before:
            bay.answer_once()
        asked.append(bay.fact("suspected")["asked_again"])
    names = [name for names in asked for name in names]
    assert len(names) == len(set(names))
    bay.spoil(**in_words({"toe_left_deg": "0.00"})).go_on_to("arm_left_mm")
    assert bay.state.suspected == {}


def test_a_clamp_under_suspicion_is_lifted_and_turned_again(bay, in_words):
    """Nothing else is wrong: one after the other everything is looked into, then it stops."""
    bay.spoil(**in_words({"toe_left_deg": "0.30", "toe_right_deg": "0.30"}))
    bay.go_on_to("spot_right_mm").answer_once()
    lifted = False
    while bay.state.mode is Mode.ASKING:
        lifted = lifted or bay.asked.startswith("Rear left wheel up")
        bay.answer_once()
    assert lifted
    assert bay.asked.startswith("Beams and toe still disagree.")
    asked = [name for body in bay.every("suspected") for name in body["asked_again"]]
    assert len(set(asked)) == 5


def test_a_level_that_misfits_the_others_is_read_again_alone(bay, in_words):
    bay.spoil(**in_words({"echo_lean_upright_db": "59.0"}))
    bay.go_on_to("echo_lean_away_near_db").answer_once()
    assert bay.said[0] == ("The levels do not fit one beam. Likely misread: upright.")
    assert bay.asked == "Plate back upright and in the middle. Say done."
    assert bay.hear("done").step_id == "echo_lean_upright_db"
    assert len([name for name in bay.state.readings if name.startswith("echo")]) == 8
    fact = bay.fact("suspected")
    assert fact["suspects"][0]["cause"] == "upright"
    assert abs(fact["suspects"][0]["error"] + 1.0) < 0.1
    assert fact["suspects"][0]["percent"] > 90
    bay.spoil(**in_words({"echo_lean_upright_db": "60.0"})).answer_once()
    assert bay.fact("aim_decided")["answer"] == "inside"


def test_what_still_misfits_is_read_again_whole(bay, in_words):
    bay.spoil(**in_words({"echo_lean_upright_db": "59.0"}))
    bay.go_on_to("echo_lean_away_near_db").answer_once().hear("done").answer_once()
    assert bay.said[0].endswith("The levels do not fit one beam. We read them again.")
    assert bay.asked == "Plate back upright and in the middle. Say done."
    left = [name for name in bay.state.readings if name.startswith("echo")]
    assert left == []


def test_of_two_that_are_as_likely_the_one_that_costs_less_is_asked_first(small):
    talk = small(ALIKE).hear("done", "seven eight zero", "yes", "eight zero zero", "yes")
    suspected = talk.fact("suspected")
    assert [round(item["percent"]) for item in suspected["suspects"]] == [50, 50]
    assert suspected["asked_again"] == ["the other", "a costly one"]


FLOOR = {
    "rule_rear_left_mm": "the ruler at rear left",
    "rule_rear_right_mm": "the ruler at rear right",
    "rule_front_left_mm": "the ruler at front left",
    "rule_front_right_mm": "the ruler at front right",
    "rule_stand_mm": "the ruler at the stand spot",
}


@pytest.mark.parametrize("misread", FLOOR)
@pytest.mark.parametrize("value", ["530", "470", "510"])
def test_one_ruler_misread_is_named_among_the_five(bay, in_words, misread, value):
    """A plane of three unknowns and a survey through five points: two are left over to judge."""
    bay.spoil(**in_words({misread: value})).go_on_to("rule_stand_mm").answer_once()
    assert bay.said[0] == (
        f"The floor does not agree with its survey. Likely misread: {FLOOR[misread]}."
    )
    assert bay.step_id == misread
    fact = bay.fact("suspected")
    assert fact["asked_again"] == [FLOOR[misread]]
    assert fact["suspects"][0]["percent"] > 90
    assert fact["suspects"][0]["error"] == pytest.approx(int(value) - 500, abs=3)
    bay.spoil(**in_words({misread: "500"})).go_on_to("fuel")
    assert bay.state.results["floor_twist_mm"].value == 0


def test_a_floor_that_is_not_as_surveyed_stops_the_job_in_the_end(bay, in_words):
    bay.spoil(**in_words({"rule_rear_left_mm": "520", "rule_front_right_mm": "520"}))
    bay.go_on_to("rule_stand_mm").answer_once()
    while bay.state.mode is Mode.ASKING:
        bay.answer_once()
    assert bay.asked.startswith("The floor is not as surveyed.")
    asked = {name for fact in bay.every("suspected") for name in fact["asked_again"]}
    assert asked == set(FLOOR.values())


@pytest.mark.parametrize(
    ("misread", "value", "named"),
    [
        ("arm_left_mm", "850", "the left arm scale"),
        ("arm_right_mm", "850", "the right arm scale"),
        ("arm_left_mm", "785", "the left arm scale"),
    ],
)
def test_an_arm_scale_misread_moves_nothing(bay, in_words, misread, value, named):
    bay.spoil(**in_words({"arm_left_mm": "805", "arm_right_mm": "805"}))
    for side in ("left", "right"):
        for quarter in ("0", "90", "180", "270"):
            bay.spoil(**in_words({f"{side}_run_out_{quarter}_mm": "805"}))
    bay.spoil(**in_words({misread: value})).go_on_to("arm_right_mm").answer_once()
    assert bay.said[0].startswith(
        "The arm scales do not agree with the run-out. Likely misread: the "
    )
    assert named in bay.fact("suspected")["asked_again"]
    assert not bay.every("corrections")
    bay.spoil(**in_words({misread: "805"})).go_on_to("plate_distance_mm")
    assert bay.state.results["stand_offset_left_mm"].value == pytest.approx(0, abs=0.5)

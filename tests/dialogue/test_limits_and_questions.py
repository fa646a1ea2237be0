"""True readings and answers that stop the work: said why, asked again, and at last given up."""

from __future__ import annotations

from decimal import Decimal

import pytest

from companion.dialogue.state import Mode
from companion.errors import FileProblem
from companion.facts.message import Amount

BATTERY = """
- step: reading
  id: battery_volt
  title: Battery support
  ask: Battery support, volts.
  unit: volt
  number: {style: decimal, whole_digits: 2, decimals: 1}
  plausible: [9, 16]
  resolution: 0.1
  allowed: {low: 12.5, high: 14.5, otherwise: Set the support., at_most: 2}
"""
FAULTS = """
- step: question
  id: faults
  title: Fault codes
  ask: No faults, faults cleared, or faults remain?
  choices: [no_faults, faults_cleared, faults_remain]
  blocked_by: {faults_remain: Repair it first.}
"""
ROUTE = """
- {step: question, id: route, title: Toe given as, ask: "In degrees, or in millimetres?",
   choices: [degrees, millimetres]}
- {step: reading, id: toe_mm, title: Toe, ask: "Toe, millimetres.", unit: mm,
   when: {question: route, answered: millimetres},
   number: {style: whole, whole_digits: 1}, plausible: [0, 8], resolution: 1}
- {step: instruction, id: turn_it, say: "Set it to {toe_mm}.",
   when: {question: route, answered: millimetres}}
- {step: instruction, id: covers, say: Covers on.}
"""
VERDICT = """
- {step: reading, id: turns_of_it, title: Turns of the left screw, ask: "How many turns?",
   unit: turns, number: {style: quarters, whole_digits: 1, directions: [clockwise, anticlockwise]},
   plausible: [-5, 5], resolution: 0.25}
- {step: instruction, id: turn_it, say: "Left screw, {turns_of_it}."}
- step: question
  id: verdict
  title: Verdict
  ask: Within limits, or beyond limits?
  choices: [tool_inside, tool_outside]
  ends_as:
    tool_inside:
      result: tool_inside
      say: The scan tool says inside. I did not measure the aim myself, and the record says so.
  again:
    tool_outside: {say: Then the turns again., steps: [turns_of_it], at_most: 2, then_stop: Enough.}
"""


def test_a_reading_at_the_limit_is_allowed(small):
    talk = small(BATTERY).hear("one two point five", "yes")
    assert talk.state.readings["battery_volt"].amount == Amount(Decimal("12.5"), "volt")
    assert not talk.every("not_allowed")


SUPPORT = "Wanted: one two point five to one four point five. Set the support."


def test_a_reading_outside_its_limits_is_kept_in_the_record_and_asked_again(small):
    talk = small(BATTERY).hear("one two point four", "yes")
    assert talk.said == [f"One two point four volts. {SUPPORT}", "Battery support, volts."]
    assert talk.state.readings == {}
    assert talk.fact("accepted")["value"] == "12.4"
    assert talk.fact("not_allowed") == {
        "step_id": "battery_volt",
        "why": f"One two point four volts. {SUPPORT}",
    }
    talk.hear("one three point one", "yes")
    assert talk.fact("accepted")["take"] == 2
    assert str(talk.value("battery_volt")) == "13.1"


def test_after_at_most_so_many_the_work_stops_and_says_why(small):
    talk = small(BATTERY).hear(*["one two", "yes"] * 2)
    assert talk.state.mode is Mode.ASKING
    talk.hear("one two", "yes")
    assert talk.state.mode is Mode.STOPPED
    assert talk.asked.startswith(f"One two volts. {SUPPORT} Stopped.")
    assert talk.fact("stopped") == {"why": f"One two volts. {SUPPORT}"}
    talk.hear("carry on")
    assert talk.said == ["Carrying on. Battery support, volts."]
    # Somebody has looked into it: so many tries are given anew.
    talk.hear("one two", "yes")
    assert talk.state.mode is Mode.ASKING
    talk.hear("one three", "yes")
    assert talk.state.mode is Mode.ASKING


def test_a_checklist_that_is_sent_back_to_is_asked_item_by_item_again(small):
    items = "- {step: checklist, id: ready, items: [Doors shut., Boot empty.]}\n"
    again = "faults_remain: {say: Once more., steps: [ready], at_most: 2, then_stop: Enough.}"
    question = FAULTS.replace(
        "blocked_by: {faults_remain: Repair it first.}", f"again: {{{again}}}"
    )
    talk = small(items + question).hear("done", "done", "faults remain", "yes")
    assert talk.asked.startswith("Doors shut.")
    assert talk.hear("done").asked.startswith("Boot empty.")
    assert talk.hear("done").step_id == "faults"


def test_a_fault_that_remains_blocks_until_it_is_gone(small):
    talk = small(FAULTS)
    for _ in range(4):
        talk.hear("faults remain", "yes")
        assert talk.said == ["Repair it first. No faults, faults cleared, or faults remain?"]
        assert talk.state.answers == {}
    talk.hear("faults cleared", "yes")
    assert talk.state.answers == {"faults": "faults_cleared"}
    assert [b["choice"] for b in talk.every("answered")] == ["faults_remain"] * 4 + [
        "faults_cleared"
    ]


def test_steps_of_the_other_route_are_not_asked(small):
    assert small(ROUTE).hear("degrees", "yes").asked == "Covers on. Say done."
    talk = small(ROUTE).hear("in millimetres", "yes")
    assert talk.asked == "Toe, millimetres."
    assert talk.hear("three", "yes").asked == "Set it to three millimetres. Say done."


def test_taking_back_the_route_takes_back_what_was_read_on_it(small):
    talk = small(ROUTE).hear("millimetres", "yes", "three", "yes", "done", "go back")
    assert talk.asked == "If it is not done yet: Set it to three millimetres. Say done."
    talk.hear("go back", "go back")
    assert talk.step_id == "route"
    talk.hear("degrees", "yes")
    assert talk.asked == "Covers on. Say done."
    assert talk.state.readings == {}


def test_done_is_recorded_with_the_words_that_were_said(small):
    talk = small(ROUTE).hear("millimetres", "yes", "three", "yes", "done")
    assert talk.fact("done")["text"] == "Set it to three millimetres."


def test_two_things_said_together_are_one_done_and_each_is_in_the_record(bay):
    bay.go_on_to("secure_list")
    assert bay.asked == (
        "Brake on, wheels chocked. Clear everything shiny from the marked area. Say all done."
    )
    bay.hear("all done")
    assert [(b["step_id"], b["text"]) for b in bay.every("done")] == [
        ("brake", "Brake on, wheels chocked."),
        ("secure_list/1", "Clear everything shiny from the marked area."),
    ]
    bay.hear("go back")
    assert bay.asked == (
        "If it is not done yet: Clear everything shiny from the marked area. Say done."
    )


def test_two_items_of_a_checklist_are_one_done_and_each_is_in_the_record(bay):
    bay.go_on_to("clean_up_list")
    assert bay.asked == ("Screws locked. Covers to torque, as for the readings. Say all done.")
    bay.hear("all done")
    done = [b["step_id"] for b in bay.every("done")][-2:]
    assert done == ["clean_up_list/1", "clean_up_list/2"]
    bay.hear("go back")
    assert bay.asked.startswith("If it is not done yet: Covers to torque")


def test_what_calls_for_a_look_of_its_own_is_asked_for_alone(bay):
    bay.go_on_to("look_list")
    assert (
        bay.asked == "Sensor, bracket and emblem intact, nothing loose. If not, say stop. Say done."
    )
    bay.hear("done")
    assert bay.asked.startswith("Level the line laser.")
    assert "look_list/1" in bay.state.done


TWO = """\
- {step: instruction, id: one, say: Lower the left wheel., with_next: true}
- {step: instruction, id: two, say: Lift the right one.}
"""


def test_two_instructions_are_said_in_one_go_and_the_second_alone_where_the_first_is_done(small):
    talk = small(TWO)
    assert talk.asked == "Lower the left wheel. Lift the right one. Say all done."
    talk.hear("done")
    assert [b["step_id"] for b in talk.every("done")] == ["one", "two"]
    talk.hear("go back")
    assert talk.asked == "If it is not done yet: Lift the right one. Say done."
    talk.hear("go back")
    assert (
        talk.asked
        == "If it is not done yet: Lower the left wheel. Lift the right one. Say all done."
    )


def test_with_next_wants_something_to_answer_right_behind_it(small):
    decides = """- {step: decision, id: check, title: The gap is right, result: gap_mm,
   within: 300, rule: plain, again: {say: Again., steps: [gap_mm], at_most: 9, then_stop: Enough.}}
"""
    reads = """- {step: reading, id: gap_mm, title: The gap, ask: Gap., unit: mm,
   plausible: [100, 900], resolution: 1, number: {style: whole, whole_digits: 3}}
"""
    with pytest.raises(FileProblem, match="with_next"):
        small(reads + TWO.splitlines()[0] + "\n" + decides)


def test_the_tools_verdict_outside_goes_round_and_then_stops(small):
    talk = small(VERDICT)
    for _ in range(2):
        talk.hear("a half turn clockwise", "yes", "done", "beyond limits", "yes")
        assert talk.said == ["Then the turns again.", "How many turns?"]
        assert talk.state.answers == {}
        assert "turn_it" not in talk.state.done
    talk.hear("a half turn clockwise", "yes")
    assert talk.asked == "Left screw, a half turn clockwise. Say done."
    talk.hear("done", "beyond limits", "yes")
    assert talk.state.mode is Mode.STOPPED
    assert talk.asked.startswith("Enough. Stopped.")


def test_without_a_measured_aim_the_finish_says_whose_word_it_is(small):
    talk = small(VERDICT).hear("a half turn clockwise", "yes", "done", "within limits", "yes")
    assert "The scan tool says inside. I did not measure the aim myself" in talk.said[-2]
    talk.hear("done")
    assert talk.fact("finished") == {
        "result": "tool_inside",
        "yaw": None,
        "elevation": None,
        "misses_m": [],
    }
    assert talk.state.mode is Mode.CLOSED


def test_a_job_that_aims_nothing_claims_nothing(small):
    talk = small(FAULTS).hear("no faults", "yes")
    assert talk.said[-2] == "That is all. Nothing was aimed in this job, and the record says so."
    talk.hear("done")
    assert talk.fact("finished")["result"] == "not_aimed"
    assert talk.state.result == "not_aimed"


def test_a_screw_that_the_tool_leaves_alone_is_not_asked_for(bay):
    bay.spoil(aim_route="screw turns", tool_turns_left_screw="zero turns")
    bay.go_on_to("tool_verdict")
    assert [b["step_id"] for b in bay.every("done") if "turn_screw" in b["step_id"]] == [
        "turn_screw_upper_screw"
    ]
    assert not any("zero turns. Say done" in b["text"] for b in bay.every("said"))


BETWEEN = """
- {step: reading, id: gap_mm, title: The gap, ask: Gap., unit: mm, plausible: [0, 900],
   resolution: 1, doubt: 0.5, number: {style: whole, whole_digits: 3}}
- step: decision
  id: check
  title: The gap
  result: gap_mm
  low: 100
  high: 300
  rule: plain
  again: {say: Again., steps: [gap_mm], at_most: 9, then_stop: Enough.}
"""


@pytest.mark.parametrize(
    ("gap", "inside"),
    [
        ("two zero zero", True),
        ("one zero one", True),
        ("two nine nine", True),
        ("nine nine", False),
        ("three zero one", False),
    ],
)
def test_a_decision_between_a_low_and_a_high_goes_by_both(small, gap, inside):
    talk = small(BETWEEN).hear(gap, "yes")
    decided = talk.fact("decided")
    assert (decided["low"], decided["high"]) == (100, 300)
    assert (decided["answer"] == "inside") is inside
    assert talk.step_id == ("finish" if inside else "gap_mm")


@pytest.mark.parametrize(
    ("gap", "inside"),
    [
        ("two zero zero", True),
        # A doubt of 5 mm: nobody can say that 305 mm is more than 300, of 320 mm anybody.
        ("three zero five", True),
        ("nine five", True),
        ("three two zero", False),
        ("eight zero", False),
    ],
)
def test_a_check_refuses_only_what_its_own_doubt_leaves_no_room_for(small, gap, inside):
    check = BETWEEN.replace("doubt: 0.5", "doubt: 5").replace("rule: plain", "rule: consistent")
    talk = small(check).hear(gap, "yes")
    assert (talk.fact("decided")["answer"] == "inside") is inside
    assert talk.step_id == ("finish" if inside else "gap_mm")

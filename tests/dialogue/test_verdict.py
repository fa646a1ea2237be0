"""Several results inside together: by two sets that agree, and by none that was taken back."""

from __future__ import annotations

import pytest

from companion.dialogue.state import Mode
from companion.steps.verdict.state import looks_of

READING = """
- {{step: reading, id: {0}_mm, title: The {0}, ask: "{0}.", unit: mm, doubt: {1}, scatters: {1},
   resolution: 1, number: {{style: whole, whole_digits: 2}}, plausible: [0, 90]}}
"""
JUDGED = """
- step: verdict
  id: judged
  title: The bracket
  readings: [gap_mm, rest_mm]
  most_sets: 3
  once_more: Once more.
  then_stop: They do not settle.
  outside: {say: Off. Seat it anew., steps: [gap_mm, rest_mm], at_most: 1, then_stop: Still off.}
  ends_as: {result: bracket_inside, say: All of it is inside.}
  parts:
    - {id: gap_part, title: The gap, result: gap_mm, low: 10, high: 20}
    - {id: rest_part, title: The rest, result: rest_mm, within: 5}
"""
BRACKET = READING.format("gap", 0.4) + READING.format("rest", 0.4) + JUDGED
FIGURES = {0: "zero", 8: "eight", 9: "nine", 12: "one two", 15: "one five", 16: "one six"}
FIGURES |= {17: "one seven", 18: "one eight", 20: "two zero", 21: "two one", 30: "three zero"}


def read(talk, gap, rest=0):
    """One set, read and confirmed."""
    return talk.hear(FIGURES[gap], "yes", FIGURES[rest], "yes")


def answers(talk):
    return [body["answer"] for body in talk.every("verdict")]


def test_one_set_is_not_enough_and_two_that_agree_are(small):
    talk = read(small(BRACKET), 15)
    assert talk.said == ["Once more.", "gap."]
    assert (talk.fact("verdict")["answer"], talk.fact("verdict")["sets"]) == ("inside", 1)
    assert talk.state.readings == {}
    read(talk, 16)
    assert talk.step_id == "finish"
    assert "All of it is inside." in talk.said
    talk.hear("done")
    assert talk.fact("finished")["result"] == "bracket_inside"


def test_each_part_is_kept_with_its_own_limits_and_the_mean_of_the_sets(small):
    talk = read(read(small(BRACKET), 15), 16)
    gap, rest = talk.now("decided")
    assert (gap["step_id"], gap["low"], gap["high"], gap["value"]) == ("gap_part", 10, 20, 15.5)
    assert (rest["step_id"], rest["low"], rest["high"], rest["value"]) == ("rest_part", -5, 5, 0)
    assert [gap["answer"], rest["answer"], gap["times"]] == ["inside", "inside", 2]


def test_sets_that_disagree_are_named_and_the_newest_alone_counts_on(small):
    talk = read(read(small(BRACKET), 12), 18)
    assert talk.fact("verdict")["answer"] == "refused"
    assert "gap" in talk.said[0].lower()
    assert talk.step_id == "gap_mm"
    read(talk, 18)
    assert talk.step_id == "finish"
    assert talk.now("decided")[0]["value"] == 18


def test_where_the_last_look_still_disagrees_the_work_stops(small):
    talk = read(read(small(BRACKET), 12), 18)
    read(talk, 12)
    assert answers(talk) == ["inside", "refused", "refused"]
    assert talk.state.mode is Mode.STOPPED
    assert talk.asked.startswith("They do not settle.")
    assert "judged" not in talk.state.done


def test_past_the_last_look_nothing_is_called_inside(small):
    """The risk of this place is spent: who carries on has to move it, not to read it again."""
    talk = read(read(read(small(BRACKET), 12), 18), 12)
    read(talk.hear("carry on"), 12)
    assert "judged" not in talk.state.done
    assert talk.state.mode is Mode.STOPPED


@pytest.mark.parametrize(("gap", "rest"), [(30, 0), (0, 0), (15, 12)])
def test_outside_is_put_right_and_no_earlier_set_counts(small, gap, rest):
    talk = read(read(small(BRACKET), gap, rest), 15)
    assert answers(talk) == ["outside", "inside"]
    outside = [b["step_id"] for b in talk.every("decided")[:2] if b["answer"] == "outside"]
    assert outside == (["rest_part"] if rest else ["gap_part"])
    assert talk.step_id == "gap_mm"
    assert (talk.fact("verdict")["sets"], talk.fact("verdict")["look"]) == (1, 1)
    read(talk, 15)
    assert talk.step_id == "finish"


def test_outside_again_and_again_stops_and_says_so(small):
    talk = read(read(small(BRACKET), 30), 30)
    assert talk.state.mode is Mode.STOPPED
    assert talk.asked.startswith("Still off.")


def test_too_close_where_more_sets_would_settle_nothing_counts_as_outside(small):
    talk = read(small(BRACKET), 20)
    assert talk.fact("verdict")["answer"] == "too_close"
    assert talk.said[0] == "Off. Seat it anew."
    assert looks_of(talk.state, "judged") is None


def test_too_close_where_more_sets_may_settle_it_is_read_once_more(small):
    scattering = READING.format("gap", 1.5) + READING.format("rest", 0.4) + JUDGED
    talk = read(small(scattering), 17)
    assert talk.fact("verdict")["answer"] == "too_close"
    assert talk.said[0].endswith("Once more.")
    read(talk, 16)
    assert talk.fact("verdict")["answer"] == "inside"


FIGURE = """
- step: computation
  id: from_file
  formula: plate_height
  inputs: {plate_height_mm: gap_mm, wanted_mm: 15}
  input_doubts: {wanted_mm: %s}
  outputs: {height_error_mm: gap_error_mm}
"""


def of_a_figure(doubt):
    """The gap against a figure of a file with so much doubt, which no reading checks."""
    judged = JUDGED.replace("result: gap_mm, low: 10, high: 20", "result: gap_error_mm, within: 5")
    return READING.format("gap", 0.4) + READING.format("rest", 0.4) + FIGURE % doubt + judged


def test_inside_has_to_bear_a_figure_that_nothing_checks_three_times_as_uncertain(small):
    """3 from the middle leaves 2: much for a doubt of 0.7, not enough for one of 1.9."""
    talk = read(small(of_a_figure(0.6)), 12)
    told = talk.fact("verdict")
    assert told["probability"] > told["level"]
    assert (told["answer"], told["wrong"]) == ("too_close", "0.6")
    assert told["probability_if_wrong"] < told["level_if_wrong"]
    assert talk.said[0] == "Off. Seat it anew."


def test_a_figure_that_may_be_so_wrong_keeps_nothing_back_in_the_middle(small):
    talk = read(read(small(of_a_figure(0.6)), 15), 15)
    assert talk.step_id == "finish"


def test_a_reading_taken_back_takes_its_set_out_and_the_look_stays_counted(small):
    talk = read(small(BRACKET), 15).hear("one five", "yes", "go back", "go back")
    assert talk.step_id == "gap_mm"
    read(talk, 15)
    assert (talk.fact("verdict")["sets"], talk.fact("verdict")["look"]) == (2, 2)
    talk = read(read(small(BRACKET), 15), 15)
    assert talk.step_id == "finish"
    talk.hear("go back")
    assert talk.step_id == "rest_mm"
    assert "judged" not in talk.state.done
    talk.hear("one two", "yes")
    assert talk.fact("verdict")["look"] == 3
    assert talk.fact("verdict")["answer"] == "refused"
    assert talk.state.mode is Mode.STOPPED


def test_what_no_reading_could_pass_is_said_before_the_work_and_after_it(small):
    talk = small(READING.format("gap", 9) + READING.format("rest", 0.4) + JUDGED)
    assert talk.state.mode is Mode.STOPPED
    assert talk.fact("cannot_pass")["before_the_work"] is True
    read(talk.hear("carry on"), 15)
    assert "nothing could pass" in talk.asked
    assert (talk.fact("cannot_pass")["half_width"], talk.every("verdict")) == (5, [])
    assert talk.fact("cannot_pass")["title"] == "The gap"


def test_a_set_all_of_whose_readings_are_taken_back_counts_no_more(small):
    talk = read(read(small(BRACKET), 15), 15)
    assert talk.step_id == "finish"
    talk.hear("go back", "go back")
    assert talk.step_id == "gap_mm"
    read(talk, 16)
    # The first set and the new one; the one taken back stays counted as a look alone.
    assert (talk.fact("verdict")["sets"], talk.fact("verdict")["look"]) == (2, 3)
    assert talk.fact("decided")["value"] == pytest.approx(0.0)
    gap = next(body for body in talk.now("decided") if body["step_id"] == "gap_part")
    assert gap["value"] == pytest.approx(15.5)

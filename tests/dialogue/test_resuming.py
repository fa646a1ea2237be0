"""After a break: where it was, whether anything was touched, and what is measured again."""

from __future__ import annotations

import pytest

from companion.dialogue.machine import replay
from companion.dialogue.state import Mode

TOUCHED = "Was the stand or the car touched? Say not touched, or was moved."


def _in_the_middle(bay):
    return bay.go_on_to("plate_height_mm")


@pytest.mark.parametrize(
    "before",
    [
        [],
        ["five two zero"],
        ["wait"],
        ["stop"],
        ["stop", "end the job"],
        ["make a note"],
    ],
    ids=["asking", "confirming", "paused", "stopped", "ending", "taking_note"],
)
def test_in_every_mode_it_asks_whether_anything_was_touched(bay, before):
    bay.spoil(consent="keep the sound")
    _in_the_middle(bay).hear(*before)
    bay.resume()
    assert bay.said == [f"I am back. We were at height of the plate's centre. {TOUCHED}"]
    assert bay.state.mode is Mode.RESUMING
    assert "plate_height_mm" not in bay.state.readings
    bay.hear("not touched")
    assert bay.said == ["Not touched. Yes or no?"]
    bay.hear("yes")
    assert bay.said == ["Carrying on. Plate centre, height."]
    assert bay.fact("answered")["step_id"] == "resumed"
    assert bay.fact("answered")["asked"] == "break"
    assert bay.fact("answered")["title"] == ""


def test_a_break_in_the_middle_of_the_question_asks_it_anew(bay):
    _in_the_middle(bay).resume().hear("was moved").resume()
    assert bay.asked.endswith(TOUCHED)
    assert bay.state.pending is None
    assert not bay.can_hear("yes")


def test_before_the_first_reading_there_is_nothing_to_ask_about(bay):
    bay.hear("words only", "yes").resume()
    assert bay.said[0].startswith("I am back. We were at reason for the aim. Why aim it?")
    assert bay.step_id == "reason"


def test_untouched_keeps_every_reading(bay):
    _in_the_middle(bay)
    readings = dict(bay.state.readings)
    bay.resume().hear("left alone", "yes")
    assert bay.state.readings == readings


def test_moved_makes_all_that_could_have_moved_stale(bay):
    _in_the_middle(bay)
    could_move = set(bay.state.plan.files.job.if_touched)
    kept = set(bay.state.readings) - could_move
    bay.resume().hear("was moved", "yes")
    assert set(bay.state.readings) == kept
    assert "left_run_out_0_mm" in kept
    assert bay.asked.startswith("Carrying on. Level, left end")
    taken = bay.fact("taken_back")
    assert taken["why"] == "touched while the companion was off"
    assert {"spot_left_mm", "arm_left_mm", "plate_distance_mm", "stand_turn"} <= set(
        taken["step_ids"]
    )
    bay.go_on_to("plate_height_mm")
    assert bay.state.takes["arm_left_mm"] == 2


def test_moved_after_the_aim_was_found_measures_it_again(bay):
    bay.go_on_to("faults_after").resume().hear("was moved", "yes")
    assert "aim_decision" not in bay.state.done
    assert bay.step_id == "level_mm_per_m"
    bay.go_on_to("faults_after")
    assert "aim_decision" in bay.state.done


def test_no_to_the_said_back_answer_asks_the_question_again(bay):
    _in_the_middle(bay).resume().hear("not touched", "no")
    assert bay.asked.endswith(TOUCHED)
    assert bay.hear("was moved", "yes").step_id == "level_mm_per_m"


def test_another_answer_replaces_the_one_said_back(bay):
    _in_the_middle(bay).resume().hear("not touched", "was moved")
    assert bay.said == ["Was moved. Yes or no?"]
    assert bay.hear("yes").step_id == "level_mm_per_m"


def test_silence_and_noise_never_answer_whether_it_was_touched(bay):
    _in_the_middle(bay).resume().hear("not touched")
    for _ in range(5):
        bay.silence().mishear()
        assert bay.state.mode is Mode.RESUMING
    assert not [b for b in bay.every("answered") if b["step_id"] == "resumed"]


def test_stop_does_not_get_round_the_question(bay):
    """Stopped while asked whether the stand was touched, carrying on asks it again."""
    _in_the_middle(bay).resume().hear("stop", "carry on")
    assert bay.state.mode is Mode.RESUMING
    assert bay.asked.endswith(TOUCHED)
    bay.hear("stop", "end the job", "no", "carry on", "was moved", "yes")
    assert bay.step_id == "level_mm_per_m"
    bay.hear("stop", "carry on")
    assert bay.state.mode is Mode.ASKING


def test_a_break_in_the_middle_of_a_correction_comes_back_to_it(bay, in_words):
    bay.spoil(**in_words({"plumb_mm_per_m": "1.8"})).go_on_to("plumb_decision", doing=True)
    before = bay.asked
    bay.resume()
    assert bay.asked.startswith("I am back. We were at a correction.")
    bay.hear("not touched", "yes")
    assert bay.asked == f"If it is not done yet: {before}"


def test_moved_in_the_middle_of_a_correction_its_readings_come_first(bay, in_words):
    bay.spoil(**in_words({"plumb_mm_per_m": "1.8"})).go_on_to("plumb_decision", doing=True)
    bay.resume().hear("was moved", "yes")
    assert not bay.state.tasks
    assert bay.asked.startswith("Carrying on. Level, left end")


def test_replaying_the_events_brings_the_same_moment_back(bay):
    start = type(bay.state)(plan=bay.state.plan, lexicon=bay.state.lexicon)
    bay.go_on_to("aim_route").hear("stop", "carry on").resume().hear("was moved", "yes")
    assert replay(start, bay.events) == bay.state

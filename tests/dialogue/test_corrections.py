"""A stand out of place: put right in words that say how far and which way, then measured again."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from companion.dialogue.kind import kind_of
from companion.dialogue.machine import begin
from companion.dialogue.state import Mode
from companion.facts.opening import Opened
from companion.job.plan import make_plan

# Step that is off, the decision on it, the reading that brings it about, and the correction.
# The stand turned by 0.30 degrees sends the spot back by 4700 tan(0.60 degrees) = 49 mm.
OFF = [
    (
        "level_decision",
        {"level_mm_per_m": "3.4"},
        "Bring the left end down, until the level reads zero. Say done.",
    ),
    (
        "level_decision",
        {"level_mm_per_m": "-2.6"},
        "Bring the left end up, until the level reads zero. Say done.",
    ),
    (
        "turn_decision",
        {"spot_left_mm": "-49", "spot_right_mm": "-49"},
        "Turn the stand right, until the left beam is at zero. Say done.",
    ),
    (
        "turn_decision",
        {"spot_left_mm": "49", "spot_right_mm": "49"},
        "Turn the stand left, until the left beam is at zero. Say done.",
    ),
    (
        "sideways_decision",
        {"arm_left_mm": "765", "arm_right_mm": "785"},
        "Move the stand right, until the left scale reads seven seven five. Say done.",
    ),
    (
        "sideways_decision",
        {"arm_left_mm": "785", "arm_right_mm": "765"},
        "Move the stand left, until the left scale reads seven seven five. Say done.",
    ),
    (
        "distance_decision",
        {"plate_distance_mm": "1224"},
        "Stand towards the car, until the tape reads one two zero zero. Say done.",
    ),
    (
        "distance_decision",
        {"plate_distance_mm": "1176"},
        "Stand away from the car, until the tape reads one two zero zero. Say done.",
    ),
    (
        "height_decision",
        {"plate_height_mm": "535"},
        "Bring the plate down, until its centre is at five two zero. Say done.",
    ),
    (
        "height_decision",
        {"plate_height_mm": "505"},
        "Bring the plate up, until its centre is at five two zero. Say done.",
    ),
    (
        "plumb_decision",
        {"plumb_mm_per_m": "1.8"},
        "Plate top towards the car, until the plumb reads zero. Say done.",
    ),
    (
        "plumb_decision",
        {"plumb_mm_per_m": "-1.8"},
        "Plate top away from the car, until the plumb reads zero. Say done.",
    ),
]


# These are put right together, so that one step asks for their moves.
TOGETHER = ("turn_decision", "sideways_decision", "distance_decision", "height_decision")


AMOUNTS = {
    "turn_decision": "0.30",
    "sideways_decision": "10",
    "distance_decision": "24",
    "height_decision": "15",
}


def asks(decision: str) -> str:
    return "stand_place" if decision in TOGETHER else decision


@pytest.mark.parametrize(("decision", "readings", "correction"), OFF)
def test_the_correction_says_how_far_and_which_way(bay, in_words, decision, readings, correction):
    bay.spoil(**in_words(readings)).go_on_to(asks(decision), doing=True)
    assert bay.asked == correction
    assert f"{bay.fact('corrected')['text']} Say done." == correction
    told = bay.fact("corrected")["instruction"]
    # Level and plumb are themselves what is to be taken away.
    assert told["amount"] == AMOUNTS.get(decision, next(iter(readings.values())).lstrip("-"))
    assert told["direction"] in re.findall(r"[a-z]+", correction.lower())
    assert told["quantity"] == decision.removesuffix("_decision")
    assert bay.fact("said")["prompt"]["instruction"] == told
    decided = [body for body in bay.every("decided") if body["step_id"] == decision][-1]
    assert decided["answer"] in ("outside", "too_close")
    assert not decided["low"] <= decided["value"] <= decided["high"]


@pytest.mark.parametrize(("decision", "readings", "correction"), OFF)
def test_put_right_the_job_goes_on(bay, in_words, decision, readings, correction):
    perfect = {name: bay.answers[name] for name in readings}
    bay.spoil(**in_words(readings)).go_on_to(asks(decision), doing=True)
    bay.spoil(**perfect).hear("done")
    step = bay.state.plan.step(asks(decision))
    assert bay.step_id in kind_of(bay.state.plan, step).goes_back_to(step)
    bay.go_on_to("aim_route")
    assert asks(decision) in bay.state.done
    assert not bay.every("move_judged")


def test_the_work_does_not_go_on_before_the_correction_is_done(bay, in_words):
    bay.spoil(**in_words({"plumb_mm_per_m": "1.8"})).go_on_to("plumb_decision", doing=True)
    before = bay.asked
    assert bay.silence().asked == f"I am waiting. {before}"
    assert bay.mishear().asked == f"Sorry? {before}"
    assert bay.hear("repeat").asked == before
    once_more = f"If it is not done yet: {before}"
    assert bay.hear("wait", "carry on").asked == f"Carrying on. {once_more}"
    assert bay.hear("repeat").asked == once_more
    assert "plumb_mm_per_m" not in bay.state.readings


def _read(bay, count):
    asked = []
    for _ in range(count):
        asked.append(bay.step_id)
        bay.answer_once()
    return asked


def test_turning_the_stand_makes_arms_and_distance_stale(bay, in_words):
    """Off at the plate: the stand is moved, which turns it a little, and so on round again."""
    bay.spoil(**in_words({"plate_distance_mm": "1224"})).go_on_to("stand_place", doing=True)
    assert bay.fact("stand_moves")["stale"] == ["turn", "sideways", "distance"]
    bay.spoil(**in_words({"plate_distance_mm": "1200", "spot_left_mm": "-49"}))
    bay.spoil(**in_words({"spot_right_mm": "-49"})).hear("done")
    stand = ["spot_left_mm", "spot_right_mm", "arm_left_mm", "arm_right_mm", "plate_distance_mm"]
    assert not set(stand) & set(bay.state.readings)
    assert "plate_height_mm" in bay.state.readings
    assert _read(bay, 5) == stand
    assert bay.fact("stand_moves")["stale"] == ["turn", "sideways", "distance"]
    assert bay.asked.startswith("Turn the stand")
    bay.spoil(**in_words({"spot_left_mm": "0", "spot_right_mm": "0"})).hear("done")
    assert _read(bay, 5) == stand
    assert bay.step_id == "plumb_mm_per_m"
    assert [bay.state.takes[name] for name in stand] == [3] * 5
    results = bay.state.results
    assert results["distance_error_mm"].value == 0
    assert results["stand_turn_deg"].value == pytest.approx(0)


def test_all_that_is_off_is_moved_in_one_go_the_turn_first(bay, in_words):
    """The move sideways reckons with where turning about a foot leaves the centre."""
    off = {"spot_left_mm": "-49", "spot_right_mm": "-49", "plate_distance_mm": "1224"}
    off |= {"arm_left_mm": "765", "arm_right_mm": "785", "plate_height_mm": "505"}
    bay.spoil(**in_words(off)).go_on_to("stand_place", doing=True)
    assert bay.asked == "Turn the stand right, until the left beam is at zero. Say done."
    asked = [bay.asked]
    for _ in range(3):
        asked.append(bay.hear("done").asked)
    # A foot a hundred millimetres ahead of the centre: turned right by 0.3 degrees about it, the
    # centre goes half a millimetre to the left.
    assert asked[1:] == [
        "Move the stand right, until the left scale reads seven seven five. Say done.",
        "Stand towards the car, until the tape reads one two zero zero. Say done.",
        "Bring the plate up, until its centre is at five two zero. Say done.",
    ]
    fact = bay.fact("stand_moves")
    assert [move["quantity"] for move in fact["moves"]] == [
        "turn", "sideways", "distance", "height",
    ]  # fmt: skip
    assert fact["moves"][0]["stale"] == ["turn", "sideways", "distance"]
    perfect = {"spot_left_mm": "0", "spot_right_mm": "0", "plate_distance_mm": "1200"}
    perfect |= {"arm_left_mm": "775", "arm_right_mm": "775", "plate_height_mm": "520"}
    bay.spoil(**in_words(perfect)).hear("done")
    assert len(_read(bay, 6)) == 6
    assert bay.step_id == "plumb_mm_per_m"


def test_of_several_moves_the_one_that_went_the_wrong_way_is_named(bay, in_words):
    off = {"plate_distance_mm": "1224", "plate_height_mm": "505"}
    bay.spoil(**in_words(off)).go_on_to("stand_place", doing=True)
    bay.hear("done", "done")
    bay.spoil(**in_words({"plate_distance_mm": "1200", "plate_height_mm": "490"}))
    bay.go_on_to("plate_height_mm").answer_once()
    assert bay.said[0] == "Plate height: that went the wrong way."
    assert bay.fact("move_judged")["step_id"] == "height_decision"


def test_readings_taken_before_the_stand_turned_are_taken_back_in_the_record(bay, in_words):
    bay.spoil(**in_words({"arm_left_mm": "765", "arm_right_mm": "785"}))
    bay.go_on_to("stand_place", doing=True)
    stale = bay.fact("taken_back")["step_ids"]
    assert {"arm_left_mm", "arm_right_mm", "spot_left_mm", "spot_right_mm"} <= set(stale)
    assert {"stand_turn", "stand_sideways"} <= set(stale)
    assert "plate_distance_mm" not in stale
    assert "level_mm_per_m" not in stale


@pytest.mark.parametrize("way", [1, -1])
def test_a_move_the_wrong_way_is_said(bay, in_words, way):
    bay.spoil(**in_words({"plate_distance_mm": str(1200 + 20 * way)}))
    bay.go_on_to("stand_place", doing=True)
    bay.spoil(**in_words({"plate_distance_mm": str(1200 + 40 * way)})).hear("done")
    bay.go_on_to("plate_distance_mm").answer_once()
    assert "Plate distance: that went the wrong way." in bay.said
    assert bay.fact("move_judged")["kind"] == "wrong_way"
    assert bay.now("said")[-1]["prompt"]["instruction"]["amount"] == "40"


def test_a_move_too_far_is_not_called_the_wrong_way(bay, in_words):
    bay.spoil(**in_words({"plate_distance_mm": "1220"})).go_on_to("stand_place", doing=True)
    bay.spoil(**in_words({"plate_distance_mm": "1160"})).hear("done")
    bay.go_on_to("plate_distance_mm").answer_once()
    assert not bay.every("move_judged")
    assert bay.asked == "Stand away from the car, until the tape reads one two zero zero. Say done."


def test_what_does_not_come_right_stops_and_says_why(bay, in_words):
    bay.spoil(**in_words({"plumb_mm_per_m": "1.8"}))
    for _ in range(5):
        bay.go_on_to("plumb_decision", doing=True).hear("done")
    bay.go_on_to("plumb_mm_per_m").answer_once()
    assert bay.state.mode is Mode.STOPPED
    assert bay.asked.startswith("The plate cannot be made plumb. Check the stand. Stopped.")
    assert bay.fact("stopped")["why"] == "The plate cannot be made plumb. Check the stand."
    assert bay.state.tasks == ()
    assert [b["times"] for b in bay.every("decided") if b["step_id"] == "plumb_decision"] == [
        *range(1, 7)
    ]
    bay.hear("carry on")
    assert bay.step_id == "plumb_mm_per_m"


def test_a_doubt_too_large_for_the_tolerance_is_said_and_not_measured_away(small):
    talk = small(
        """
        - {step: reading, id: gap_mm, title: The gap, ask: The gap., unit: mm, resolution: 1,
           doubt: 5, number: {style: whole, whole_digits: 2}, plausible: [0, 50]}
        - {step: decision, id: gap_check, title: The gap is right, result: gap_mm, centre: 20,
           within: 3, rule: probability,
           again: {say: Again., steps: [gap_mm], at_most: 3, then_stop: Enough.}}
        """
    )
    assert talk.state.mode is Mode.STOPPED
    assert talk.asked.startswith(
        "These files cannot give a result at the gap is right. Tell your supervisor. Stopped."
    )
    warned = talk.fact("cannot_pass")
    assert warned["before_the_work"] is True
    assert (warned["result"], warned["half_width"]) == ("gap_mm", 3)
    # Nobody has said how much of it scatters, so no mean would lose it.
    assert warned["budget"] == [["gap_mm doubt", 99.668], ["gap_mm digits 25", 0.332]]
    assert talk.hear("carry on").step_id == "gap_mm"
    talk.hear("two zero", "yes")
    assert talk.asked.startswith(
        "The gap is right: nothing could pass. The uncertainty is one zero millimetres, "
        "and three millimetres is allowed. Tell your supervisor."
    )
    assert not talk.every("decided")
    assert talk.hear("carry on").state.mode is Mode.STOPPED
    assert talk.hear("end the job", "yes").fact("finished")["result"] == "stopped"


def test_too_close_to_the_limit_is_not_inside(bay, in_words):
    """Nine and a half of ten millimetres allowed: the doubt of the reading does not bear it."""
    bay.spoil(**in_words({"plate_distance_mm": "1209"})).go_on_to("stand_place", doing=True)
    (decided,) = [b for b in bay.every("decided") if b["step_id"] == "distance_decision"]
    assert decided["answer"] == "too_close"
    assert 0.05 < decided["probability_inside"] < 0.95
    assert decided["readings_to_settle"] is None
    assert bay.asked == "Stand towards the car, until the tape reads one two zero zero. Say done."


def test_a_floor_unlike_its_survey_is_read_again_and_then_refused(bay, in_words):
    bay.spoil(**in_words({"rule_front_left_mm": "530"}))
    bay.go_on_to("rule_stand_mm").answer_once()
    assert bay.said[0] == (
        "The floor does not agree with its survey. Likely misread: the ruler at front left."
    )
    assert bay.step_id == "rule_front_left_mm"
    while bay.state.mode is Mode.ASKING:
        bay.answer_once()
    assert bay.state.mode is Mode.STOPPED
    assert bay.asked.startswith("The floor is not as surveyed.")


def test_a_clamp_that_runs_out_too_far_is_seated_again_before_it_is_read(bay, in_words):
    wobbly = {"left_run_out_0_mm": "825", "left_run_out_180_mm": "725"}
    bay.spoil(**in_words(wobbly)).go_on_to("left_run_out_check", doing=True)
    assert bay.asked == (
        "Zero point six one degrees. "
        "The left clamp's run-out is too large. Seat the clamp again. Say done."
    )
    bay.hear("done")
    assert bay.asked == "Left arm scale, start mark and a quarter forwards."


def test_beams_that_do_not_fit_the_toe_send_back_to_toe_and_spots(bay, in_words):
    bay.spoil(**in_words({"toe_left_deg": "0.40"})).go_on_to("spot_right_mm").answer_once()
    assert bay.said[0].startswith("The two beams do not agree with the toe.")
    assert bay.step_id == "toe_left_deg"
    assert "toe_route" in bay.state.answers
    assert "level_mm_per_m" in bay.state.readings
    bay.spoil(**in_words({"toe_left_deg": "0.00"})).go_on_to("arm_left_mm")


def test_readings_that_bear_no_result_are_said_to_misfit_and_read_again(bay, in_words):
    """Echo levels that dip in the middle cannot come from one beam."""
    dip = {"echo_lean_towards_db": "60", "echo_lean_upright_db": "50", "echo_lean_away_db": "60"}
    bay.spoil(**in_words({name: f"{value}.0" for name, value in dip.items()}))
    bay.go_on_to("echo_lean_away_near_db").answer_once()
    assert bay.said[0] == "Those readings do not fit together. Likely misread: upright."
    assert bay.hear("done").step_id == "echo_lean_upright_db"
    assert "echo_lean_towards_db" in bay.state.readings
    assert bay.fact("misfit")["step_id"] == "lean_vertex"


def test_go_back_at_a_correction_drops_it_and_asks_its_readings_again(bay, in_words):
    bay.spoil(**in_words({"arm_left_mm": "765", "arm_right_mm": "785"})).go_on_to(
        "stand_place", doing=True
    )
    assert (
        bay.asked == "Move the stand right, until the left scale reads seven seven five. Say done."
    )
    bay.hear("go back")
    assert bay.said[0] == "Correction taken back. Left and right beam. How far, which side?"
    assert bay.every("taken_back")[-1]["step_ids"] == ["stand_place"]
    assert not bay.state.tasks
    assert "sideways_decision" not in bay.state.last_moves


GAP = """
- {step: reading, id: gap_mm, title: The gap, ask: The gap., unit: mm, resolution: 1,
   doubt: 1, scatters: 1, number: {style: whole, whole_digits: 2}, plausible: [0, 50]}
- {step: decision, id: gap_check, title: The gap is right, result: gap_mm, centre: 20,
   within: 4, rule: probability,
   again: {say: Off. Again., steps: [gap_mm], at_most: 3, then_stop: Enough.}}
"""


@pytest.mark.parametrize(
    ("gap", "said"),
    [
        ("two three", "Too close to call. Read it four times more. Off. Again."),
        ("two four", "Too close to call, and reading more would not settle it. Off. Again."),
        ("three zero", "Off. Again."),
    ],
)
def test_too_close_to_call_says_how_many_readings_would_settle_it(small, gap, said):
    talk = small(GAP).hear(gap, "yes")
    assert talk.said[0] == said
    assert talk.step_id == "gap_mm"


def test_a_doubt_that_no_place_of_the_stand_could_pass_stops_before_it_is_moved(bay):
    files = bay.state.plan.files
    stand = files.bay.stand.model_copy(update={"height_tolerance_mm": 0.5})
    changed = replace(files, bay=files.bay.model_copy(update={"stand": stand}))
    talk = type(bay)(bay.grammar, begin(make_plan(changed), bay.grammar), bay.answers)
    assert "plate height" in talk.do(Opened()).asked.lower()
    talk.hear("carry on").go_on_to("plate_height_mm").answer_once()
    assert talk.state.mode is Mode.STOPPED
    assert talk.asked.startswith("Plate height: nothing could pass.")
    assert talk.fact("cannot_pass")["half_width"] == 0.5
    assert "stand_place" not in talk.state.done


@pytest.mark.parametrize(
    ("read", "again", "value"),
    [
        pytest.param(
            "one two six four", "one two six three", "1263", id="something else was moved"
        ),
        pytest.param("one three two eight", "one three two seven", "1327", id="the wrong way"),
        pytest.param("one one three six", "one one three eight", "1138", id="twice as far"),
    ],
)
def test_after_a_move_its_instrument_is_expected_there_and_else_doubted_first(
    bay, in_words, read, again, value
):
    bay.spoil(**in_words({"plate_distance_mm": "1264"})).go_on_to("stand_place", doing=True)
    assert bay.fact("corrected")["target"] == {"reading_id": "plate_distance_mm", "value": 1200.0}
    bay.hear("done").go_on_to("plate_distance_mm")
    bay.hear(read)
    assert bay.asked == (
        f"I heard {read}. After the move I expected one two zero zero millimetres. "
        "What happened? Look, and read it again. Tape, plate to sensor."
    )
    assert "plate_distance_mm" not in bay.state.readings
    # Read once more it is what is read, to a step of the scale: nobody is kept from telling it.
    bay.hear(again, "yes")
    assert bay.fact("accepted")["value"] == value
    assert bay.fact("doubted")["step_id"] == "plate_distance_mm"


@pytest.mark.parametrize("beam", ["three seven left", "seven four left", "three seven right"])
def test_a_beam_that_is_not_where_the_turn_should_have_brought_it_is_doubted(bay, in_words, beam):
    """The stand was pushed in place of being turned, turned the wrong way, or twice as far."""
    spots = {"spot_left_mm": "37", "spot_right_mm": "37"}
    bay.spoil(**in_words(spots)).go_on_to("stand_place", doing=True)
    target = bay.fact("corrected")["target"]
    assert target["reading_id"] == "spot_left_mm"
    bay.hear("done").go_on_to("spot_left_mm").hear(beam)
    assert "After the move I expected" in bay.asked
    assert "spot_left_mm" not in bay.state.readings


def test_what_was_moved_in_a_break_is_not_held_against_the_move_before_it(bay, in_words):
    bay.spoil(**in_words({"plate_distance_mm": "1264"})).go_on_to("stand_place", doing=True)
    bay.hear("done").resume().hear("was moved", "yes").go_on_to("plate_distance_mm")
    bay.hear("one two six four")
    assert bay.every("doubted") == []
    bay.hear("yes")
    assert bay.fact("accepted")["value"] == "1264"


def test_what_was_read_after_a_move_is_held_against_it_once(bay, in_words):
    bay.spoil(**in_words({"plate_distance_mm": "1264"})).go_on_to("stand_place", doing=True)
    bay.hear("done").go_on_to("plate_distance_mm")
    assert bay.state.targets == {"plate_distance_mm": 1200.0}
    bay.hear("one two zero three", "yes")
    assert bay.state.targets == {}


def test_what_hands_do_beside_it_is_not_doubted(bay, in_words):
    bay.spoil(**in_words({"plate_distance_mm": "1264"})).go_on_to("stand_place", doing=True)
    bay.hear("done").go_on_to("plate_distance_mm").hear("one two one two", "yes")
    assert bay.fact("accepted")["value"] == "1212"
    assert bay.every("doubted") == []


TENTHS = """
- {step: reading, id: gap_mm, title: The gap, ask: Gap., unit: mm, plausible: [-9, 9],
   resolution: 0.1, doubt: 0.05,
   number: {style: decimal, whole_digits: 1, decimals: 1, directions: [left, right]}}
- step: decision
  id: check
  title: The gap
  result: gap_mm
  within: 0.1
  rule: plain
  move: {say: "Move it {amount} {direction}.", amount: mm, resolution: 0.1,
    direction_when_positive: right, direction_when_negative: left}
  again: {say: Again., steps: [gap_mm], at_most: 9, then_stop: Enough.}
"""


@pytest.mark.parametrize(
    ("then", "judged"),
    [("zero point six right", []), ("zero point six left", ["wrong_way"]), ("zero", [])],
)
def test_what_is_less_than_one_unit_off_is_judged_alike(small, then, judged):
    talk = small(TENTHS).hear("zero point three left", "yes")
    assert talk.fact("decided")["answer"] != "inside"
    talk.hear("done", then, "yes")
    assert [body["kind"] for body in talk.every("move_judged")] == judged


@pytest.mark.parametrize(
    ("centre", "read", "told"),
    [
        (0.5, "zero point nine left", "Move it right, until it reads zero point five left."),
        (-0.5, "zero point nine right", "Move it left, until it reads zero point five right."),
        (0.0, "zero point four left", "Move it right, until it reads zero."),
    ],
)
def test_what_is_read_when_a_move_is_made_is_said_with_its_way(small, centre, read, told):
    until = 'until: {say: "Move it {direction}, until it reads {reads}.", reading: gap_mm},'
    steps = TENTHS.replace("within: 0.1", f"within: 0.1\n  centre: {centre}")
    talk = small(
        steps.replace("resolution: 0.1,\n    direction", f"resolution: 0.1, {until}\n    direction")
    )
    talk.hear(read, "yes")
    assert talk.asked == f"{told} Say done."


LIFTED = "- {step: instruction, id: lift, say: Lift it.}\n" + TENTHS.replace(
    "steps: [gap_mm]", "steps: [lift, gap_mm]"
)


def test_a_task_that_was_done_is_gone_back_to_only_until_the_next_thing_is_done(small):
    talk = small(LIFTED).hear("done", "zero point three left", "yes", "done")
    assert talk.asked == "Lift it. Say done."
    assert "Move it zero point three" in talk.hear("go back").asked
    talk.hear("done", "done")
    assert talk.step_id == "gap_mm"
    assert "Lift it." in talk.hear("go back").asked

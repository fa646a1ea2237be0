"""What can be said at any time."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest

from companion.dialogue import prompts
from companion.dialogue.commanding import SILENCES_BEFORE_PAUSE
from companion.dialogue.effects import Close, Listen, Say
from companion.dialogue.retry import halt
from companion.dialogue.state import Mode, Task, Waiting
from companion.dialogue.transaction import ALWAYS, Transaction
from companion.facts.meanings import Command, Number
from companion.facts.talking import Heard, How, Refused
from companion.language.expectation import Expectation, NumberForm
from companion.steps.aim.state import aim_round
from tests.spoken import said

TWO = """
- {step: reading, id: left_mm, title: Left arm scale, ask: Left arm scale., unit: mm,
   number: {style: whole, whole_digits: 3}, plausible: [650, 900], resolution: 1}
- {step: reading, id: right_mm, title: Right arm scale, ask: Right arm scale., unit: mm,
   number: {style: whole, whole_digits: 3}, plausible: [650, 900], resolution: 1}
- {step: computation, id: sideways, formula: stand_sideways,
   inputs: {left_mm: left_mm, right_mm: right_mm}, outputs: {stand_offset_left_mm: offset_mm}}
- {step: instruction, id: covers, say: Covers on.}
"""
CONSENT = """
- {step: question, id: consent, title: Keeping sound, ask: "Keep the sound, or words only?",
   choices: [keep_sound, words_only], sound_is_kept_when: keep_sound}
"""


def test_wait_pauses_and_carry_on_asks_where_it_was(small):
    talk = small(TWO).hear("seven seven five", "yes", "wait")
    assert talk.said == ["Paused. Say continue."]
    assert not talk.can_hear("seven seven five")
    talk.hear("carry on")
    assert talk.said == ["Carrying on. Right arm scale."]


def test_a_pause_under_a_read_back_forgets_what_was_not_confirmed(small):
    talk = small(TWO).hear("seven seven five", "wait", "carry on")
    assert talk.said == ["Carrying on. Left arm scale."]
    assert talk.state.pending is None
    assert not talk.can_hear("yes")


def test_stop_rests_until_carry_on_and_loses_nothing(small):
    talk = small(TWO).hear("seven seven five", "yes", "stop")
    assert talk.said == ["Stopped. Leave everything as it is. Say continue, or cancel."]
    assert talk.state.mode is Mode.STOPPED
    assert talk.hear("carry on").said == ["Carrying on. Right arm scale."]
    assert talk.value("left_mm") == 775


def test_the_job_ends_only_after_stop_end_and_yes(small):
    talk = small(TWO)
    assert not talk.can_hear("end the job")
    talk.hear("stop", "end the job")
    assert talk.said == ["End the job, without a result? Yes or no?"]
    assert talk.state.mode is Mode.ENDING
    talk.hear("no")
    assert talk.state.mode is Mode.STOPPED
    talk.hear("end the job").silence()
    assert talk.state.mode is Mode.STOPPED
    talk.hear("end the job", "yes")
    assert talk.state.mode is Mode.CLOSED
    assert talk.said == ["The job has ended without a result. The record is kept."]
    assert talk.effects[-1] == Close("stopped")
    assert talk.fact("finished")["result"] == "stopped"
    assert talk.fact("stopped")["why"] == "ended by the technician"


def test_noise_under_the_question_to_end_asks_it_again(small):
    talk = small(TWO).hear("stop", "end the job").mishear()
    assert talk.said == ["Sorry? End the job, without a result? Yes or no?"]
    assert talk.state.mode is Mode.ENDING


def test_go_back_takes_back_the_reading_and_what_was_computed_from_it(small):
    talk = small(TWO).hear("seven seven five", "yes", "seven eight five", "yes")
    assert talk.state.results["offset_mm"].value == pytest.approx(5)
    talk.hear("go back")
    assert talk.said == ["Taken back: right arm scale. Right arm scale."]
    assert set(talk.state.readings) == {"left_mm"}
    assert talk.state.results == {}
    assert talk.fact("taken_back")["step_ids"] == ["right_mm", "sideways"]
    talk.hear("seven six five", "yes")
    assert [(b["value"], b["take"]) for b in talk.every("accepted")][1:] == [
        ("785", 1),
        ("765", 2),
    ]
    assert talk.state.results["offset_mm"].value == pytest.approx(-5)


def test_go_back_goes_on_to_the_one_before(small):
    talk = small(TWO).hear("seven seven five", "yes", "seven eight five", "yes")
    talk.hear("go back", "go back")
    assert talk.said == ["Taken back: left arm scale. Left arm scale."]
    assert talk.state.readings == {}
    assert talk.hear("go back").said == ["There is nothing to take back. Left arm scale."]
    assert len(talk.every("accepted")) == 2


def test_where_are_we_names_stage_and_step(small, bay):
    talk = small(TWO).hear("seven seven five", "yes", "where are we")
    assert talk.said == [
        "Stage one of two, first. At right arm scale.",
        "Right arm scale.",
    ]
    bay.go_on_to("rule_stand_mm").hear("where are we")
    assert bay.said[0] == ("Stage four of sixteen, floor check. At ruler on the floor, stand spot.")


def test_what_can_i_say_offers_only_what_is_understood(bay):
    for step_id in ("consent", "secure_list", "rule_stand_mm", "battery_volt", "toe_left_deg"):
        bay.go_on_to(step_id).hear("what can i say")
        offered = bay.said[0].removeprefix("You can say: ").removesuffix(".").split("; ")
        assert len(offered) > len(ALWAYS)
        for phrase in offered:
            assert bay.can_hear(phrase), phrase
        prompt = bay.state.prompt
        assert bay.said[1] == f"{said(prompt.ask)} {said(prompt.reply)}".strip()


@pytest.mark.parametrize("rest", ["wait", "stop"])
def test_what_can_i_say_offers_carry_on_while_resting(small, rest):
    talk = small(TWO).hear(rest, "what can i say")
    assert "continue" in talk.said[0]
    assert talk.asked.endswith(("Say continue.", "or cancel."))


def test_repeat_says_the_question_without_what_came_before_it(small):
    talk = small(TWO).hear("seven seven five", "no", "repeat")
    assert talk.said == ["Left arm scale."]


def test_a_note_without_consent_is_refused_and_said_so(small):
    talk = small(CONSENT + TWO).hear("words only", "yes", "make a note")
    assert talk.said == ["I may only keep words, so I cannot take a spoken note. Left arm scale."]
    assert not talk.every("noted")


def test_a_note_with_consent_is_listened_to_for_its_own_time(small):
    talk = small(CONSENT + TWO).hear("keep the sound", "yes", "make a note")
    assert talk.said == ["Speak your note."]
    listen = talk.effects[-1]
    assert isinstance(listen, Listen)
    assert listen.note is True
    assert listen.timeout_s == 15.0


def test_a_note_is_kept_with_its_sound_and_the_job_goes_on(small):
    talk = small(CONSENT + TWO).hear("keep the sound", "yes", "make a note")
    how = How("left clamp creaks", clip_sha256="ab" * 32)
    talk.do(Refused(talk.prompt_id, "not_in_grammar", how))
    assert talk.fact("noted") == {"clip_sha256": how.clip_sha256, "words": how.words}
    assert talk.said == ["Note kept. Left arm scale."]


DONE_TWICE = """
- {step: instruction, id: one, say: Covers on.}
- {step: instruction, id: two, say: Lasers off.}
"""


def test_silences_are_counted_anew_after_done(small):
    talk = small(DONE_TWICE).silence().hear("done")
    for _ in range(SILENCES_BEFORE_PAUSE - 1):
        assert talk.silence().state.mode is Mode.ASKING
    assert talk.silence().state.mode is Mode.PAUSED


@pytest.mark.parametrize(("word", "mode"), [("wait", Mode.PAUSED), ("stop", Mode.STOPPED)])
def test_silence_carries_nothing_on_however_long_it_rests(small, word, mode):
    talk = small(DONE_TWICE).hear(word)
    for _ in range(5):
        talk.silence()
        assert talk.state.mode is mode
        assert not talk.said


def test_silence_instead_of_a_note_keeps_none(small):
    talk = small(CONSENT + TWO).hear("keep the sound", "yes", "make a note").silence()
    assert not talk.every("noted")
    assert talk.said == ["Carrying on. Left arm scale."]


@pytest.mark.parametrize(
    ("before", "mode"),
    [
        (["wait"], Mode.PAUSED),
        (["stop"], Mode.STOPPED),
        (["stop", "end the job"], Mode.STOPPED),
        (["seven seven five"], Mode.ASKING),
    ],
)
def test_after_a_note_work_that_rested_rests_on(small, before, mode):
    talk = small(CONSENT + TWO).hear("keep the sound", "yes", *before, "make a note").mishear()
    assert talk.state.mode is mode
    assert talk.fact("noted")["words"] == "mumble"
    assert not talk.can_hear("yes")


def test_stop_is_obeyed_in_the_middle_of_a_note(small):
    talk = small(CONSENT + TWO).hear("keep the sound", "yes", "make a note", "stop")
    assert talk.state.mode is Mode.STOPPED
    assert not talk.every("noted")


def _say(talk):
    return next(e for e in reversed(talk.effects) if isinstance(e, Say))


def test_louder_and_faster_change_the_voice_up_to_their_ends(small):
    talk = small(TWO)
    assert (_say(talk).speed_percent, _say(talk).volume) == (100, 0.8)
    assert talk.hear("louder").said == ["Louder. Left arm scale."]
    assert _say(talk).volume == 1.0
    assert _say(talk.hear("louder")).volume == 1.0
    assert _say(talk.hear(*["quieter"] * 6)).volume == pytest.approx(0.2)
    assert _say(talk.hear("faster")).speed_percent == 115
    assert _say(talk.hear(*["faster"] * 4)).speed_percent == 130
    assert _say(talk.hear(*["slower"] * 9)).speed_percent == 70
    assert talk.said == ["Slower. Left arm scale."]
    assert talk.state.readings == {}


def test_the_voice_can_be_changed_under_a_read_back_without_an_answer(small):
    talk = small(TWO).hear("seven seven five", "slower")
    assert talk.said == ["Slower. Seven seven five millimetres. Yes or no?"]
    assert talk.hear("yes").value("left_mm") == 775


def test_a_closed_job_changes_no_more(small):
    talk = small(TWO).hear("stop", "end the job", "yes")
    closed = talk.state
    for event in list(talk.events):
        talk.do(event)
        assert talk.effects == ()
        assert talk.state == closed
    assert talk.resume().state == closed


def test_go_back_at_a_read_back_drops_that_answer_and_no_other(small):
    talk = small(TWO).hear("seven seven five", "yes", "seven eight five", "go back")
    assert talk.said == ["Not taken. Right arm scale."]
    assert set(talk.state.readings) == {"left_mm"}
    talk.hear("go back")
    assert talk.said == ["Taken back: left arm scale. Left arm scale."]


def test_go_back_asks_for_what_was_done_by_hand_only_if_it_is_not_done_yet(bay):
    bay.go_on_to("look_list").hear("done")
    asked = bay.asked
    bay.hear("go back")
    assert bay.asked.startswith("If it is not done yet: Sensor, bracket and emblem intact")
    assert bay.hear("done").asked == asked


@pytest.fixture
def at_the_screws(bay, aim_words):
    """Two screws are to be turned, and neither has been."""
    bay.go_on_to("echo_lean_towards_db")
    bay.spoil(**aim_words(1.2, -0.8))
    bay.go_on_to("aim_decision", doing=True)
    assert len(bay.state.tasks) > 2
    return bay


def if_begun(told: str) -> str:
    """The same to somebody who may have turned a part of it; a turn back is told as it was."""
    turn, _, rest = told.partition(".")
    return told if " again, back " in turn else f"{turn} from where it was before.{rest}"


def test_go_back_at_the_second_screw_leads_to_the_first_and_takes_nothing_back(at_the_screws):
    bay = at_the_screws
    first, readings = bay.asked, bay.state.readings
    second = bay.hear("done").asked
    bay.hear("go back")
    assert bay.asked == f"If it is not done yet: {if_begun(first)}"
    assert bay.now("taken_back") == []
    assert bay.state.readings == readings
    # The one that was at hand may have been turned as well.
    assert bay.hear("done").asked == f"If it is not done yet: {if_begun(second)}"


def test_a_screw_turned_back_at_once_is_told_as_that_and_not_as_a_contradiction(at_the_screws):
    bay, told = at_the_screws, []
    while bay.state.tasks:
        told.append((bay.asked.removesuffix(" Say done."), bay.state.tasks[0].instruction))
        bay.hear("done")
    turned = [(text, turn) for text, turn in told if turn is not None]
    after = [
        (text, turn)
        for (_, before), (text, turn) in pairwise(turned)
        if before.screw_id == turn.screw_id
    ]
    assert after, told
    for text, turn in after:
        assert " screw again, back a quarter turn, " in text
        assert text.endswith(f", {turn.sense.value}.")


def test_go_back_after_the_last_screw_leads_to_it_again(at_the_screws):
    bay = at_the_screws
    while bay.state.tasks:
        last = bay.asked
        bay.hear("done")
    bay.hear("go back")
    assert bay.asked == f"If it is not done yet: {last}"


@pytest.mark.parametrize(
    "words",
    [("repeat",), ("where are we",), ("stop", "carry on"), ("wait", "carry on"), ("hm",), ()],
)
def test_a_screw_that_may_have_been_turned_is_never_told_as_if_it_had_not(at_the_screws, words):
    """After "go back" it was turned already: told without "if", it would be turned twice."""
    bay = at_the_screws
    first = bay.asked.removesuffix(" Say done.")
    bay.hear("done", "go back")
    if words == ("hm",):
        bay.mishear()
    elif words:
        bay.hear(*words)
    else:
        bay.silence()
    assert f"If it is not done yet: {if_begun(first)}" in bay.asked


def test_that_it_may_have_been_done_is_said_once_where_it_was_cut_off(at_the_screws):
    bay = at_the_screws.hear("done", "go back", "stop")
    bay.state = replace(bay.state, unheard_before=prompts.IF_NOT_DONE_YET)
    assert bay.hear("carry on").asked.count("If it is not done yet:") == 1


@pytest.mark.parametrize("rest", ["stop", "wait"])
def test_work_that_rested_at_a_screw_may_have_turned_it(at_the_screws, rest):
    bay = at_the_screws
    first = bay.asked.removesuffix(" Say done.")
    bay.hear(rest, "carry on")
    assert bay.asked.startswith(f"Carrying on. If it is not done yet: {if_begun(first)}")


def test_go_back_at_the_first_screw_asks_whether_it_was_begun(at_the_screws):
    bay = at_the_screws
    first = bay.asked
    bay.hear("go back")
    assert bay.asked == "Was anything moved for this correction? Say not touched, or was moved."
    bay.hear("where are we")
    assert bay.said[0].endswith(", adjusting screws.")
    bay.hear("was moved", "no")
    assert bay.asked == "Was anything moved for this correction? Say not touched, or was moved."
    bay.hear("was moved", "yes")
    answered = [(fact["choice"], fact["asked"]) for fact in bay.now("answered")]
    assert answered == [("was_moved", "correction")]
    assert bay.asked == f"If it is not done yet: {if_begun(first)}"
    assert bay.now("taken_back") == []


def test_a_correction_not_begun_is_dropped_and_the_screws_stand_as_they_did(
    at_the_screws, aim_words
):
    bay = at_the_screws
    bay.hear("go back", "not touched", "yes")
    assert bay.said[-1].startswith("Correction taken back.")
    aim = aim_round(bay.state)
    assert (aim.round, aim.sets, set(aim.turned)) == (0, (), {0})
    assert (aim.looks, aim.first_look) == (0, 0)
    assert bay.state.rounds["aim_decision"] == 0
    bay.spoil(**aim_words(0.0, 0.0)).go_on_to("faults_after")
    assert bay.fact("aim_decided")["round"] == 0
    # The first look's answer had fallen: reading anew at the same position spends a look.
    assert bay.fact("aim_decided")["look"] == 2


def test_who_types_is_shown_an_answer_that_is_taken(small):
    talk = small(TWO)
    for _ in range(4):
        talk.do(Refused(talk.prompt_id, "not_in_grammar", How("banana", ears="typed")))
        assert "hear" not in talk.asked
        assert talk.asked.startswith("That is not an answer here. For example: ")
    example = talk.asked.removeprefix("That is not an answer here. For example: ").split(".")[0]
    assert talk.can_hear(example)


def test_what_is_typed_at_rest_is_answered_and_noise_is_not(small):
    talk = small(TWO).hear("wait")
    assert talk.mishear().said == []
    talk.do(Refused(talk.prompt_id, "not_in_grammar", How("yes", ears="typed")))
    assert talk.asked == "That is not an answer here. For example: continue. Paused. Say continue."
    assert talk.hear("repeat").asked == "Paused. Say continue."


def test_a_number_without_its_direction_is_asked_which_way(bay):
    bay.go_on_to("spot_left_mm")
    how = How("twelve", ears="own")
    bay.do(Refused(bay.prompt_id, "not_in_grammar", how, missing="direction"))
    assert bay.asked.startswith("Left or right? For example, one two left. ")
    assert bay.state.no_matches == 0


def test_after_a_break_where_are_we_and_wait_are_understood(bay):
    bay.go_on_to("spot_left_mm").resume()
    assert "Was the stand or the car touched?" in bay.asked
    bay.hear("where are we", "wait", "carry on")
    assert "Was the stand or the car touched?" in bay.asked


def test_a_typed_note_is_kept_where_only_words_may_be(bay):
    bay.go_on_to("spot_left_mm")
    how = How("make a note", ears="typed")
    bay.do(Heard(bay.prompt_id, Command("note"), how))
    assert bay.asked == "Speak your note."
    bay.do(Refused(bay.prompt_id, "not_in_grammar", How("Left rear at 0.5 bar", ears="typed")))
    assert bay.fact("noted")["words"] == "Left rear at 0.5 bar"
    bay.hear("make a note")
    assert "I cannot take a spoken note" in bay.asked


def test_what_was_missed_at_rest_is_not_counted_against_the_question_to_end(small):
    """Nor what was missed before the stop against what is said at rest."""
    talk = small(TWO).mishear().mishear().hear("stop")
    assert talk.mishear().said == []
    talk.mishear().hear("end the job")
    assert talk.mishear().said == ["Sorry? End the job, without a result? Yes or no?"]


def test_what_was_open_when_the_work_was_halted_is_open_no_more(small):
    """Who says continue has looked into it: he is asked from the steps that go stale."""
    talk = small(TWO).hear("seven seven five", "yes")
    task = Task("left_mm", "Move it left.")
    number = Number(Decimal(775), None, "mm")
    open_still = replace(
        talk.state,
        tasks=(task,),
        tasks_done=(task,),
        waiting=(Waiting("right_mm", number, 1),),
        one_by_one={"right_mm": number},
        no_matches=2,
    )
    tx = Transaction(open_still)
    halt(tx, "right_mm", "It does not settle.")
    talk.state = tx.state
    assert talk.state.mode is Mode.STOPPED
    assert talk.mishear().said == []
    assert talk.hear("carry on").said == ["Carrying on. Right arm scale."]
    assert talk.hear("go back").said == ["Taken back: left arm scale. Left arm scale."]


@pytest.mark.parametrize(
    ("form", "said"),
    [
        (
            NumberForm("quarters", 1, directions=("clockwise", "anticlockwise"), units=("turns",)),
            "Clockwise or anticlockwise? For example, one turn clockwise.",
        ),
        (
            NumberForm("whole", 3, directions=("left", "right"), units=("mm",)),
            "Left or right? For example, one two left.",
        ),
        (
            NumberForm("decimal", 1, 1, directions=("up", "down"), units=("deg",)),
            "Up or down? For example, one up.",
        ),
        (
            NumberForm("whole", 3, directions=("left", "right"), units=("mm", "deg")),
            "Left or right? For example, one two millimetres left.",
        ),
    ],
)
def test_the_example_of_a_number_with_its_way_is_one_that_may_be_said(grammar, form, said):
    asked = prompts.which_way(form)
    assert grammar.say(asked) == said
    words = said.partition("For example, ")[2].removesuffix(".")
    meaning = grammar.for_step(Expectation(number=form)).parse(words)
    assert isinstance(meaning, Number)
    assert meaning.direction == form.directions[0]


@pytest.mark.parametrize("reason", ["sound_lost", "no_microphone"])
def test_a_note_whose_sound_was_lost_is_not_said_to_be_kept(bay, reason):
    bay.spoil(consent="keep the sound").go_on_to("fuel").hear("make a note")
    bay.do(Refused(bay.prompt_id, reason, How()))
    assert bay.said[0].startswith("I did not hear the note. Nothing of it was kept.")
    assert bay.every("noted") == []
    assert bay.step_id == "fuel"

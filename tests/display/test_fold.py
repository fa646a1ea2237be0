"""What stands on the screen at each moment of a job, by the events alone."""

from __future__ import annotations

import contextlib
import re
from fractions import Fraction

import pytest

from companion.display.fold import Told, fold, take
from companion.display.look import look
from companion.display.moment import AimShown, Cautions, Moment, ScrewRound, StandMove
from companion.display.page import view
from companion.facts.answers import Consent
from companion.facts.instructions import MoveStand
from companion.facts.kinds import fact_of
from companion.facts.opening import Opened
from companion.facts.prompting import SaidBack
from companion.facts.talking import How
from companion.job.loader import JobPaths
from companion.recognition.port import Refusal, SoundEnded
from companion.record import FixedClock
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.loop import Room, resume_job, start_job
from companion.speech.silent import SilentVoice
from tests.scripted_ears import ScriptedEars

from .conftest import rehearsed_told

AT_THE_FLOOR = ("words only", "yes", "bumper", "yes", *["done"] * 2)
PROPOSED = SaidBack("echo levels", choice="echo_levels", proposed=True)
LOUD = Refusal("unsure", How("four two", "ears", detail="too close to something else"))


class Nobody:
    def fact(self, fact: object) -> None:
        pass


def after(*answers: str | Refusal) -> Moment:
    """The screen after these answers in a new job."""
    log = MemoryLog("a job")
    room = Room(ScriptedEars(answers), SilentVoice(), log, None, Nobody())
    with contextlib.suppress(SoundEnded):
        start_job(room, assembly.load(JobPaths()), assembly.language())
    return look(fold(log.events("a job")))


def at_the_floor(*answers: str | Refusal) -> Moment:
    return after(*AT_THE_FLOOR, *answers)


def test_before_any_job_it_says_so() -> None:
    assert look(Told()).condition == "no_job"
    assert look(Told()).instruction.text == "No job is running."


def test_the_job_begins_with_all_cautions_in_writing() -> None:
    moment = after()
    assert isinstance(moment.picture, Cautions)
    cautions = assembly.load(JobPaths()).plan.files.job.cautions
    assert moment.picture.lines == tuple(caution.say for caution in cautions)


def test_a_reading_is_asked_for_with_what_to_say() -> None:
    moment = at_the_floor()
    assert moment.condition == "asking"
    assert moment.instruction.text == "Level the line laser. Ruler at rear left and right."
    assert moment.instruction.reply == "Millimetres."


def test_a_deed_is_asked_for_with_done() -> None:
    moment = after("words only", "yes", "bumper", "yes")
    assert (moment.condition, moment.instruction.reply) == ("doing", "done")
    assert moment.instruction.text == (
        "Brake on, wheels chocked. Clear everything shiny from the marked area."
    )


def test_a_proposal_stands_beside_what_is_to_be_done_for_it_and_is_not_taken() -> None:
    proposals = [
        look(told)
        for told in rehearsed_told(3)
        if told.prompt is not None and told.prompt.asks.said_back == PROPOSED
    ]
    assert proposals
    for moment in proposals:
        assert moment.condition == "asking"
        assert moment.instruction.text == "Start aiming mode. Echo levels?"
        assert moment.instruction.reply == "yes or no"
        assert moment.answer is None or moment.answer.shown != "Echo levels"


def test_what_was_heard_is_shown_as_figures_and_not_as_taken() -> None:
    moment = at_the_floor("four two zero", "four two one", "four hundred and twenty two")
    assert moment.condition == "read_back"
    assert moment.instruction.text == "420\u00a0mm; 421\u00a0mm; 422\u00a0mm"
    assert moment.instruction.reply == "Yes, or which one?"
    assert moment.answer is not None
    assert moment.answer.state == "said_back"
    assert moment.answer.words == "four hundred and twenty two"


def test_yes_takes_it() -> None:
    answer = at_the_floor("four two zero", "four two one", "four two two", "yes").answer
    assert answer is not None
    assert (answer.state, answer.shown) == ("taken", "422\u00a0mm")
    assert answer.title == "Ruler on the floor, front left wheel"


def test_no_shows_it_as_not_taken() -> None:
    answer = at_the_floor("four two zero", "four two one", "four two two", "no").answer
    assert answer is not None
    assert answer.state == "not_taken"
    assert answer.shown == "420\u00a0mm; 421\u00a0mm; 422\u00a0mm"


def test_an_unlikely_reading_is_not_taken_and_says_why() -> None:
    moment = at_the_floor("nine nine nine")
    assert moment.answer is not None
    assert (moment.answer.state, moment.answer.shown) == ("unlikely", "999\u00a0mm")
    assert "I expect 200 to 800\u00a0mm" in moment.instruction.before


def test_what_was_refused_shows_the_words_and_why() -> None:
    answer = at_the_floor(LOUD).answer
    assert answer is not None
    assert (answer.state, answer.words, answer.why) == (
        "not_understood",
        "four two",
        "Not sure enough.",
    )


def test_silence_is_shown_as_nothing_heard() -> None:
    answer = at_the_floor(Refusal("silence", How(ears="ears"))).answer
    assert answer is not None
    assert answer.state == "nothing"


def test_the_bay_is_called_loud_when_hearings_keep_failing() -> None:
    assert not at_the_floor(LOUD, LOUD).noisy
    assert at_the_floor(LOUD, LOUD, LOUD).noisy
    # Words that simply do not belong here are not the bay's noise.
    assert not at_the_floor("bumper", "bumper", "bumper").noisy


@pytest.mark.parametrize(
    ("answers", "condition", "reply"),
    [
        (("wait",), "paused", "continue"),
        (("stop",), "stopped", "continue, or cancel"),
        (("stop", "end the job"), "ending", "yes or no"),
    ],
)
def test_waiting_and_stopped_say_how_to_go_on(
    answers: tuple[str, ...], condition: str, reply: str
) -> None:
    moment = at_the_floor(*answers)
    assert (moment.condition, moment.instruction.reply) == (condition, reply)
    assert moment.picture is None


def test_an_ended_job_claims_no_result() -> None:
    moment = at_the_floor("stop", "end the job", "yes")
    assert (moment.condition, moment.result) == ("over", "stopped")
    assert moment.instruction.text == "Ended without a result."
    assert [stage.number for stage in moment.stages if stage.state == "now"] == [4]


def test_the_scale_of_stages_tells_how_far_through() -> None:
    states = [stage.state for stage in at_the_floor().stages]
    assert states == ["done", "done", "done", "now", *["to_do"] * 12]


def test_each_move_is_drawn_as_it_was_said() -> None:
    moves = 0
    for seed in range(6):
        for told in rehearsed_told(seed):
            moment = look(told)
            if isinstance(moment.picture, StandMove):
                moves += 1
                assert moment.picture.way in moment.instruction.text
                assert told.prompt is not None
                assert isinstance(told.prompt.asks.instruction, MoveStand)
            elif told.prompt is not None:
                asked = isinstance(told.prompt.asks.instruction, MoveStand)
                assert not asked or moment.condition != "doing"
    assert moves > 10


def test_the_screws_are_shown_in_the_order_of_the_plan_with_the_one_to_turn_now() -> None:
    rounds = [
        (moment.picture, moment.instruction.text)
        for told in rehearsed_told(3)
        if isinstance((moment := look(told)).picture, ScrewRound)
    ]
    assert rounds
    for picture, said in rounds:
        assert isinstance(picture, ScrewRound)
        (now,) = (turn for turn in picture.turns if turn.state == "now")
        assert said.lower().startswith(now.name)
        assert ("anticlockwise" in said) == (now.turns < 0)
        assert abs(now.turns) % Fraction(1, 4) == 0


def test_the_end_shows_the_aim_in_its_limits_and_what_inside_means() -> None:
    moment = look(rehearsed_told(1)[-1])
    assert (moment.condition, moment.result) == ("over", "inside")
    assert isinstance(moment.picture, AimShown)
    assert abs(moment.picture.yaw.value or 9) < moment.picture.yaw_tolerance_deg
    assert "does not say that the driver assistance is safe" in moment.instruction.before
    assert {stage.state for stage in moment.stages} == {"done"}


def test_a_companion_that_is_gone_is_missed_in_a_job_only() -> None:
    told = rehearsed_told(1)
    assert look(told[5], companion_is_off=True).companion_is_off
    assert not look(told[-1], companion_is_off=True).companion_is_off
    assert not look(Told(), companion_is_off=True).companion_is_off


def test_events_of_any_shape_give_a_screen() -> None:
    told = Told()
    for kind in ("opened", "said", "heard", "accepted", "screw_plan", "decided", "corrected"):
        for body in ({}, {"text": 7, "steps": [3], "meaning": [], "prompt_id": "p1"}):
            told = take(told, fact_of(kind, body))
            assert "<main" in view(look(told))


def test_what_is_to_be_done_is_large_enough_for_four_metres(moments: list[Moment]) -> None:
    """A capital of 16 minutes of arc at four metres (from memory, as display standards ask for)
    is 18.6 mm; on a 24 inch screen of 299 mm height that is type of 8.7 hundredths of it."""
    for moment in moments:
        if (
            moment.condition in ("asking", "doing", "read_back")
            and len(moment.instruction.text) < 80
        ):
            size = re.search(r'class="text size-(\d+)"', view(moment))
            assert size is not None
            assert int(size[1]) >= 9, moment.instruction.text


def test_a_screen_without_a_vouched_date_says_that_no_voice_expires() -> None:
    """Where sound is kept and nothing vouches for the date."""
    for trusted, keeps, told in (
        (True, True, False),
        (False, False, False),
        (False, True, True),
    ):
        log = MemoryLog("a job", FixedClock(trusted=trusted))
        log.append([Consent(keeps)])
        moment = look(fold(log.events(log.session_id)))
        assert moment.sound_stays is told
        assert moment.car_stays is False
        assert ("no recorded voice is deleted" in view(moment)) is told


def test_a_screen_without_a_vouched_date_says_that_what_is_known_of_the_car_stays() -> None:
    for trusted, visit, told in ((True, "v-1", False), (False, "", False), (False, "v-1", True)):
        log = MemoryLog("a job", FixedClock(trusted=trusted))
        log.append([Opened(visit=visit)])
        moment = look(fold(log.events(log.session_id)))
        assert moment.car_stays is told
        assert ("what is known of the car stays" in view(moment)) is told


def test_after_a_break_it_is_asked_and_said_back_what_was_touched() -> None:
    log = MemoryLog("a job")
    loaded, language = assembly.load(JobPaths()), assembly.language()
    ears = [*AT_THE_FLOOR, "four two zero", "four two one", "four two two", "yes"]
    with contextlib.suppress(SoundEnded):
        start_job(Room(ScriptedEars(ears), SilentVoice(), log, None, Nobody()), loaded, language)

    def resumed(*answers: str) -> Moment:
        broken_off = list(log.events("a job"))
        again = MemoryLog("a job")
        room = Room(ScriptedEars(answers), SilentVoice(), again, None, Nobody())
        with contextlib.suppress(SoundEnded):
            resume_job(room, loaded, language, broken_off)
        return look(fold([*broken_off, *again.events("a job")]))

    asked = resumed()
    assert (asked.condition, asked.picture) == ("resuming", None)
    said_back = resumed("not touched")
    assert said_back.condition == "read_back"
    assert "Not touched" in said_back.instruction.text
    assert said_back.instruction.reply == "yes or no"
    assert resumed("not touched", "yes").condition == "asking"

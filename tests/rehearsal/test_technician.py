"""The technician at work: he reads, does, answers, and judges what is said back."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from companion.dialogue import prompts
from companion.procedure.job import Job
from companion.rehearsal.errors import RehearsalError
from companion.rehearsal.rehearsal import Rehearsal
from companion.rehearsal.scales import SCALES
from companion.rehearsal.scenario import CHOICE_WORDS, Scenario
from companion.rehearsal.spoken_numbers import amount_in, number_words_in
from companion.rehearsal.understanding import Understanding
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from companion.steps.reading.values import number_form
from companion.words.loader import load_grammar
from companion.words.meanings import Choice, Number
from companion.words.speaking import read_back
from tests.expecting import expectation_of

Rehearse = Callable[..., Rehearsal]
SPOT = "Left spot, millimetres, left or right."
DISTANCE = "Plate to sensor, millimetres."
TURN = "Turn the stand one point zero zero degrees to the left. Say done."


def say(rehearsal: Rehearsal, text: str) -> str:
    rehearsal.heard(text)
    answer = rehearsal.answer_text()
    assert answer is not None, text
    return answer


def plain(text: str) -> str:
    for source, words in (("lean_towards", "three"), ("lean_away", "three")):
        text = text.replace(f"{{bay.stand.{source}_deg}}", f"{words} degrees")
    return text.replace("{bay.stand.swing_left_deg}", "three degrees").replace(
        "{bay.stand.swing_right_deg}", "three degrees"
    )


@pytest.mark.parametrize("misses", [0, 2])
def test_every_answer_to_a_reading_is_in_its_step_s_language(
    rehearse: Rehearse, job: Job, misses: int
) -> None:
    """However he words it, the strict parser takes it, and it means what the scale shows."""
    grammar, ear = load_grammar(), Understanding(["left screw", "upper screw"])
    readings = [s for stage in job.stages for s in stage.steps if isinstance(s, Reading)]
    assert len(readings) > 30
    for seed in range(8):
        rehearsal = rehearse(seed)
        for step in readings:
            ask = plain(step.ask)
            if misses and step.number.style != "quarters":
                ask = prompts.digit_by_digit(prompts.SORRY, number_form(step), ask)
            answer = say(rehearsal, ask)
            meaning = grammar.for_step(expectation_of(step, digits_only=misses > 0)).parse(answer)
            assert isinstance(meaning, Number), f"{step.id}: {answer!r}"
            wanted = ear.prompt(ask).wanted
            shown = rehearsal.world.true_value(wanted.scale, wanted.where)  # type: ignore[union-attr]
            ruler = SCALES[wanted.scale]  # type: ignore[union-attr]
            way = -1 if meaning.direction == (ruler.directions or ("", ""))[1] else 1
            allowed = float(ruler.resolution) / 2 + 6 * ruler.noise_sd
            assert abs(way * float(meaning.value) - shown) <= allowed, step.id
            assert say(rehearsal, prompts.read_back(read_back(meaning))) in (
                "yes",
                "correct",
                "yes correct",
            )


def test_every_choice_is_in_its_step_s_language_and_is_known_when_said_back(
    rehearse: Rehearse, job: Job
) -> None:
    grammar = load_grammar()
    questions = [s for stage in job.stages for s in stage.steps if isinstance(s, Question)]
    for seed in range(8):
        rehearsal = rehearse(seed)
        for step in questions:
            answer = say(rehearsal, step.ask)
            meaning = grammar.for_step(expectation_of(step)).parse(answer)
            assert isinstance(meaning, Choice), f"{step.id}: {answer!r}"
            for other in step.choices:
                verdict = say(rehearsal, prompts.read_back(grammar.choice_name(other)))
                assert (verdict in ("no", "wrong")) == (other != meaning.id), (step.id, other)


def test_the_spoken_forms_of_choices_are_the_grammar_s(job: Job) -> None:
    grammar = load_grammar()
    for choice, forms in CHOICE_WORDS.items():
        assert grammar.choice_name(choice) == forms[0]


def test_a_wrong_read_back_gets_a_no_and_the_same_reading_again(rehearse: Rehearse) -> None:
    rehearsal = rehearse(scenario=Scenario(varied_wording=False))
    first = say(rehearsal, DISTANCE)
    assert say(rehearsal, prompts.read_back("nine nine nine millimetres")) == "no"
    assert say(rehearsal, f"{prompts.NOT_TAKEN} {DISTANCE}") == first


def test_the_right_size_with_the_wrong_side_is_wrong(rehearse: Rehearse) -> None:
    rehearsal = rehearse(scenario=Scenario(varied_wording=False))
    words = say(rehearsal, SPOT)
    other = words.replace("left", "x").replace("right", "left").replace("x", "right")
    assert say(rehearsal, prompts.read_back(other)) == "no"
    assert say(rehearsal, prompts.read_back(words)) == "yes"


def test_he_reads_anew_when_asked_anew_and_repeats_when_asked_to_repeat(
    rehearse: Rehearse,
) -> None:
    rehearsal = rehearse(scenario=Scenario(varied_wording=False))
    first = say(rehearsal, SPOT)
    say(rehearsal, "Move the stand twenty millimetres to the left. Say done.")
    say(rehearsal, TURN)
    second = say(rehearsal, f"Now both spots again. {SPOT}")
    assert second != first
    assert all(say(rehearsal, f"{prompts.SORRY} {SPOT}") == second for _ in range(5))


def test_a_repeated_instruction_is_done_once(rehearse: Rehearse) -> None:
    rehearsal = rehearse()
    world = rehearsal.world
    before = world.stand.turn_deg
    say(rehearsal, TURN)
    after = world.stand.turn_deg
    assert after - before == pytest.approx(1.0, abs=0.3)
    assert say(rehearsal, prompts.PAUSED) == "continue"
    for text in (f"{prompts.SORRY} {TURN}", TURN, f"{prompts.CARRYING_ON} {TURN}"):
        say(rehearsal, text)
        assert world.stand.turn_deg == after
    say(rehearsal, SPOT)
    say(rehearsal, TURN)
    assert world.stand.turn_deg - after == pytest.approx(1.0, abs=0.3)


def test_a_doubted_reading_is_read_off_again(rehearse: Rehearse) -> None:
    rehearsal = rehearse()
    say(rehearsal, SPOT)
    rehearsal.world.turn_stand(1.0)
    shown = rehearsal.world.true_value("spot", "left")
    words = prompts.implausible("nine nine nine millimetres left", "zero", "three hundred")
    answer = say(rehearsal, words)
    assert abs(abs(shown) - float(amount_in(number_words_in(answer)) or 0)) < 2


def test_he_carries_on_after_a_stop_so_often_and_then_ends_the_job(rehearse: Rehearse) -> None:
    rehearsal = rehearse(scenario=Scenario(carries_on_at_most=2, varied_wording=False))
    assert say(rehearsal, prompts.END_THE_JOB) == "no"
    stopped = f"The stand does not come level. {prompts.STOPPED}"
    assert [say(rehearsal, stopped) for _ in range(3)] == ["continue", "continue", "end the job"]
    assert say(rehearsal, prompts.END_THE_JOB) == "yes"


def test_a_restart_is_answered(rehearse: Rehearse) -> None:
    asked = prompts.resumed("Stand sideways")
    assert say(rehearse(), asked) in CHOICE_WORDS["not_touched"]
    moved = rehearse(scenario=Scenario(moved="was_moved"))
    assert say(moved, asked) in CHOICE_WORDS["was_moved"]


def test_the_scan_tool_s_verdict_follows_the_hidden_aim(rehearse: Rehearse) -> None:
    check = "Run the scan tool's check. Within limits, or beyond limits?"
    for seed in range(30):
        rehearsal = rehearse(seed)
        now = rehearsal.world.truth_now()
        worst = max(abs(now.aim_yaw_deg), abs(now.aim_elevation_deg))
        if abs(worst - 0.40) > 0.15:
            expected = "tool_inside" if worst < 0.40 else "tool_outside"
            assert say(rehearsal, check) in CHOICE_WORDS[expected]


def test_he_leaves_the_swing_where_it_was_when_that_is_his_habit(rehearse: Rehearse) -> None:
    lean = "Plate in the middle, top towards, three degrees. Echo level."
    levels = {}
    for leaves in (False, True):
        rehearsal = rehearse(scenario=Scenario(leaves_swing=leaves))
        say(rehearsal, "Right edge towards, three degrees. Echo level.")
        say(rehearsal, lean)
        levels[leaves] = rehearsal.world.true_value("echo")
    assert levels[True] != pytest.approx(levels[False], abs=0.05)


def test_words_that_ask_for_nothing_get_silence(rehearse: Rehearse) -> None:
    rehearsal = rehearse()
    with pytest.raises(RehearsalError, match="before any prompt"):
        rehearsal.answer_text()
    rehearsal.heard("Stage two, clear area.")
    assert rehearsal.answer_text() is None


def test_the_same_seed_gives_the_same_answers(rehearse: Rehearse) -> None:
    texts = (SPOT, DISTANCE, TURN, SPOT, "Battery support, volts.")
    first, second = rehearse(21), rehearse(21)
    assert [say(first, text) for text in texts] == [say(second, text) for text in texts]


def test_plain_wording_is_always_the_same(rehearse: Rehearse) -> None:
    rehearsal = rehearse(scenario=Scenario(varied_wording=False))
    assert say(rehearsal, "Brake on and wheels chocked. Say done.") == "done"
    value = Decimal(str(round(rehearsal.truth.battery_volt, 1)))
    assert say(rehearsal, "Battery support, volts.").startswith(
        {12: "twelve", 13: "thirteen", 14: "fourteen"}[int(value)]
    )

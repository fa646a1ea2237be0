"""The technician at work: he reads, does, answers, and judges what is said back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

import pytest

from companion.facts.instructions import Direction, MoveStand, StandQuantity
from companion.facts.meanings import Choice, Number
from companion.facts.prompting import AskedBehind, NumberWanted, SaidBack
from companion.facts.talking import Said
from companion.job.job_file import Job
from companion.language.loader import load_language
from companion.runtime.rehearsing import script_of
from companion.simulation.errors import RehearsalError
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scales import SCALES
from companion.simulation.scenario import Scenario
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from tests.expecting import expectation_of
from tests.simulation.conftest import WORDING
from tests.simulation.prompting import (
    BOOT,
    DISTANCE,
    END,
    NONSENSE,
    PAUSE,
    RESTART,
    SPOT,
    STOP,
    TURN,
    TURN_LEFT,
    ask,
    back,
    do,
    number_back,
    shipped,
)
from tests.spoken_numbers import amount_in, number_words_in

Rehearse = Callable[..., Rehearsal]
PLAIN = Scenario(varied_wording=False)


def say(rehearsal: Rehearsal, prompt: Said) -> str:
    rehearsal.heard(prompt)
    answer = rehearsal.answer_text()
    assert answer is not None, prompt
    return answer


@pytest.mark.parametrize("digits", [False, True])
def test_every_answer_to_a_reading_is_in_its_step_s_language(
    rehearse: Rehearse, job: Job, digits: bool
) -> None:
    """However he words it, the strict parser takes it, and it means what the scale shows."""
    grammar, script = load_language().grammar, script_of(shipped())
    readings = [s for stage in job.stages for s in stage.steps if isinstance(s, Reading)]
    assert len(readings) > 30
    for seed in range(8):
        rehearsal = rehearse(seed)
        for step in readings:
            answer = say(rehearsal, ask(step.id, digits=digits))
            meaning = grammar.for_step(expectation_of(step, digits_only=digits)).parse(answer)
            assert isinstance(meaning, Number), f"{step.id}: {answer!r}"
            reads = script.readings[step.id]
            shown = rehearsal.world.true_value(reads.name, reads.where)
            ruler = SCALES[reads.name]
            way = -1 if meaning.direction == (ruler.directions or ("", ""))[1] else 1
            allowed = float(ruler.resolution) / 2 + 6 * ruler.noise_sd
            assert abs(way * float(meaning.value) - shown) <= allowed, step.id
            said_back = number_back(f"{meaning.value:f}", step.unit, meaning.direction)
            assert say(rehearsal, said_back) in ("yes", "correct", "yes correct")


def test_every_choice_is_in_its_step_s_language_and_is_known_when_said_back(
    rehearse: Rehearse, job: Job
) -> None:
    grammar = load_language().grammar
    questions = [s for stage in job.stages for s in stage.steps if isinstance(s, Question)]
    for seed in range(8):
        rehearsal = rehearse(seed)
        for step in questions:
            answer = say(rehearsal, ask(step.id))
            meaning = grammar.for_step(expectation_of(step)).parse(answer)
            assert isinstance(meaning, Choice), f"{step.id}: {answer!r}"
            for other in step.choices:
                verdict = say(rehearsal, back(SaidBack(NONSENSE, choice=other)))
                assert (verdict in ("no", "wrong")) == (other != meaning.id), (step.id, other)


def test_a_wrong_read_back_gets_a_no_and_the_same_reading_again(rehearse: Rehearse) -> None:
    rehearsal = rehearse(scenario=PLAIN)
    first = say(rehearsal, DISTANCE)
    assert say(rehearsal, number_back("999")) == "no"
    assert say(rehearsal, ask("plate_distance_mm", again=True)) == first


@pytest.mark.parametrize(
    ("behind", "in_one_breath"),
    [
        (("plate_height_mm",), True),
        (("arm_left_mm", "arm_right_mm"), True),
        (("left_run_out_180_mm", "left_run_out_270_mm"), False),
        (("echo_lean_away_db",), False),
    ],
)
def test_behind_a_yes_he_says_what_he_only_has_to_look_at(
    rehearse: Rehearse, behind: tuple[str, ...], in_one_breath: bool
) -> None:
    """What a wheel is turned for or the plate moved takes longer than a breath."""
    rehearsal = rehearse(scenario=PLAIN)
    meant = amount_in(number_words_in(say(rehearsal, DISTANCE)))
    said_back = number_back(str(meant))
    asks = said_back.prompt
    assert asks is not None
    next_asked = AskedBehind(behind[0], "number", NumberWanted("mm"), behind[1:])
    answer = say(rehearsal, replace(said_back, prompt=replace(asks, behind=next_asked)))
    assert answer.startswith("yes")
    assert (answer != "yes") == in_one_breath


def test_the_right_size_with_the_wrong_side_is_wrong(rehearse: Rehearse) -> None:
    rehearsal = rehearse(scenario=PLAIN)
    words = say(rehearsal, SPOT)
    size, side = str(amount_in(number_words_in(words))), words.split()[-1]
    other = {"left": "right", "right": "left"}[side]
    assert say(rehearsal, number_back(size, "mm", other)) == "no"
    assert say(rehearsal, number_back(size, "mm", None)) == "no"
    assert say(rehearsal, number_back(size, "mm", side)) == "yes"


def test_he_reads_anew_when_asked_anew_and_repeats_when_asked_to_repeat(
    rehearse: Rehearse,
) -> None:
    rehearsal = rehearse(scenario=PLAIN)
    first = say(rehearsal, SPOT)
    sideways = MoveStand(StandQuantity.SIDEWAYS, Direction.LEFT, Decimal(20), "mm")
    say(rehearsal, do("stand_place", sideways))
    say(rehearsal, TURN)
    second = say(rehearsal, SPOT)
    assert second != first
    assert all(say(rehearsal, ask("spot_left_mm", again=True)) == second for _ in range(5))


@pytest.mark.parametrize(
    ("quantity", "direction", "field", "by"),
    [
        ("turn", "left", "turn_deg", 1),
        ("turn", "right", "turn_deg", -1),
        ("sideways", "left", "left_mm", 40),
        ("sideways", "right", "left_mm", -40),
        ("distance", "away", "ahead_mm", 40),
        ("distance", "towards", "ahead_mm", -40),
        ("height", "up", "plate_height_mm", 40),
        ("height", "down", "plate_height_mm", -40),
        ("level", "up", "left_high_mm_per_m", 5),
        ("level", "down", "left_high_mm_per_m", -5),
        ("plumb", "away", "top_away_mm_per_m", 5),
        ("plumb", "towards", "top_away_mm_per_m", -5),
    ],
)
def test_each_move_is_made_the_way_that_was_told(
    rehearse: Rehearse, quantity: str, direction: str, field: str, by: float
) -> None:
    rehearsal = rehearse()
    before = getattr(rehearsal.world.stand, field)
    move = MoveStand(StandQuantity(quantity), Direction(direction), Decimal(abs(by)), "mm")
    say(rehearsal, do("any", move))
    assert getattr(rehearsal.world.stand, field) - before == pytest.approx(by, rel=0.3)


def test_a_repeated_instruction_is_done_once(rehearse: Rehearse) -> None:
    rehearsal = rehearse()
    world = rehearsal.world
    before = world.stand.turn_deg
    say(rehearsal, TURN)
    after = world.stand.turn_deg
    assert after - before == pytest.approx(1.0, abs=0.3)
    assert say(rehearsal, PAUSE) == "continue"
    for again in (True, False, True):
        say(rehearsal, do("stand_place", TURN_LEFT, again=again))
        assert world.stand.turn_deg == after
    say(rehearsal, SPOT)
    say(rehearsal, TURN)
    assert world.stand.turn_deg - after == pytest.approx(1.0, abs=0.3)


def test_a_doubted_reading_is_read_off_again(rehearse: Rehearse) -> None:
    rehearsal = rehearse()
    say(rehearsal, SPOT)
    rehearsal.world.turn_stand(1.0)
    shown = rehearsal.world.true_value("spot", "left")
    answer = say(rehearsal, SPOT)
    assert abs(abs(shown) - float(amount_in(number_words_in(answer)) or 0)) < 2


def test_he_carries_on_after_a_stop_so_often_and_then_ends_the_job(rehearse: Rehearse) -> None:
    rehearsal = rehearse(scenario=Scenario(carries_on_at_most=2, varied_wording=False))
    assert say(rehearsal, END) == "no"
    assert [say(rehearsal, STOP) for _ in range(3)] == ["continue", "continue", "cancel"]
    assert say(rehearsal, END) == "yes"


def test_a_restart_is_answered(rehearse: Rehearse) -> None:
    assert say(rehearse(), RESTART) in WORDING.choices["not_touched"]
    moved = rehearse(scenario=Scenario(moved="was_moved"))
    assert say(moved, RESTART) in WORDING.choices["was_moved"]


def test_the_scan_tool_s_verdict_follows_the_hidden_aim(rehearse: Rehearse) -> None:
    for seed in range(30):
        rehearsal = rehearse(seed)
        now = rehearsal.world.truth_now()
        worst = max(abs(now.aim_yaw_deg), abs(now.aim_elevation_deg))
        if abs(worst - 0.40) > 0.15:
            expected = "tool_inside" if worst < 0.40 else "tool_outside"
            assert say(rehearsal, ask("tool_verdict")) in WORDING.choices[expected]


def test_he_leaves_the_swing_where_it_was_when_that_is_his_habit(rehearse: Rehearse) -> None:
    levels = {}
    for leaves in (False, True):
        rehearsal = rehearse(scenario=Scenario(leaves_swing=leaves))
        say(rehearsal, ask("echo_swing_right_db"))
        say(rehearsal, ask("echo_lean_towards_db"))
        levels[leaves] = rehearsal.world.true_value("echo")
    assert levels[True] != pytest.approx(levels[False], abs=0.05)


def test_words_that_ask_for_nothing_get_silence(rehearse: Rehearse) -> None:
    rehearsal = rehearse()
    with pytest.raises(RehearsalError, match="before any prompt"):
        rehearsal.answer_text()
    rehearsal.heard(Said(None, None, "announce", "asking", "Left spot.", None))
    assert rehearsal.answer_text() is None


def test_the_same_seed_gives_the_same_answers(rehearse: Rehearse) -> None:
    asked = (SPOT, DISTANCE, TURN, SPOT, ask("battery_volt"))
    first, second = rehearse(21), rehearse(21)
    assert [say(first, each) for each in asked] == [say(second, each) for each in asked]


def test_plain_wording_is_always_the_same(rehearse: Rehearse) -> None:
    rehearsal = rehearse(scenario=PLAIN)
    assert say(rehearsal, BOOT) == "done"
    value = Decimal(str(round(rehearsal.truth.battery_volt, 1)))
    assert say(rehearsal, ask("battery_volt")).startswith(
        {12: "twelve", 13: "thirteen", 14: "fourteen"}[int(value)]
    )

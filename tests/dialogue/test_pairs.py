"""Two readings in one answer, and what is said in front of a question that proves it."""

from __future__ import annotations

from decimal import Decimal

import pytest

from companion.dialogue.state import Mode
from companion.errors import FileProblem
from companion.facts.kinds import body_of, fact_of
from companion.facts.meanings import No, Number, Pair
from companion.facts.talking import TYPED, Heard, How

PAIR = """\
- {step: reading, id: left_mm, title: The left gap, ask: Left gap., reply: Millimetres.,
   ask_pair: Left and right gap., ask_pair_short: Both gaps., read_back_together: gaps, unit: mm,
   plausible: [100, 900], resolution: 1, number: {style: whole, whole_digits: 3}}
- {step: reading, id: right_mm, title: The right gap, ask: Right gap., read_back_together: gaps,
   unit: mm, plausible: [100, 900], resolution: 1, number: {style: whole, whole_digits: 3}}
"""
EACH = PAIR.replace(" read_back_together: gaps,", "")
LASER = "- {step: instruction, id: laser, say: Set the laser level., with_next: true}\n"


def values(talk):
    return {name: int(taken.value) for name, taken in talk.state.readings.items()}


def test_two_are_heard_in_one_answer_and_said_back_together(small):
    talk = small(PAIR)
    assert talk.asked == "Left and right gap. Millimetres."
    talk.hear("four two zero four one eight")
    assert talk.spoken == ["Four two zero, four one eight. Yes, or which one?"]
    assert values(talk) == {}
    assert values(talk.hear("yes")) == {"left_mm": 420, "right_mm": 418}


def test_who_says_one_of_them_is_asked_for_the_other(small):
    talk = small(PAIR).hear("four two zero")
    assert talk.asked == "Right gap."
    talk.hear("four one eight", "yes")
    assert values(talk) == {"left_mm": 420, "right_mm": 418}


def test_after_a_miss_each_is_asked_for_by_itself(small):
    talk = small(PAIR).mishear()
    assert talk.asked.endswith("Left gap. Millimetres.")
    assert not talk.can_hear("four two zero four one eight")
    assert talk.mishear().said[-1].lower().count("digit by digit") == 1


@pytest.mark.parametrize(
    ("words", "waits"), [("nine nine nine four one eight", 0), ("four one eight nine nine nine", 1)]
)
def test_an_unlikely_one_of_two_is_asked_for_alone_and_what_was_behind_it_is_not_taken(
    small, words, waits
):
    talk = small(PAIR).hear(words)
    assert "I heard nine nine nine." in talk.said[-1]
    assert len(talk.state.waiting) == waits
    assert talk.step_id == ("right_mm" if waits else "left_mm")


def test_who_types_no_to_the_first_is_asked_for_that_one_alone(small):
    """The second was heard, and waits to be said back by itself."""
    talk = small(EACH).hear("four two zero four one eight")
    talk.do(Heard(talk.prompt_id, No(), How("no", ears=TYPED)))
    assert talk.asked == "Not taken. Left gap. Millimetres."
    assert not talk.can_hear("four two zero four one eight")
    talk.hear("four two one", "yes", "yes")
    assert values(talk) == {"left_mm": 421, "right_mm": 418}


def test_two_numbers_are_no_answer_where_one_is_asked_for(small):
    talk = small(PAIR).hear("four two zero")
    two = Pair(Number(Decimal(418), None, "mm"), Number(Decimal(419), None, "mm"))
    talk.do(Heard(talk.prompt_id, two, How()))
    assert [int(each.number.value) for each in talk.state.waiting] == [420]


@pytest.mark.parametrize(
    "words",
    [
        "four two zero four one",
        "four two four one eight",
        "four two zero four one eight five",
        "zero two zero four one eight",
        "four two zero and four one eight",
    ],
)
def test_where_a_digit_is_lost_or_added_nothing_is_understood(small, words):
    assert not small(PAIR).can_hear(words)


def test_a_pair_is_kept_and_played_again(small):
    event = Heard("p1", Pair(Number(Decimal("4.0"), "left", "mm"), Number(Decimal(0), None, "mm")))
    assert fact_of(event.KIND, body_of(event)) == event


def test_a_pair_wants_a_reading_of_its_set_right_behind(small):
    first, second = PAIR.split("- ")[1:]
    with pytest.raises(FileProblem, match="ask_pair"):
        small(f"- {first}- {second.replace('read_back_together: gaps,', '')}")


def test_an_instruction_in_front_is_done_with_the_answer_and_not_before(small):
    talk = small(LASER + PAIR)
    assert talk.asked == "Set the laser level. Left and right gap. Millimetres."
    assert not talk.can_hear("done")
    talk.hear("four two zero four one eight")
    assert talk.every("done") == []
    talk.hear("yes")
    assert [(fact["step_id"], fact["text"]) for fact in talk.now("done")] == [
        ("laser", "Set the laser level.")
    ]
    assert [fact.kind for fact in talk.facts if fact.kind in ("done", "accepted")] == [
        "done",
        "accepted",
        "accepted",
    ]


def test_it_is_said_again_on_repeat_and_after_a_break_and_not_after_a_no(small):
    talk = small(LASER + PAIR)
    assert talk.hear("repeat").spoken == ["Set the laser level. Left and right gap. Millimetres."]
    talk.hear("wait", "continue")
    assert talk.spoken[-1].endswith("Set the laser level. Left and right gap. Millimetres.")
    talk.hear("four two zero", "go back")
    assert talk.asked.endswith("Set the laser level. Left and right gap. Millimetres.")
    talk.hear("four two zero four one eight", "no")
    assert talk.state.mode is Mode.CONFIRMING
    assert talk.every("done") == []
    talk.hear("no")
    assert talk.asked.endswith("Left gap. Millimetres.")
    assert "laser" not in talk.asked


def test_gone_back_to_it_is_asked_for_alone_where_what_follows_is_done(small):
    talk = small(LASER + PAIR).hear("four two zero four one eight", "yes")
    talk.hear("go back")
    assert values(talk) == {"left_mm": 420}
    talk.hear("go back")
    talk.hear("go back")
    assert talk.asked == (
        "If it is not done yet: Set the laser level. Left and right gap. Millimetres."
    )


def test_two_of_no_set_are_said_in_one_answer_and_said_back_one_after_the_other(small):
    talk = small(EACH)
    assert talk.asked == "Left and right gap. Millimetres."
    talk.hear("four two zero four one eight")
    assert talk.spoken == ["Four two zero millimetres. Yes or no?"]
    assert values(talk) == {}
    talk.hear("yes")
    assert values(talk) == {"left_mm": 420}
    assert talk.spoken == ["Four one eight?"]
    assert values(talk.hear("yes")) == {"left_mm": 420, "right_mm": 418}


def test_a_no_to_one_of_no_set_asks_for_that_one_alone(small):
    talk = small(EACH).hear("four two zero four one eight", "no")
    assert talk.step_id == "left_mm"
    assert not talk.can_hear("four two zero four one eight")
    talk.hear("four two one", "yes")
    assert values(talk) == {"left_mm": 421}
    assert talk.state.mode is Mode.CONFIRMING
    assert values(talk.hear("yes")) == {"left_mm": 421, "right_mm": 418}


@pytest.mark.parametrize(
    ("words", "step_id", "mode"),
    [
        ("nine nine nine four one eight", "left_mm", Mode.ASKING),
        ("four one eight nine nine nine", "left_mm", Mode.CONFIRMING),
    ],
)
def test_an_unlikely_one_of_no_set_is_asked_for_by_itself(small, words, step_id, mode):
    talk = small(EACH).hear(words)
    assert (talk.step_id, talk.state.mode) == (step_id, mode)
    if mode is Mode.CONFIRMING:
        talk.hear("yes")
        assert (talk.step_id, talk.state.mode) == ("right_mm", Mode.ASKING)
        talk.hear("nine nine nine")
        assert "I heard nine nine nine." in talk.said[-1]


def test_a_break_forgets_what_was_not_yet_said_back(small):
    talk = small(EACH).hear("four two zero four one eight", "yes", "wait", "continue")
    assert (talk.step_id, talk.state.mode) == ("right_mm", Mode.ASKING)
    assert values(talk) == {"left_mm": 420}


def test_what_was_said_first_is_done_with_the_first_yes(small):
    talk = small(LASER + EACH).hear("four two zero four one eight")
    assert talk.every("done") == []
    talk.hear("yes")
    assert [fact["step_id"] for fact in talk.now("done")] == ["laser"]

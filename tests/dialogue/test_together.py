"""Two or three readings of one set are said back together; nothing counts before the yes."""

from __future__ import annotations

from decimal import Decimal

import pytest

from companion.dialogue.commanding import SILENCES_BEFORE_PAUSE
from companion.dialogue.state import Mode
from companion.errors import FileProblem
from companion.facts.meanings import Mended, Number
from companion.facts.talking import Heard, How

NAMES = ("one_mm", "two_mm", "three_mm", "four_mm", "five_mm")


def set_of(count: int, more: str = "") -> str:
    return "".join(
        f"- {{step: reading, id: {name}, title: Gap {name[:-3]}, ask: Gap., unit: mm, "
        f"read_back_together: gaps, plausible: [100, 900], resolution: 1, "
        f"number: {{style: whole, whole_digits: 3}}{more}}}\n"
        for name in NAMES[:count]
    )


def values(talk):
    return {name: int(taken.value) for name, taken in talk.state.readings.items()}


@pytest.mark.parametrize(("count", "parts"), [(2, [2]), (3, [3]), (4, [2, 2]), (5, [3, 2])])
def test_a_set_is_cut_into_even_parts_of_three_at_most(small, count, parts):
    talk = small(set_of(count))
    found = []
    for _ in range(count):
        talk.hear("four two zero")
        if talk.state.mode is Mode.CONFIRMING:
            found.append(len(talk.state.waiting))
            talk.hear("yes")
    assert found == parts
    assert list(values(talk)) == list(NAMES[:count])


def test_a_set_that_another_question_parts_is_cut_on_either_side_of_it(small):
    other = set_of(1).replace("one_mm", "other_mm").replace("read_back_together: gaps, ", "")
    *four, fifth = set_of(5).splitlines(keepends=True)
    talk = small("".join([*four, other, fifth]))
    found = []
    while talk.step_id != "finish":
        talk.hear("four two zero")
        if talk.state.mode is Mode.CONFIRMING:
            found.append(len(talk.state.waiting))
            talk.hear("yes")
    # The two that stand alone are said back by themselves.
    assert found == [2, 2, 0, 0]


def test_silences_are_counted_anew_after_a_no_to_several(small):
    talk = small(set_of(2)).hear("four two zero", "four one eight").silence().hear("no")
    for _ in range(SILENCES_BEFORE_PAUSE - 1):
        assert talk.silence().state.mode is not Mode.PAUSED
    assert talk.silence().state.mode is Mode.PAUSED


def test_a_miss_before_one_was_mended_is_not_held_against_what_follows(small):
    talk = small(set_of(2)).hear("four two zero", "four one eight").mishear()
    assert talk.state.no_matches == 1
    talk.hear("the second is four one nine")
    assert talk.state.no_matches == 0


def test_nothing_counts_before_the_yes_and_then_all_of_it_does(small):
    talk = small(set_of(3)).hear("four two zero", "four one eight", "four one nine")
    assert talk.spoken == ["Four two zero, four one eight, four one nine. Yes, or which one?"]
    assert values(talk) == {}
    talk.silence()
    assert values(talk) == {}
    talk.hear("yes")
    assert values(talk) == {"one_mm": 420, "two_mm": 418, "three_mm": 419}
    assert [fact["reading_id"] for fact in talk.now("accepted")] == ["one_mm", "two_mm", "three_mm"]


def test_the_third_is_mends_one_and_all_are_said_back_once_more(small):
    talk = small(set_of(3)).hear("four two zero", "four one eight", "four one seven")
    talk.hear("the third is four one nine")
    assert talk.spoken == ["Four two zero, four one eight, four one nine?"]
    assert values(talk) == {}
    assert values(talk.hear("yes"))["three_mm"] == 419


def test_no_has_each_said_back_by_itself(small):
    talk = small(set_of(3)).hear("four two zero", "four one eight", "four one seven", "no")
    assert talk.said[-1] == "Four two zero millimetres. Yes or no?"
    talk.hear("yes")
    assert values(talk) == {"one_mm": 420}
    talk.hear("yes")
    assert talk.said[-1] == "Four one seven millimetres. Yes or no?"
    talk.hear("no")
    assert values(talk) == {"one_mm": 420, "two_mm": 418}
    talk.hear("four one nine", "yes")
    assert values(talk) == {"one_mm": 420, "two_mm": 418, "three_mm": 419}


def test_a_number_alone_is_no_answer_there_nor_a_place_that_there_is_not(small):
    talk = small(set_of(2)).hear("four two zero", "four one eight")
    assert not talk.can_hear("four one nine")
    assert not talk.can_hear("the third is four one nine")
    talk.do(Heard(talk.prompt_id, Mended(3, Number(Decimal(419), None, "mm")), How()))
    assert [int(each.number.value) for each in talk.state.waiting] == [420, 418]


def test_an_unlikely_one_is_doubted_before_it_waits(small):
    talk = small(set_of(3)).hear("four two zero", "nine nine nine")
    assert "I heard nine nine nine." in talk.said[-1]
    assert len(talk.state.waiting) == 1


@pytest.mark.parametrize("at", ["asking", "confirming"])
def test_go_back_takes_back_the_last_of_them_alone(small, at):
    talk = small(set_of(3)).hear("four two zero", "four one eight")
    if at == "confirming":
        talk.hear("four one nine")
    before = len(talk.state.waiting)
    talk.hear("go back")
    assert len(talk.state.waiting) == before - 1
    assert talk.state.mode is Mode.ASKING


@pytest.mark.parametrize("broken_by", ["wait", "stop", "resumed"])
def test_after_a_break_what_waited_is_asked_for_again(small, broken_by):
    talk = small(set_of(3)).hear("four two zero", "four one eight")
    if broken_by == "resumed":
        talk.resume()
    else:
        talk.hear(broken_by, "continue")
    assert talk.state.waiting == ()
    assert talk.step_id == "one_mm"


def test_a_reading_that_may_stop_the_work_is_in_no_set(small):
    with pytest.raises(FileProblem, match="read back by itself"):
        small(set_of(2, ", allowed: {low: 1, high: 9, otherwise: No.}"))


def test_only_readings_that_are_said_alike_are_in_one_set(small):
    other = set_of(1) + set_of(2).splitlines()[1].replace("whole_digits: 3", "whole_digits: 4")
    with pytest.raises(FileProblem, match="numbers said alike"):
        small(other)


def test_what_stands_alone_or_moves_something_is_read_back_by_itself(shipped):
    """Only sets in which the arithmetic notices a wrong member: docs/talk.md has the figures."""
    sets: dict[str, list[str]] = {}
    for step in shipped.plan.steps:
        name = getattr(step, "read_back_together", None)
        if name is not None:
            sets.setdefault(name, []).append(step.id)
    assert {name: len(ids) for name, ids in sets.items()} == {
        "floor": 5,
        "left_run_out": 4,
        "right_run_out": 4,
        "beams": 2,
        "arms": 2,
        "toes": 2,
        "toes_mm": 2,
        # The far notches for the first look, then the near ones: the plate upright is in the first.
        "far_leans": 3,
        "far_swings": 2,
        "near_leans": 2,
        "near_swings": 2,
    }


def test_silences_and_misses_are_counted_anew_after_an_answer_that_waits(small):
    talk = small(set_of(2)).silence().mishear().hear("four two zero")
    assert [each.attempts for each in talk.state.waiting] == [2]
    for _ in range(SILENCES_BEFORE_PAUSE - 1):
        assert talk.silence().state.mode is Mode.ASKING
    assert talk.silence().state.mode is Mode.PAUSED
    talk = small(set_of(2)).mishear().mishear().hear("four two zero").mishear()
    assert talk.spoken[-1].startswith("Sorry?")
    assert "Digit" not in talk.spoken[-1]


def test_what_was_denied_together_is_asked_anew_behind_a_step_back(small):
    """What was set up may be another by then: no number of before is said back for one yes."""
    first = set_of(1).replace("one_mm", "first_mm").replace("read_back_together: gaps, ", "")
    talk = small(first + set_of(3)).hear("five zero zero", "yes")
    talk.hear("four two zero", "four one eight", "four one nine", "no")
    assert talk.spoken == ["Four two zero?"]
    talk.hear("go back", "go back")
    assert talk.step_id == "first_mm"
    talk.hear("five zero one", "yes", "four three zero")
    # The first of three: the others are still to be asked.
    assert talk.state.mode is Mode.ASKING
    assert talk.step_id == "two_mm"
    assert set(values(talk)) == {"first_mm"}

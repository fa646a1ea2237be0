"""Every slip does what it says, once, and is on the list."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import get_args

import pytest

from companion.facts.talking import Said
from companion.language.expectation import Expectation, NumberForm
from companion.language.loader import load_language
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.slips import (
    ACTING_SLIPS,
    READING_SLIPS,
    TALKING_SLIPS,
    ConfirmingSlip,
    PlannedSlip,
    SlipKind,
    Slips,
)
from tests.simulation.prompting import ARM, BOOT, SCREW, SPOT, TURN, ask, number_back
from tests.spoken_numbers import amount_in, number_words_in

Rehearse = Callable[..., Rehearsal]
PLAIN = Scenario(varied_wording=False)

SMALL_TALK = load_language().vocabulary.small_talk


def answers(rehearsal: Rehearsal, *asked: Said) -> list[str | None]:
    said = []
    for prompt in asked:
        rehearsal.heard(prompt)
        said.append(rehearsal.answer_text())
    return said


def slipping(rehearse: Rehearse, kind: SlipKind, seed: int = 3) -> Rehearsal:
    return rehearse(seed, scenario=PLAIN, planned_slips=(PlannedSlip(kind),))


def size(words: str | None) -> int:
    amount = amount_in(number_words_in(words or ""))
    assert amount is not None
    return int(amount)


def test_every_kind_belongs_to_one_group() -> None:
    groups = (*READING_SLIPS, *ACTING_SLIPS, *TALKING_SLIPS, *get_args(ConfirmingSlip))
    assert len(groups) == len(set(groups))
    kinds = {kind for group in get_args(SlipKind) for kind in (get_args(group) or (group,))}
    assert set(groups) == kinds


@pytest.mark.parametrize(
    ("kind", "off", "harmful"), [("off_by_ten", 10, True), ("off_by_one", 1, False)]
)
def test_a_scale_misread_by_a_mark(
    rehearse: Rehearse, kind: SlipKind, off: int, harmful: bool
) -> None:
    right, wrong = rehearse(scenario=PLAIN), slipping(rehearse, kind)
    first, second = answers(right, ARM)[0], answers(wrong, ARM)[0]
    assert abs(size(first) - size(second)) == off
    assert [(slip.kind, slip.harmful) for slip in wrong.slips.made] == [(kind, harmful)]
    assert right.slips.made == []


def test_digits_change_places(rehearse: Rehearse) -> None:
    right, wrong = rehearse(scenario=PLAIN), slipping(rehearse, "swaps_digits")
    first, second = size(answers(right, ARM)[0]), size(answers(wrong, ARM)[0])
    assert first != second
    assert sorted(str(first)) == sorted(str(second))
    assert wrong.slips.made[0].harmful


def test_the_other_arm_is_read(rehearse: Rehearse) -> None:
    wrong = slipping(rehearse, "reads_other_side")
    said = size(answers(wrong, ARM)[0])
    assert abs(said - wrong.world.true_value("arm", "right")) < 2
    assert abs(said - wrong.world.true_value("arm", "left")) > 2


def test_the_direction_is_mixed_up(rehearse: Rehearse) -> None:
    right, wrong = rehearse(scenario=PLAIN), slipping(rehearse, "mixes_up_direction")
    first, second = answers(right, SPOT)[0], answers(wrong, SPOT)[0]
    assert first is not None
    assert second is not None
    assert size(first) == size(second)
    assert {first.split()[-1], second.split()[-1]} == {"left", "right"}
    assert wrong.slips.made[0].harmful


def test_a_misread_value_is_stood_by_until_it_is_read_off_again(rehearse: Rehearse) -> None:
    wrong = slipping(rehearse, "off_by_ten")
    said = answers(wrong, ARM)[0]
    assert said is not None
    assert answers(wrong, number_back(str(size(said)))) == ["yes"]
    assert answers(wrong, ask("arm_left_mm", again=True)) == [said]
    assert abs(size(answers(wrong, ARM)[0]) - size(said)) >= 9


def test_the_stand_is_turned_the_wrong_way(rehearse: Rehearse) -> None:
    wrong = slipping(rehearse, "moves_wrong_way")
    before = wrong.world.stand.turn_deg
    assert answers(wrong, TURN) == ["done"]
    assert wrong.world.stand.turn_deg - before == pytest.approx(-1.0, abs=0.3)


@pytest.mark.parametrize("seed", range(6))
def test_a_wrong_amount_is_half_or_double(rehearse: Rehearse, seed: int) -> None:
    wrong = slipping(rehearse, "wrong_amount", seed)
    before = wrong.world.stand.turn_deg
    answers(wrong, TURN)
    turned = wrong.world.stand.turn_deg - before
    assert turned == pytest.approx(0.5, abs=0.15) or turned == pytest.approx(2.0, abs=0.4)


def test_a_screw_is_turned_the_wrong_way_or_is_the_wrong_one(rehearse: Rehearse) -> None:
    moved = {}
    for kind in (None, "screw_wrong_way", "other_screw"):
        planned = () if kind is None else (PlannedSlip(kind),)
        rehearsal = rehearse(scenario=PLAIN, planned_slips=planned)
        before = rehearsal.world.truth_now()
        assert answers(rehearsal, SCREW) == ["done"]
        now = rehearsal.world.truth_now()
        moved[kind] = (
            now.aim_yaw_deg - before.aim_yaw_deg,
            now.aim_elevation_deg - before.aim_elevation_deg,
        )
    assert moved[None][0] > 1
    assert moved["screw_wrong_way"][0] == pytest.approx(-moved[None][0], abs=0.2)
    assert abs(moved["other_screw"][0]) < 0.4
    assert moved["other_screw"][1] > 1


def test_a_late_answer_comes_under_the_next_prompt(rehearse: Rehearse) -> None:
    said = answers(slipping(rehearse, "late"), ARM, SPOT, SPOT)
    assert said[0] is None
    assert "left" not in str(said[1])
    assert "right" not in str(said[1])
    assert size(said[1]) > 600
    assert str(said[2]).split()[-1] in ("left", "right")


def test_an_answer_said_twice_comes_under_the_next_prompt_too(rehearse: Rehearse) -> None:
    wrong = slipping(rehearse, "says_it_twice")
    said = answers(wrong, BOOT, ARM, ARM)
    assert said[:2] == ["done", "done"]
    assert size(said[2]) > 600


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("says_wait", "wait"),
        ("says_repeat", "repeat"),
        ("says_go_back", "go back"),
        ("asks_where", "where are we"),
        ("silent", None),
    ],
)
def test_something_else_is_said_first_and_nothing_done(
    rehearse: Rehearse, kind: SlipKind, words: str | None
) -> None:
    wrong = slipping(rehearse, kind)
    before = wrong.world.stand
    assert answers(wrong, TURN) == [words]
    assert wrong.world.stand == before
    assert answers(wrong, TURN) == ["done"]
    assert wrong.world.stand != before
    assert [slip.harmful for slip in wrong.slips.made] == [False]


def test_talk_outside_the_language(rehearse: Rehearse) -> None:
    said = answers(slipping(rehearse, "out_of_grammar"), ARM)[0]
    assert said in SMALL_TALK
    step = load_language().grammar.for_step(
        Expectation(number=NumberForm("whole", 3, units=("mm",)), done=True, yes_no=True)
    )
    assert all(step.parse(words) is None for words in SMALL_TALK)


def test_a_wrong_read_back_is_confirmed_only_by_a_person_s_failure(rehearse: Rehearse) -> None:
    wrong_value = number_back("999")
    assert answers(rehearse(scenario=PLAIN), ARM, wrong_value)[1] == "no"
    wrong = slipping(rehearse, "confirms_wrong")
    assert answers(wrong, ARM, wrong_value)[1] == "yes"
    assert wrong.slips.made[0].harmful


def test_a_planned_slip_waits_for_its_occasion_and_its_scale(rehearse: Rehearse) -> None:
    plan = PlannedSlip("off_by_ten", occasion=2, scale="spot")
    rehearsal = rehearse(scenario=PLAIN, planned_slips=(plan,))
    answers(rehearsal, ARM, SPOT, ARM, ARM)
    assert rehearsal.slips.made == []
    answers(rehearsal, SPOT)
    assert [slip.kind for slip in rehearsal.slips.made] == ["off_by_ten"]
    assert rehearsal.slips.made[0].meant.startswith("spot left")


def test_chances_strike_as_often_as_they_say() -> None:
    slips = Slips(Random(5), chances={"silent": 0.1})
    struck = sum(slips.strikes("silent") for _ in range(4000))
    assert struck / 4000 == pytest.approx(0.1, abs=0.02)
    assert not any(slips.strikes("late") for _ in range(100))

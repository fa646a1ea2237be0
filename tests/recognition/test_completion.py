"""What may still follow: how long an answer is waited for."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from companion.facts.meanings import COMMAND_NAMES, Number, Pair
from companion.language.expectation import Expectation, NumberForm
from companion.language.grammar import StepGrammar
from companion.recognition.own.acceptor import Acceptor, make_acceptor
from companion.recognition.own.completion import Completion, completion
from companion.recognition.own.search import Hearing, Sentence
from companion.runtime import assembly

WHOLE = NumberForm("whole", 4, units=("mm",))
TENTHS = NumberForm("decimal", 2, 1, units=("db",))
SIDEWAYS = NumberForm("whole", 3, directions=("left", "right"), units=("mm",))


def between(low: str, high: str) -> Callable[[object], bool]:
    """A plausible range, as the conversation holds it."""

    def expects(meaning: object) -> bool:
        if isinstance(meaning, Pair):
            return expects(meaning.first) and expects(meaning.second)
        return not isinstance(meaning, Number) or Decimal(low) <= meaning.value <= Decimal(high)

    return expects


def machine(step: StepGrammar) -> Acceptor:
    numbers = {word: number for number, word in enumerate(sorted(step.words()), 1)}
    return make_acceptor(step.automaton, numbers.__getitem__)


def after(
    text: str, expectation: Expectation, expects: Callable[[object], bool] | None
) -> Completion:
    step = assembly.language().for_step(expectation)
    acceptor = machine(step)
    state = 0
    for word in text.split():
        state = next(to for to, said in acceptor.steps[state].values() if said == word)
    said = Sentence(tuple(text.split()), -0.01, step.parse(text))
    whole = (said,) if acceptor.ends[state] else ()
    heard = Hearing(whole, 0.0, 1.0, -0.01 if not whole else -9.0, state)
    return completion(heard, acceptor, step, expects)


@pytest.mark.parametrize(
    ("text", "form", "low", "high", "wanted"),
    [
        # All the digits of the range are there: 2841 is none.
        ("two eight four", WHOLE, "140", "420", "complete"),
        ("two hundred and eighty four", WHOLE, "140", "420", "over"),
        # "and four" may follow.
        ("two hundred", WHOLE, "140", "420", "open"),
        ("two hundred and eighty", WHOLE, "140", "420", "open"),
        # But 201 is as unlikely as 284 was.
        ("two hundred", WHOLE, "150", "200", "complete"),
        ("two", WHOLE, "140", "420", "unfinished"),
        ("two eight", WHOLE, "140", "420", "unfinished"),
        ("twenty", WHOLE, "10", "40", "open"),
        ("twelve", WHOLE, "10", "40", "complete"),
        # "point five" may follow, but only once.
        ("twelve", TENTHS, "10", "40", "open"),
        ("twelve point five", TENTHS, "10", "40", "over"),
        # With its direction it is over, whatever the range.
        ("five left", SIDEWAYS, "0", "30", "over"),
        ("five", SIDEWAYS, "0", "30", "unfinished"),
    ],
)
def test_a_number_is_complete_where_no_other_likely_one_begins_with_it(
    text: str, form: NumberForm, low: str, high: str, wanted: Completion
) -> None:
    assert after(text, Expectation(form, commands=COMMAND_NAMES), between(low, high)) == wanted


def test_where_two_readings_are_asked_for_the_first_may_always_go_on() -> None:
    three = NumberForm("whole", 3, units=("mm",))
    expectation = Expectation(three, commands=COMMAND_NAMES, pair=True)
    assert after("two eight four millimetres", expectation, between("140", "420")) == "open"
    assert after("two eight four", expectation, between("140", "420")) == "open"


def test_what_means_the_same_need_not_be_waited_for() -> None:
    commands = Expectation(commands=COMMAND_NAMES)
    assert after("stop", commands, between("0", "0")) == "over"


def test_without_a_range_nothing_is_known_of_what_may_follow() -> None:
    assert after("two eight four", Expectation(WHOLE), None) == "whole"


def test_what_ways_of_going_on_there_are_is_looked_at_within_bounds() -> None:
    looked_at: list[object] = []

    def expects(meaning: object) -> bool:
        looked_at.append(meaning)
        return meaning == Number(Decimal(1), unit="mm")

    assert after("one", Expectation(WHOLE, commands=COMMAND_NAMES), expects) == "complete"
    assert 10 < len(looked_at) < 100

"""What is spoken: digits that can be checked by ear, directions in words, no sign ever."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from companion.facts.meanings import Number
from companion.language.expectation import Expectation, NumberForm
from companion.language.speaking import SpeakingError
from tests.spoken import (
    DIRECTIONS,
    UNITS,
    read_back,
    say_cardinal,
    say_digits,
    say_list,
    say_number,
    say_turns,
)


@pytest.mark.parametrize(
    ("number", "spoken"),
    [
        (Number(Decimal(775), None, "mm"), "seven seven five millimetres"),
        (Number(Decimal("0.40"), "left", "deg"), "zero point four zero degrees left"),
        (Number(Decimal(1), "up", "mm"), "one millimetre up"),
        (Number(Decimal("1.0"), "up", "mm"), "one point zero millimetres up"),
        (Number(Decimal("12.6"), None, "volt"), "one two point six volts"),
        (Number(Decimal("2.3"), None, "bar"), "two point three bar"),
        (Number(Decimal(0), None, "deg"), "zero degrees"),
        (Number(Decimal(21), None, "celsius"), "two one degrees celsius"),
        (Number(Decimal("2.75"), "clockwise", "turns"), "two and three quarter turns clockwise"),
        (Number(Decimal("7"), None, None), "seven"),
    ],
)
def test_a_reading_is_said_back_digit_by_digit(number, spoken):
    assert read_back(number) == spoken


@pytest.mark.parametrize(
    ("quarters", "spoken"),
    [
        (0, "zero turns"),
        (1, "a quarter turn"),
        (2, "a half turn"),
        (3, "three quarter turns"),
        (4, "one turn"),
        (5, "one and a quarter turns"),
        (8, "two turns"),
        (11, "two and three quarter turns"),
        (42, "one zero and a half turns"),
    ],
)
def test_turns_are_said_in_quarters(quarters, spoken):
    assert say_turns(Fraction(quarters, 4)) == spoken


@given(st.integers(0, 999_999))
def test_cardinals_are_those_of_an_independent_library(whole):
    assert say_cardinal(whole) == num2words(whole).replace(",", "").replace("-", " ")


@given(st.fractions(max_value=0).filter(lambda value: value < 0), st.sampled_from([None, *UNITS]))
def test_no_negative_value_is_ever_spoken(value, unit):
    with pytest.raises(SpeakingError):
        say_number(value, unit)
    with pytest.raises(SpeakingError):
        say_turns(value)


@pytest.mark.parametrize("value", ["-0.25", "-1", "-0", "-0.0", "NaN", "Infinity"])
@pytest.mark.parametrize("unit", [None, "deg", "turns"])
def test_a_sign_is_refused_and_not_dropped(value, unit):
    with pytest.raises(SpeakingError):
        say_number(Decimal(value), unit)


@pytest.mark.parametrize(
    "call",
    [
        lambda: say_number(Fraction(1, 3)),
        lambda: say_number(1, "furlong"),
        lambda: say_number(1, "mm", "sideways"),
        lambda: say_turns(Fraction(1, 8)),
        lambda: say_cardinal(1_000_000),
        lambda: say_digits("1.5"),
        lambda: say_digits(""),
        lambda: say_digits("٣"),
    ],
)
def test_what_has_no_exact_words_is_refused(call):
    with pytest.raises(SpeakingError, match="wanted"):
        call()


def test_lists_are_said_as_one_sentence():
    assert say_list(["wait"]) == "wait"
    assert say_list(["yes", "no"], last="or") == "yes or no"
    assert say_list(["yes", "no", "stop"]) == "yes, no and stop"
    assert say_list([]) == ""


def plain_values(form):
    places = form.decimals
    return st.integers(0, 10 ** (form.max_whole_digits + places) - 1).map(
        lambda digits: Decimal(digits).scaleb(-places)
    )


@given(st.data())
def test_what_is_said_back_is_understood_as_the_same_number(grammar, data):
    unit = data.draw(st.sampled_from([unit for unit in UNITS if unit != "turns"]))
    direction = data.draw(st.sampled_from([None, *DIRECTIONS]))
    decimals = data.draw(st.integers(0, 4))
    form = NumberForm(
        "decimal" if decimals else "whole",
        data.draw(st.integers(1, 6)),
        decimals,
        () if direction is None else (direction,),
        (unit,),
        digits_only=data.draw(st.booleans()),
    )
    number = Number(data.draw(plain_values(form)), direction, unit)
    understood = grammar.for_step(Expectation(form)).parse(read_back(number))
    assert understood == number
    assert str(understood.value) == str(number.value)


@given(st.integers(0, 399), st.sampled_from([None, "clockwise", "anticlockwise"]))
def test_turns_said_back_are_understood_as_the_same_turns(grammar, quarters, direction):
    directions = () if direction is None else ("clockwise", "anticlockwise")
    step = grammar.for_step(Expectation(NumberForm("quarters", 2, 0, directions, ("turns",))))
    number = Number(Decimal(quarters) / 4, direction, "turns")
    assert step.parse(read_back(number)) == number

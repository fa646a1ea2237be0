"""Amounts as the companion speaks them, back to figures."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.facts.meanings import Number
from tests.spoken import read_back, say_number, say_turns
from tests.spoken_numbers import amount_in, number_words_in


@given(st.integers(0, 999_999))
def test_whole_amounts(whole: int) -> None:
    assert amount_in(say_number(whole)) == whole


@given(st.decimals(0, 999, places=2))
def test_amounts_with_decimals(value: Decimal) -> None:
    assert amount_in(say_number(value)) == value
    assert amount_in(number_words_in(read_back(Number(value, None, "db")))) == value


@given(st.integers(0, 80))
def test_turns_in_quarters(quarters: int) -> None:
    turns = Fraction(quarters, 4)
    words = number_words_in(f"{say_turns(turns)} anticlockwise")
    assert amount_in(words) == Decimal(quarters) / 4


@pytest.mark.parametrize(
    ("words", "figure"),
    [
        ("twelve hundred and three", "1203"),
        ("seven seven five", "775"),
        ("one and a half", "1.5"),
        ("three quarter", "0.75"),
        ("12.5", "12.5"),
    ],
)
def test_other_ways_to_say_it(words: str, figure: str) -> None:
    assert amount_in(words) == Decimal(figure)


def test_no_number_is_no_number() -> None:
    assert amount_in("to the left and") is None
    assert number_words_in("bumper work") == ""

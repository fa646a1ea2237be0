"""Spoken amounts are shown as figures, and nothing else is."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.display.written import written
from companion.words.meanings import Number
from companion.words.speaking import read_back, say_number, say_turns

NO_BREAK = "\u00a0"


@given(st.integers(0, 999_999))
def test_every_whole_number_is_written_with_its_figures(number: int) -> None:
    assert written(
        f"Move it {say_number(number, 'mm')}."
    ) == f"Move it {number}{NO_BREAK}mm.".replace("1\u00a0mm", "1\u00a0mm")


@given(st.decimals(0, 9999, places=2, allow_nan=False, allow_infinity=False))
def test_every_decimal_keeps_all_its_figures(number: Decimal) -> None:
    shown = format(number.copy_abs(), "f")
    assert written(say_number(number.copy_abs(), "deg")) == f"{shown}°"


@given(st.integers(0, 9999))
def test_what_is_said_back_digit_by_digit_is_written_as_one_number(number: int) -> None:
    digits = Number(Decimal(number), "left", "mm")
    assert written(read_back(digits)) == f"{number}{NO_BREAK}mm left"


@pytest.mark.parametrize(
    ("quarters", "shown"),
    [(1, "¼ turn"), (2, "½ turn"), (3, "¾ turn"), (4, "1 turn"), (5, "1¼ turns"), (11, "2¾ turns")],
)
def test_turns_are_written_in_quarters(quarters: int, shown: str) -> None:
    assert written(say_turns(Fraction(quarters, 4))).replace(NO_BREAK, " ") == shown


@pytest.mark.parametrize(
    "said",
    [
        "Once more. One of the two screws, please.",
        "The last one was not heard.",
        "All four tyres cold, at placard pressure.",
        "We read all five again.",
        "Battery support must hold between twelve and a half and fourteen and a half volts.",
        "twenty one two millimetres",
    ],
)
def test_words_that_are_no_amount_stay_words(said: str) -> None:
    assert written(said) == said


def test_a_stage_has_its_number() -> None:
    assert written("Stage six of fourteen, wheel clamps.") == "Stage 6 of 14, wheel clamps."

"""One value, told twice: what is spoken and what is written say the same."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from companion.words.told import Told, both, cardinal, figure, joined, tell, written
from hypothesis import given
from hypothesis import strategies as st

from tests.spoken_numbers import amount_in

NO_BREAK = "\u00a0"


@given(st.integers(0, 999_999))
def test_every_whole_number_is_written_with_the_figures_that_are_spoken(number: int) -> None:
    told = figure(number, "mm")
    assert told.written == f"{number}{NO_BREAK}mm"
    assert amount_in(told) == number
    assert amount_in(cardinal(number)) == number
    assert cardinal(number).written == str(number)


@given(st.decimals(0, 9999, places=2, allow_nan=False, allow_infinity=False))
def test_every_decimal_keeps_all_its_figures(number: Decimal) -> None:
    told = figure(number.copy_abs(), "deg", "left")
    assert told.written == f"{number.copy_abs():f}° left"
    assert amount_in(told) == number.copy_abs()


@given(st.integers(0, 60))
def test_turns_are_written_in_quarters(quarters: int) -> None:
    told = figure(Fraction(quarters, 4), "turns")
    assert amount_in(told) == Fraction(quarters, 4)
    whole, part = divmod(quarters, 4)
    sign = ("", "¼", "½", "¾")[part]
    size = f"{whole if whole or not part else ''}{sign}"
    assert told.written == f"{size}{NO_BREAK}{'turn' if quarters <= 4 else 'turns'}"


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (Decimal("0.16"), "deg", "0.16°"),
        (Decimal("2.6"), "mm_per_m", "2.6\u00a0mm/m"),
        (Decimal("13.5"), "volt", "13.5\u00a0V"),
        (21, "celsius", "21\u00a0°C"),
        (Decimal("58.5"), "db", "58.5\u00a0dB"),
        (3, None, "3"),
    ],
)
def test_units_are_signs(value: Decimal | int, unit: str | None, shown: str) -> None:
    assert figure(value, unit).written == shown


def test_parts_of_a_sentence_keep_both_forms() -> None:
    told = tell("Move it {amount} to the {way}.", amount=figure(12, "mm"), way="left")
    assert told == "Move it one two millimetres to the left."
    assert written(told) == "Move it 12\u00a0mm to the left."
    assert joined("", told, "Say done.").written == "Move it 12\u00a0mm to the left. Say done."
    assert both(told, str.lower).written == "move it 12\u00a0mm to the left."


def test_a_plain_text_is_written_as_it_is_spoken() -> None:
    assert written("Stand up.") == "Stand up."
    assert type(str(Told("one", "1"))) is str

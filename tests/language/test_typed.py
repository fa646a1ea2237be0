"""The keyboard says the same as the voice."""

from decimal import Decimal

import pytest

from companion.language.expectation import Expectation, NumberForm
from companion.language.meanings import Command, Number
from tests.spoken import words_from_typed

SPOT = Expectation(
    NumberForm("decimal", 3, 2, ("left", "right"), ("mm",)), commands=("go_back", "stop")
)
TURNS = Expectation(
    NumberForm("quarters", 2, directions=("clockwise", "anticlockwise"), units=("turns",))
)


@pytest.mark.parametrize(
    ("typed", "value", "direction"),
    [
        ("12 mm left", "12", "left"),
        ("12mm left", "12", "left"),
        ("left 12.50", "12.50", "left"),
        (".5 right", "0.5", "right"),
        ("0", "0", None),
        ("Twelve MM Left", "12", "left"),
    ],
)
def test_a_typed_reading(grammar, typed, value, direction):
    meaning = grammar.for_step(SPOT).parse(words_from_typed(typed))
    assert meaning == Number(Decimal(value), direction, "mm")
    assert str(meaning.value) == value


@pytest.mark.parametrize(
    ("typed", "value"),
    [("2 3/4 turns clockwise", "2.75"), ("1/4 clockwise", "0.25"), ("clockwise 1 1/2", "1.5")],
)
def test_typed_turns(grammar, typed, value):
    meaning = grammar.for_step(TURNS).parse(words_from_typed(typed))
    assert meaning == Number(Decimal(value), "clockwise", "turns")


def test_typed_words_pass_as_they_are(grammar):
    assert grammar.for_step(SPOT).parse(words_from_typed("go back")) == Command("go_back")


@pytest.mark.parametrize(
    "typed",
    [
        "-0.25",
        "-12 left",
        "+12 left",
        "0,4 left",
        "1,200",
        "12. left",
        "1e2 left",
        "٣ left",
        "12 l",
        "007 left",
        "",
        "   ",
        "12 mm mm left",
        "12 13 left",
        "3/8 left",
    ],
)
def test_signs_commas_and_the_unclear_are_refused(grammar, typed):
    assert grammar.for_step(SPOT).parse(words_from_typed(typed)) is None

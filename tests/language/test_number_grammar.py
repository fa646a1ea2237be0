"""How numbers are heard: each given what the prompt allows, and the words."""

from decimal import Decimal

import pytest
from num2words import num2words

from companion.facts.meanings import COMMAND_NAMES, Choice, No, Number, Yes
from companion.language.expectation import Expectation, ExpectationError, NumberForm

ARM_SCALE = NumberForm("whole", 3, units=("mm",))
SPOT_SCALE = NumberForm("whole", 3, directions=("left", "right"), units=("mm",))
DISTANCE = NumberForm("whole", 4, units=("mm",))
TOE_ANGLE = NumberForm("decimal", 1, 2, ("in", "out"), ("deg",))
ECHO = NumberForm("decimal", 3, 1, units=("db",))
TURNS = NumberForm("quarters", 2, directions=("clockwise", "anticlockwise"), units=("turns",))
ANY_UNIT = NumberForm("decimal", 3, 2, units=("mm", "deg"))


def heard(grammar, form, text, **more):
    return grammar.for_step(Expectation(form, commands=COMMAND_NAMES, **more)).parse(text)


@pytest.mark.parametrize(
    ("form", "text", "value", "direction"),
    [
        (ARM_SCALE, "seven hundred and seventy five", "775", None),
        (ARM_SCALE, "seven hundred seventy five millimetres", "775", None),
        (ARM_SCALE, "seven seven five", "775", None),
        (ARM_SCALE, "seven seventy five", "775", None),
        (ARM_SCALE, "seven eleven", "711", None),
        (ARM_SCALE, "seven oh five", "705", None),
        (ARM_SCALE, "one hundred and five", "105", None),
        (ARM_SCALE, "a hundred and five millimeters", "105", None),
        (ARM_SCALE, "niner zero niner", "909", None),
        (ARM_SCALE, "zero", "0", None),
        (ARM_SCALE, "nought", "0", None),
        (ARM_SCALE, "  Seven\tSEVEN five ", "775", None),
        (DISTANCE, "twelve hundred", "1200", None),
        (DISTANCE, "one thousand two hundred and five", "1205", None),
        (DISTANCE, "twenty seven hundred and five", "2705", None),
        (DISTANCE, "one two zero five", "1205", None),
        (SPOT_SCALE, "twelve millimetres left", "12", "left"),
        (SPOT_SCALE, "twelve left", "12", "left"),
        (SPOT_SCALE, "left twelve", "12", "left"),
        (SPOT_SCALE, "right one two millimetres", "12", "right"),
        (SPOT_SCALE, "zero", "0", None),
        (SPOT_SCALE, "zero left", "0", "left"),
        (TOE_ANGLE, "point one five in", "0.15", "in"),
        (TOE_ANGLE, "nought point four out", "0.4", "out"),
        (TOE_ANGLE, "oh point oh five degrees in", "0.05", "in"),
        (TOE_ANGLE, "out zero decimal two zero", "0.20", "out"),
        (TOE_ANGLE, "zero point zero zero", "0.00", None),
        (TOE_ANGLE, "one in", "1", "in"),
        (ECHO, "seventy two point four decibels", "72.4", None),
        (ECHO, "seven two point four", "72.4", None),
        (TURNS, "two and three quarters clockwise", "2.75", "clockwise"),
        (TURNS, "two and three quarter turns clockwise", "2.75", "clockwise"),
        (TURNS, "a quarter turn anticlockwise", "0.25", "anticlockwise"),
        (TURNS, "counterclockwise one half", "0.5", "anticlockwise"),
        (TURNS, "half a turn clockwise", "0.5", "clockwise"),
        (TURNS, "three quarters of a turn clockwise", "0.75", "clockwise"),
        (TURNS, "one turn clockwise", "1", "clockwise"),
        (TURNS, "zero turns", "0", None),
    ],
)
def test_a_number_is_understood(grammar, form, text, value, direction):
    number = heard(grammar, form, text)
    assert number == Number(Decimal(value), direction, form.units[0])
    assert str(number.value) == value


@pytest.mark.parametrize(
    ("form", "text"),
    [
        (DISTANCE, "thirteen thirty"),
        (DISTANCE, "seven seventy five"),
        (DISTANCE, "ten hundred"),
        (DISTANCE, "twelve oh five"),
        (ARM_SCALE, "thirteen thirty"),
        (ARM_SCALE, "seventy seven five"),
        (ARM_SCALE, "seven seven five five"),
        (ARM_SCALE, "one thousand"),
        (ARM_SCALE, "seven five point two"),
        (ARM_SCALE, "minus seven"),
        (ARM_SCALE, "oh"),
        (ARM_SCALE, "oh five"),
        (ARM_SCALE, "zero seven five"),
        (ARM_SCALE, "double two"),
        (ARM_SCALE, "hundred"),
        (ARM_SCALE, "seven hundred and"),
        (ARM_SCALE, "seven seven five left"),
        (ARM_SCALE, "seven seven five degrees"),
        (ARM_SCALE, "775"),
        (ARM_SCALE, "seven, seven five"),
        (ARM_SCALE, ""),
        (ARM_SCALE, "um seven seven five"),
        (ARM_SCALE, " ".join(["seven"] * 500)),
        (SPOT_SCALE, "twelve"),
        (SPOT_SCALE, "twelve millimetres"),
        (SPOT_SCALE, "left"),
        (SPOT_SCALE, "left twelve left"),
        (SPOT_SCALE, "left twelve right"),
        (SPOT_SCALE, "twelve up"),
        (SPOT_SCALE, "twelve to the left"),
        (TOE_ANGLE, "point in"),
        (TOE_ANGLE, "zero point in"),
        (TOE_ANGLE, "point one two three in"),
        (TOE_ANGLE, "zero point fifteen in"),
        (TOE_ANGLE, "twelve point one in"),
        (TOE_ANGLE, "zero point two"),
        (TOE_ANGLE, "toe in zero point two"),
        (ECHO, "point"),
        (ECHO, "minus zero point two five"),
        (TURNS, "two point five clockwise"),
        (TURNS, "two three quarters clockwise"),
        (TURNS, "two and three quarters"),
        (TURNS, "one third clockwise"),
    ],
)
def test_what_is_unclear_or_outside_is_never_guessed(grammar, form, text):
    assert heard(grammar, form, text) is None


def test_pairs_are_refused_where_decimals_could_be_meant(grammar):
    assert heard(grammar, NumberForm("decimal", 3, 2), "seven seventy five") is None


def test_of_several_units_one_must_be_said(grammar):
    assert heard(grammar, ANY_UNIT, "two point five") is None
    assert heard(grammar, ANY_UNIT, "two point five degrees") == Number(Decimal("2.5"), None, "deg")
    assert heard(grammar, ANY_UNIT, "two millimetres") == Number(Decimal(2), None, "mm")


def test_without_units_none_is_understood_and_none_is_meant(grammar):
    form = NumberForm("whole", 2)
    assert heard(grammar, form, "twelve") == Number(Decimal(12), None, None)
    assert heard(grammar, form, "twelve millimetres") is None


def test_asked_digit_by_digit_only_digits_are_understood(grammar):
    form = NumberForm("decimal", 3, 2, ("left", "right"), ("mm",), digits_only=True)
    assert heard(grammar, form, "one two point five left") == Number(Decimal("12.5"), "left", "mm")
    for text in ("twelve left", "one hundred left", "twelve point five left", "seven seventy left"):
        assert heard(grammar, form, text) is None
    assert "hundred" not in grammar.for_step(Expectation(form)).words()


def test_while_a_number_waits_for_its_yes_it_can_be_corrected(grammar):
    for text in ("seven seven six", "correction seven seven six"):
        assert heard(grammar, ARM_SCALE, text, yes_no=True) == Number(Decimal(776), None, "mm")
    assert heard(grammar, ARM_SCALE, "correct", yes_no=True) == Yes()
    assert heard(grammar, ARM_SCALE, "correction", yes_no=True) == No()
    assert heard(grammar, ARM_SCALE, "correction seven seven six") is None
    assert heard(grammar, ARM_SCALE, "yes") is None


def test_an_answer_to_another_prompt_is_not_understood(grammar):
    assert heard(grammar, None, "crash repair", choices=("crash",)) == Choice("crash")
    assert heard(grammar, None, "bumper work", choices=("crash",)) is None


def test_every_cardinal_up_to_9999_is_understood_without_its_and(grammar):
    step = grammar.for_step(Expectation(DISTANCE))
    for whole in range(10_000):
        words = num2words(whole).replace(",", "").replace("-", " ")
        text = words.replace(" and ", " ")
        assert step.parse(text) == Number(Decimal(whole), None, "mm"), text


def test_every_digit_string_means_its_digits_or_nothing(grammar):
    names = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]
    step = grammar.for_step(Expectation(DISTANCE))
    for whole in range(10_000):
        digits = str(whole)
        text = " ".join(names[int(digit)] for digit in digits)
        assert step.parse(text) == Number(Decimal(whole), None, "mm")
        assert step.parse(f"zero {text}") is None


@pytest.mark.parametrize(
    "arguments",
    [
        {"style": "whole", "max_whole_digits": 0},
        {"style": "whole", "max_whole_digits": 7},
        {"style": "whole", "max_whole_digits": 3, "decimals": 1},
        {"style": "decimal", "max_whole_digits": 3},
        {"style": "decimal", "max_whole_digits": 3, "decimals": 5},
        {"style": "quarters", "max_whole_digits": 3, "units": ("turns",)},
        {"style": "quarters", "max_whole_digits": 1},
        {"style": "quarters", "max_whole_digits": 1, "units": ("mm",)},
        {"style": "quarters", "max_whole_digits": 1, "units": ("turns",), "digits_only": True},
        {"style": "whole", "max_whole_digits": 1, "units": ("turns",)},
        {"style": "whole", "max_whole_digits": 1, "units": ("cubit",)},
        {"style": "whole", "max_whole_digits": 1, "directions": ("sideways",)},
    ],
)
def test_a_form_that_does_not_fit_together_is_refused(arguments):
    with pytest.raises(ExpectationError, match="wanted"):
        NumberForm(**arguments)


def test_an_expectation_of_nothing_or_of_the_unknown_is_refused(grammar):
    with pytest.raises(ExpectationError, match="at least a command"):
        grammar.for_step(Expectation())
    with pytest.raises(ExpectationError, match="wanted one of replaced"):
        grammar.for_step(Expectation(choices=("teleported",)))
    with pytest.raises(ExpectationError, match="wanted one of repeat"):
        Expectation(commands=("dance",))
    with pytest.raises(ExpectationError, match="each once"):
        Expectation(choices=("crash", "crash"))

"""The keyboard says the same as the voice."""

from decimal import Decimal

import pytest

from companion.facts.meanings import Choice, Command, Done, No, Number, Pair, Yes
from companion.language.expectation import Expectation, NumberForm
from companion.language.loader import load_language
from companion.runtime.assembly import typed_words
from tests.spoken import as_typed, words_from_typed

SPOT = Expectation(
    NumberForm("decimal", 3, 2, ("left", "right"), ("mm",)), commands=("go_back", "stop")
)
TURNS = Expectation(
    NumberForm("quarters", 2, directions=("clockwise", "anticlockwise"), units=("turns",))
)


def understood(grammar, expectation, typed):
    step = grammar.for_step(expectation)
    return step.parse(as_typed(typed, step))


@pytest.mark.parametrize(
    ("typed", "value", "direction"),
    [
        ("12 mm left", "12", "left"),
        ("12mm left", "12", "left"),
        ("left 12.50", "12.50", "left"),
        (".5 right", "0.5", "right"),
        ("0", "0", None),
        ("Twelve MM Left", "12", "left"),
        ("12,5 left", "12.5", "left"),
        ("0,4 left", "0.4", "left"),
        ("12left", "12", "left"),
        ("12 L", "12", "left"),
        ("12.5r", "12.5", "right"),
        ("r 3", "3", "right"),
    ],
)
def test_a_typed_reading(grammar, typed, value, direction):
    meaning = understood(grammar, SPOT, typed)
    assert meaning == Number(Decimal(value), direction, "mm")
    assert str(meaning.value) == value


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("2 3/4 turns clockwise", "2.75"),
        ("1/4 clockwise", "0.25"),
        ("clockwise 1 1/2", "1.5"),
        ("1.5 clockwise", "1.5"),
        ("0.25 cw", "0.25"),
        (".75 clockwise", "0.75"),
    ],
)
def test_typed_turns(grammar, typed, value):
    meaning = understood(grammar, TURNS, typed)
    assert meaning == Number(Decimal(value), "clockwise", "turns")


def test_typed_words_pass_as_they_are(grammar):
    assert grammar.for_step(SPOT).parse(words_from_typed("go back")) == Command("go_back")


@pytest.mark.parametrize(
    "typed",
    [
        "-0.25",
        "-12 left",
        "+12 left",
        "1,200",
        "1,200 left",
        "12. left",
        "1e2 left",
        "٣ left",
        "007 left",
        "",
        "   ",
        "12 mm mm left",
        "12 13 left",
        "3/8 left",
    ],
)
def test_signs_commas_and_the_unclear_are_refused(grammar, typed):
    assert understood(grammar, SPOT, typed) is None


def test_what_is_short_means_what_the_prompt_asks_for(grammar):
    done, yes_no = Expectation(done=True), Expectation(yes_no=True)
    assert understood(grammar, done, "ok") == Done()
    assert understood(grammar, yes_no, "OK") == Yes()
    assert understood(grammar, yes_no, "y") == understood(grammar, yes_no, "yep") == Yes()
    assert understood(grammar, yes_no, "n") == No()
    assert understood(grammar, done, "n") is None


@pytest.mark.parametrize("typed", ["12", "-12", "0.02 mm", "+3"])
def test_a_number_that_lacks_nothing_but_its_direction_is_known_for_that(typed):
    assert load_language().missing(SPOT, typed) == "direction"


@pytest.mark.parametrize("typed", ["left", "12 left", "0", "go back", "-", "", "twelve what"])
def test_anything_else_lacks_more_or_nothing(typed):
    assert load_language().missing(SPOT, typed) == ""


def test_a_plain_number_lacks_no_direction():
    plain = Expectation(NumberForm("whole", 3, units=("mm",)))
    assert load_language().missing(plain, "-12") == ""


@pytest.mark.parametrize(
    ("typed", "command"),
    [
        ("help", "what_can_i_say"),
        ("?", "what_can_i_say"),
        ("What?", "repeat"),
        ("undo", "go_back"),
        ("Stop!", "stop"),
        ("go back.", "go_back"),
    ],
)
def test_what_somebody_types_who_does_not_know_how(grammar, typed, command):
    everything = Expectation(commands=("repeat", "what_can_i_say", "go_back", "stop"))
    assert understood(grammar, everything, typed) == Command(command)


@pytest.mark.parametrize("typed", ["12 left.", "12 left,", "12 left ?"])
def test_a_mark_at_the_end_of_the_line_says_nothing(grammar, typed):
    assert understood(grammar, SPOT, typed) == Number(Decimal(12), "left", "mm")


def test_no_line_for_a_command_is_cut_out_of_another(grammar):
    asked = Expectation(commands=("what_can_i_say", "repeat", "where_are_we"))
    assert understood(grammar, asked, "what can I say") == Command("what_can_i_say")
    assert understood(grammar, asked, "what where") is None


def test_of_several_numbers_one_without_a_place_lacks_more_than_its_direction():
    several = Expectation(SPOT.number, yes_no=True, places=2)
    assert load_language().missing(several, "12") == ""


@pytest.mark.parametrize("code", ["en", "es"])
@pytest.mark.parametrize(
    ("typed", "degrees"),
    [("0°10'", "0.17"), ("10'", "0.17"), ("0° 03’", "0.05"), ("1°30′", "1.50"), ("0°0'", "0.00")],
)
def test_degrees_and_minutes_of_a_sheet_are_degrees(code, typed, degrees):
    language = load_language(code)
    step = language.for_step(
        Expectation(NumberForm("decimal", 1, 2, directions=("in", "out"), units=("deg",)))
    )
    way = language.speaker.direction_word("out")
    meaning = step.parse(typed_words(language, f"{typed} {way}", step))
    assert (meaning.value, meaning.direction) == (Decimal(degrees), "out")
    assert step.parse(typed_words(language, f"0°75' {way}", step)) is None


def test_minutes_are_typed_and_not_said():
    """Said back in degrees, thirteen for thirty would go unnoticed (docs/ears.md)."""
    form = NumberForm("decimal", 1, 2, directions=("in", "out"), units=("deg",))
    step = load_language().for_step(Expectation(form))
    assert step.parse("thirty minutes in") is None
    assert step.parse(as_typed("30 minutes in", step)) is None


@pytest.mark.parametrize(
    ("code", "choices", "typed", "answer"),
    [
        ("en", ("full", "not_full"), "full", "full"),
        ("en", ("full", "not_full"), "PART", "not_full"),
        ("en", ("echo_levels", "tool_angle", "tool_turns"), "echo", "echo_levels"),
        ("en", ("no_faults", "faults_cleared", "faults_remain"), "none", "no_faults"),
        ("en", ("test_good", "test_later"), "later", "test_later"),
        ("es", ("keep_sound", "words_only"), "guardar", "keep_sound"),
        ("es", ("full", "not_full"), "depósito", None),
        ("es", ("not_touched", "was_moved"), "se", "was_moved"),
        # Of two answers, or of what an answer ends with, nothing is guessed.
        ("en", ("echo_levels", "tool_angle", "tool_turns"), "tool", None),
        ("en", ("not_touched", "was_moved"), "touched", None),
        ("en", ("no_faults", "faults_cleared", "faults_remain"), "stored", None),
        # Answers of their own.
        ("en", ("no_faults", "faults_cleared", "faults_remain"), "no", None),
        ("en", ("no_faults", "faults_cleared", "faults_remain"), "n", None),
        ("en", ("test_good", "test_later"), "complete", None),
    ],
)
def test_a_typed_beginning_of_one_answer_alone_is_that_answer(code, choices, typed, answer):
    language = load_language(code)
    step = language.for_step(Expectation(choices=choices, commands=("stop", "repeat")))
    meaning = step.parse(typed_words(language, typed, step))
    assert meaning == (None if answer is None else Choice(answer))


TWO_RULERS = Expectation(NumberForm("whole", 3, units=("mm",)), commands=("stop",), pair=True)
TWO_TOES = Expectation(NumberForm("decimal", 1, 2, ("in", "out"), ("deg",)), pair=True)


@pytest.mark.parametrize(
    ("code", "typed"),
    [
        ("en", "421, 420"),
        ("en", "421; 420"),
        ("en", "421/420"),
        ("en", "421 and 420"),
        ("en", "421 mm, 420 mm."),
        ("es", "421, 420"),
        ("es", "421 y 420"),
    ],
)
def test_two_readings_may_be_typed_with_something_between_them(code, typed):
    language = load_language(code)
    step = language.for_step(TWO_RULERS)
    meaning = step.parse(typed_words(language, typed, step))
    assert meaning == Pair(Number(Decimal(421), None, "mm"), Number(Decimal(420), None, "mm"))


@pytest.mark.parametrize("typed", ["421,420", "421,", "421 and", "421, 420, 419", "421 - 420"])
def test_a_mark_that_may_be_a_point_or_stands_at_no_second_number_is_not_guessed_at(typed):
    language = load_language()
    step = language.for_step(TWO_RULERS)
    meaning = step.parse(typed_words(language, typed, step))
    assert not isinstance(meaning, Pair)


def test_of_two_directed_readings_each_side_has_its_own_way():
    language = load_language()
    step = language.for_step(TWO_TOES)
    meaning = step.parse(typed_words(language, "0,21 out; 0,02 in", step))
    assert meaning == Pair(
        Number(Decimal("0.21"), "out", "deg"), Number(Decimal("0.02"), "in", "deg")
    )
    assert step.parse(typed_words(language, "0.21; 0.02 in", step)) is None


def test_where_one_number_is_asked_for_two_are_none():
    language = load_language()
    step = language.for_step(Expectation(NumberForm("whole", 4, units=("mm",))))
    assert step.parse(typed_words(language, "42, 10", step)) is None

"""Toe in degrees and minutes, as a sheet gives it: spoken as it is typed, and never two things."""

from __future__ import annotations

from decimal import Decimal

import pytest

from companion.facts.meanings import COMMAND_NAMES, Number, Pair
from companion.language.expectation import Expectation, NumberForm
from companion.language.language import Language
from companion.language.speaking import Speaker
from companion.runtime import assembly

TOE = NumberForm("decimal", 1, 2, directions=("in", "out"), units=("deg",))


@pytest.fixture(scope="module", params=["en", "es"])
def language(request: pytest.FixtureRequest) -> Language:
    return assembly.language(request.param)


WORDS = {
    "en": ("zero degrees", "one degree", "minute", "minutes", "in"),
    "es": ("cero grados", "un grado", "minuto", "minutos", "dentro"),
}
SPANISH = {1: "un", 21: "veintiún", 31: "treinta y un", 41: "cuarenta y un", 51: "cincuenta y un"}


def said(language: Language, count: int) -> str:
    """So many minutes, counted in one word or two."""
    if language.code == "es" and count in SPANISH:
        return SPANISH[count]
    return Speaker(language.vocabulary).say_cardinal(count)


def test_every_count_of_minutes_is_what_the_same_is_typed(language: Language) -> None:
    nothing, one, minute, minutes, way = WORDS[language.code]
    step = language.for_step(Expectation(TOE, pair=True, commands=COMMAND_NAMES))
    for count in range(1, 60):
        unit = minute if count == 1 else minutes
        spoken = f"{said(language, count)} {unit} {way}"
        for before, sheet in (("", ""), (f"{nothing} ", "0°"), (f"{one} ", "1°")):
            typed = assembly.typed_words(language, f"{sheet}{count:02d}' {way}", step)
            meant = step.parse(before + spoken)
            assert isinstance(meant, Number), before + spoken
            assert meant == step.parse(typed), before + spoken


def test_neighbouring_minutes_stay_apart(language: Language) -> None:
    way = WORDS[language.code][-1]
    step = language.for_step(Expectation(TOE))
    found = {
        step.parse(f"{said(language, count)} {WORDS[language.code][3]} {way}")
        for count in range(1, 60)
    }
    assert None not in found
    assert len(found) == 59


def test_two_readings_in_one_breath_may_be_in_minutes(language: Language) -> None:
    _, _, _, minutes, way = WORDS[language.code]
    step = language.for_step(Expectation(TOE, pair=True, commands=COMMAND_NAMES))
    ten = f"{said(language, 10)} {minutes} {way}"
    pair = step.parse(f"{ten} {said(language, 12)} {minutes} {way}")
    first, second = (Number(Decimal(value), "in", "deg") for value in ("0.17", "0.20"))
    assert pair == Pair(first, second)


def test_asked_digit_by_digit_minutes_are_said_so_too(language: Language) -> None:
    _, _, _, minutes, way = WORDS[language.code]
    form = NumberForm("decimal", 1, 2, ("in", "out"), ("deg",), digits_only=True)
    step = language.for_step(Expectation(form))
    digits = Speaker(language.vocabulary).say_digits("15")
    assert step.parse(f"{digits} {minutes} {way}") == Number(Decimal("0.25"), "in", "deg")
    assert step.parse(f"{said(language, 15)} {minutes} {way}") is None


@pytest.mark.parametrize(
    "form",
    [
        NumberForm("decimal", 1, 1, ("in", "out"), ("deg",)),
        NumberForm("whole", 1, directions=("in", "out"), units=("deg",)),
        NumberForm("decimal", 1, 2, ("in", "out"), ("mm",)),
        NumberForm("decimal", 1, 2, ("in", "out"), ("deg", "mm")),
    ],
)
def test_minutes_are_understood_only_where_hundredths_of_a_degree_are_read(
    language: Language, form: NumberForm
) -> None:
    """With one decimal ten and eleven minutes would be the same."""
    _, _, _, minutes, way = WORDS[language.code]
    step = language.for_step(Expectation(form))
    assert step.parse(f"{said(language, 10)} {minutes} {way}") is None


def test_sixty_minutes_are_a_degree_and_said_as_one(language: Language) -> None:
    _, _, _, minutes, way = WORDS[language.code]
    step = language.for_step(Expectation(TOE))
    assert step.parse(f"{said(language, 60)} {minutes} {way}") is None
    assert step.parse(f"{minutes} {way}") is None


def test_ears_without_the_word_take_degrees_with_a_point_as_before(language: Language) -> None:
    _, _, minute, minutes, _way = WORDS[language.code]
    less = language.without(frozenset((minute, minutes)))
    toe = Expectation(TOE, pair=True, commands=COMMAND_NAMES)
    assert less.grammar.lost(toe, frozenset()) == ()
    step = less.for_step(toe)
    assert minutes not in step.words()
    point = language.read_back(Number(Decimal("0.17"), "in", "deg"))
    assert step.parse(point) == Number(Decimal("0.17"), "in", "deg")

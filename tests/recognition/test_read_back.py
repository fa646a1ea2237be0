"""At a read-back "no" is never a number."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import pytest

from companion.language.expectation import Expectation, NumberForm
from companion.language.grammar import StepGrammar
from companion.recognition.own.evidence import weigh
from companion.recognition.own.read_back import (
    MOST_OF_NO,
    is_faint,
    is_read_back,
    may_be_no,
    may_be_yes_too,
)
from companion.recognition.own.search import Sentence
from companion.runtime import assembly
from companion.runtime.assembly import read_back_words
from tests.benchmarks.ears_trials import prompts
from tests.recognition.hearings import hearing_of

ENGLISH = read_back_words(assembly.language())
AT_READ_BACK, AT_A_DIGIT = prompts()["confirm"], prompts()["digit"]


@dataclass(frozen=True)
class Said:
    """What one hearing holds for how probable."""

    words: str
    log_probability: float


def doubted(grammar: object, *hearings: tuple[Said, ...]) -> bool:
    heard = [
        hearing_of(
            grammar,  # type: ignore[arg-type]
            [Sentence(tuple(s.words.split()), s.log_probability) for s in said],
            0.0,
            0.5,
        )
        for said in hearings
    ]
    found = weigh(heard[0], heard[1:])
    assert found is not None
    asked = is_read_back(ENGLISH, grammar)  # type: ignore[arg-type]
    return asked and may_be_no(ENGLISH, grammar, found, heard)  # type: ignore[arg-type]


FIVE, NO = Said("five", -0.1), Said("no", MOST_OF_NO + 1.0)


def test_a_lone_number_is_doubted_where_any_hearing_leaves_room_for_no() -> None:
    unlikely = replace(NO, log_probability=MOST_OF_NO - 1.0)
    assert doubted(AT_READ_BACK, (FIVE,), (FIVE, NO))
    assert doubted(AT_READ_BACK, (FIVE, NO), (FIVE,))
    assert not doubted(AT_READ_BACK, (FIVE, unlikely), (FIVE,))
    assert not doubted(AT_READ_BACK, (FIVE,), (FIVE,))


@pytest.mark.parametrize("words", ["correction nine", "four two one", "nine millimetres", "yes"])
def test_what_is_no_lone_number_needs_no_more_than_elsewhere(words: str) -> None:
    assert not doubted(AT_READ_BACK, (Said(words, -0.1), NO), (Said(words, -0.1),))


def test_where_nobody_is_asked_for_yes_or_no_a_digit_is_a_digit() -> None:
    assert not doubted(AT_A_DIGIT, (FIVE,), (FIVE,))


def test_nought_alone_sounds_too_much_like_no_to_be_believed_at_a_read_back() -> None:
    grammar = prompts()["confirm"]
    nought = Said("nought", math.log(0.99))
    if grammar.parse("nought") is None:
        pytest.skip("no prompt of a read-back takes nought")
    assert doubted(grammar, (nought,), (nought,))


def test_nine_alone_is_no_new_reading_at_a_read_back() -> None:
    nine = Said("nine", math.log(0.999))
    assert doubted(AT_READ_BACK, (nine,), (nine,))
    assert not doubted(AT_A_DIGIT, (nine,), (nine,))


def test_the_words_come_from_the_language() -> None:
    assert (ENGLISH.yes, ENGLISH.no) == ("yes", "no")
    assert {"zero", "nine", "niner", "thirteen", "ninety"} <= ENGLISH.lone_numbers
    assert {"oh", "nought", "nine"} == ENGLISH.never_alone <= ENGLISH.lone_numbers
    spanish = read_back_words(assembly.language("es"))
    assert (spanish.yes, spanish.no) == ("sí", "no")
    assert {"cero", "nueve", "once", "noventa"} <= spanish.lone_numbers
    assert not spanish.never_alone


def test_readings_that_may_have_followed_a_yes_are_no_correction() -> None:
    form = NumberForm("whole", 3, units=("mm",))
    next_too = assembly.language().for_step(
        Expectation(form, yes_no=True, then=Expectation(form, pair=True))
    )
    alone = Sentence(("seven", "five", "six"), -0.1)

    def doubted_there(room: float, grammar: StepGrammar) -> bool:
        after_yes = Sentence(("yes", *alone.words), room)
        heard = hearing_of(grammar, [alone, after_yes], 0.0, 0.5)
        found = weigh(heard, [heard])
        assert found is not None
        return may_be_yes_too(ENGLISH, grammar, found, [heard, heard])

    assert doubted_there(MOST_OF_NO + 1.0, next_too)
    assert not doubted_there(MOST_OF_NO - 1.0, next_too)
    # Where nothing may follow a yes there is nothing to mix up.
    assert not doubted_there(MOST_OF_NO + 1.0, AT_READ_BACK)


def faint(words: str, *log_probabilities: float) -> bool:
    heard = [
        hearing_of(AT_READ_BACK, [Sentence(tuple(words.split()), p)], 0.0, 0.5)
        for p in log_probabilities
    ]
    found = weigh(heard[0], heard[1:])
    assert found is not None
    return is_faint(ENGLISH, AT_READ_BACK, found, least=-0.9, least_alone=-0.5)


def test_a_lone_number_at_a_read_back_must_be_likely_to_both_heads() -> None:
    assert faint("four", -0.1, -1.5)
    assert not faint("four", -0.2, -0.5)


def test_another_single_word_there_needs_less_and_yes_no_and_rows_nothing() -> None:
    assert not faint("stop", -0.1, -1.5)
    assert faint("stop", -0.9, -1.5)
    assert not faint("yes", -2.0, -3.0)
    assert not faint("no", -2.0, -3.0)
    assert not faint("seven five three", -2.0, -3.0)

"""The recogniser's language and the parser's are one, for any prompt."""

import random
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import GrammarError
from companion.facts.meanings import COMMAND_NAMES, Choice, Command, Done, No, Number, Yes
from companion.language.expectation import Expectation, NumberForm
from companion.language.loader import load_language
from tests.spoken import UNITS

DIRECTION_PAIRS = (
    (),
    ("left", "right"),
    ("up", "down"),
    ("in", "out"),
    ("towards", "away"),
    ("clockwise", "anticlockwise"),
)
# One word that no step knows, so that "outside" is tried at every place too.
STRANGERS = ("banana", "minus", "to", "double", "hundred", "point", "oh", "a", "and", "zero")


@st.composite
def number_forms(draw):
    style = draw(st.sampled_from(["whole", "decimal", "quarters"]))
    directions = draw(st.sampled_from(DIRECTION_PAIRS))
    if style == "quarters":
        return NumberForm(style, draw(st.integers(1, 2)), 0, directions, ("turns",))
    plain = [unit for unit in UNITS if unit not in ("turns", "celsius")]
    return NumberForm(
        style,
        draw(st.integers(1, 6)),
        draw(st.integers(1, 4)) if style == "decimal" else 0,
        directions,
        tuple(draw(st.lists(st.sampled_from(plain), max_size=2, unique=True))),
        digits_only=draw(st.booleans()),
    )


@st.composite
def expectations(draw):
    number = draw(st.none() | number_forms())
    choices = draw(
        st.lists(st.sampled_from(load_language().grammar.choice_ids()), max_size=5, unique=True)
    )
    commands = draw(st.lists(st.sampled_from(COMMAND_NAMES), unique=True, min_size=1))
    return Expectation(
        number, tuple(choices), draw(st.booleans()), draw(st.booleans()), tuple(commands)
    )


def disturbed(words, generator, vocabulary):
    """A phrase with one to three words dropped, doubled, swapped, changed or put in."""
    words = list(words)
    for _ in range(generator.randint(1, 3)):
        at = generator.randrange(len(words) + 1)
        match generator.randrange(4):
            case 0:
                words[at : at + 1] = []
            case 1:
                words[at : at + 1] = words[at : at + 1] * 2
            case 2:
                words[at : at + 2] = reversed(words[at : at + 2])
            case _:
                words[at : at + generator.randint(0, 1)] = [generator.choice(vocabulary)]
    return words


@settings(max_examples=150, deadline=None)
@given(expectations(), st.randoms(use_true_random=False))
def test_every_phrase_is_understood_as_it_was_meant_and_offered_to_the_recogniser(
    grammar, acceptor, expectation, generator
):
    step = grammar.for_step(expectation)
    jsgf = acceptor(step.jsgf())
    for _ in range(20):
        text, meaning = step.generate(generator)
        assert step.parse(text) == meaning
        assert jsgf.accepts(text)
        assert step.words().issuperset(text.split())


@settings(max_examples=150, deadline=None)
@given(expectations(), st.randoms(use_true_random=False))
def test_what_the_recogniser_cannot_hear_is_not_understood_and_the_other_way_round(
    grammar, acceptor, expectation, generator
):
    step = grammar.for_step(expectation)
    jsgf = acceptor(step.jsgf())
    vocabulary = [*sorted(step.words()), *STRANGERS]
    for _ in range(20):
        words = disturbed(step.generate(generator)[0].split(), generator, vocabulary)
        text = " ".join(words)
        assert jsgf.accepts(text) == (step.parse(text) is not None), text


def test_disturbed_phrases_fall_on_both_sides(grammar, acceptor):
    # Otherwise the test above would prove little.
    step = grammar.for_step(Expectation(NumberForm("decimal", 3, 2, ("left", "right"), ("mm",))))
    generator = random.Random(7)
    vocabulary = [*sorted(step.words()), *STRANGERS]
    inside = sum(
        step.parse(" ".join(disturbed(step.generate(generator)[0].split(), generator, vocabulary)))
        is not None
        for _ in range(1000)
    )
    assert 100 < inside < 900


@settings(max_examples=100, deadline=None)
@given(expectations(), st.randoms(use_true_random=False))
def test_a_heard_number_fits_what_was_asked(grammar, expectation, generator):
    step = grammar.for_step(expectation)
    for _ in range(20):
        _, meaning = step.generate(generator)
        match meaning:
            case Number(value, direction, unit):
                form = expectation.number
                assert 0 <= value < 10**form.max_whole_digits
                assert direction in form.directions or (
                    direction is None and (value == 0 or not form.directions)
                )
                assert unit in form.units if form.units else unit is None
                if form.style == "quarters":
                    assert value * 4 == int(value * 4)
                else:
                    assert -value.as_tuple().exponent <= form.decimals
            case Choice(choice):
                assert choice in expectation.choices
            case Command(name):
                assert name in expectation.commands
            case Done():
                assert expectation.done
            case Yes() | No():
                assert expectation.yes_no


def test_which_of_several_is_mended_is_told_as_it_is_taught(grammar):
    several = Expectation(NumberForm("whole", 3), yes_no=True, places=3)
    assert grammar.examples(several)[0] == "the first is one two three"
    assert grammar.places() == ("the first is", "the second is", "the third is")
    assert load_language("es").grammar.places()[2] == "la tercera es"


@settings(max_examples=60, deadline=None)
@given(expectations())
def test_the_examples_are_things_that_can_be_said(grammar, expectation):
    step = grammar.for_step(expectation)
    assert step.examples()
    assert all(step.parse(example) is not None for example in step.examples())


@settings(max_examples=60, deadline=None)
@given(expectations())
def test_phrases_hold_every_answer_in_full_and_every_word(grammar, expectation):
    step = grammar.for_step(expectation)
    phrases = step.phrases()
    assert len(set(phrases)) == len(phrases)
    assert {word for phrase in phrases for word in phrase.split()} == step.words()
    for name in expectation.commands:
        (said,) = grammar.for_step(Expectation(commands=(name,))).examples()
        assert said in phrases
    for choice in expectation.choices:
        assert grammar.choice_name(choice) in phrases
    for phrase in phrases:
        if " " in phrase:
            assert step.parse(phrase) is not None


@pytest.mark.parametrize("digits", [1, 2, 3, 4, 5, 6])
def test_no_number_is_longer_than_allowed(grammar, digits):
    step = grammar.for_step(Expectation(NumberForm("whole", digits)))
    generator = random.Random(digits)
    longest = max(step.generate(generator)[1].value for _ in range(500))
    assert longest < 10**digits
    assert step.parse(" ".join(["nine"] * digits)) == Number(Decimal(10**digits - 1))
    assert step.parse(" ".join(["nine"] * (digits + 1))) is None


def test_a_step_is_made_once(grammar):
    expectation = Expectation(
        NumberForm("decimal", 4, 4, ("left", "right"), ("mm",)), yes_no=True, commands=COMMAND_NAMES
    )
    step = grammar.for_step(expectation)
    again = grammar.for_step(
        Expectation(
            NumberForm("decimal", 4, 4, ("left", "right"), ("mm",)),
            yes_no=True,
            commands=COMMAND_NAMES,
        )
    )
    assert again is step


def test_celsius_and_plain_degrees_cannot_be_asked_together(grammar):
    with pytest.raises(GrammarError, match="one way to say it"):
        grammar.for_step(Expectation(NumberForm("whole", 2, units=("deg", "celsius"))))

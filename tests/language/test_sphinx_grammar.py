"""The packaged recogniser itself loads every grammar and knows every word."""

import re

import pocketsphinx
import pytest

from companion.facts.meanings import COMMAND_NAMES
from companion.language.expectation import Expectation, NumberForm
from companion.language.loader import load_language, pronunciations
from tests.spoken import DIRECTIONS, UNITS

MODEL = pocketsphinx.get_model_path("en-us/en-us")
DICTIONARY = pocketsphinx.get_model_path("en-us/cmudict-en-us.dict")
LENGTHS = tuple(unit for unit in UNITS if unit not in ("turns", "celsius"))
FORMS = (
    NumberForm("whole", 6, directions=tuple(DIRECTIONS), units=LENGTHS),
    NumberForm("whole", 3, units=("mm",)),
    NumberForm("decimal", 4, 4, ("towards", "away"), ("mm_per_m",)),
    NumberForm("decimal", 2, 1, units=("celsius",)),
    NumberForm("decimal", 3, 2, ("up", "down"), ("deg",), digits_only=True),
    NumberForm("quarters", 2, directions=("clockwise", "anticlockwise"), units=("turns",)),
)


@pytest.fixture
def decoder():
    return pocketsphinx.Decoder(
        pocketsphinx.Config(hmm=MODEL, dict=DICTIONARY, lm=None, loglevel="FATAL")
    )


def widest(grammar, form):
    return grammar.for_step(
        Expectation(form, grammar.choice_ids(), done=True, yes_no=True, commands=COMMAND_NAMES)
        if form.units != LENGTHS
        else Expectation(form, commands=COMMAND_NAMES)
    )


@pytest.mark.parametrize("form", FORMS)
def test_the_recogniser_loads_the_grammar(grammar, decoder, form):
    step = widest(grammar, form)
    for word, phones in pronunciations().items():
        decoder.add_word(word, phones, True)
    decoder.add_jsgf_string("step", step.jsgf())
    decoder.activate_search("step")
    assert decoder.current_search() == "step"


@pytest.mark.parametrize("form", FORMS)
def test_every_word_has_a_pronunciation(grammar, decoder, form):
    known = pronunciations()
    missing = {
        word
        for word in widest(grammar, form).words()
        if word not in known and decoder.lookup_word(word) is None
    }
    assert missing == set()


def test_only_missing_words_are_given_and_each_is_sayable(grammar, decoder):
    said = frozenset().union(*(widest(grammar, form).words() for form in FORMS))
    said |= frozenset(load_language().alphabet.signs)
    for word in pronunciations():
        assert decoder.lookup_word(word) is None
        assert word in said


def test_a_grammar_of_lower_case_words_with_one_public_rule(grammar):
    text = widest(grammar, FORMS[2]).jsgf()
    assert text.startswith("#JSGF V1.0;\ngrammar step;\n")
    assert len(re.findall("^public ", text, re.MULTILINE)) == 1
    assert text.lower() == text.replace("JSGF V", "jsgf v")

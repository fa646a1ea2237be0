"""What a message says in English, for tests that read the conversation as a person hears it."""

from __future__ import annotations

from companion.facts.message import Told
from companion.facts.quantities import UNIT_IDS
from companion.language.loader import load_language
from companion.recognition.port import StepGrammarLike
from companion.runtime import assembly


def said(told: Told) -> str:
    """The words of a message, or of a sentence of the job file."""
    return told if isinstance(told, str) else load_language().say(told)


_ENGLISH = load_language()
say_number = _ENGLISH.speaker.say_number
say_figure = _ENGLISH.speaker.say_figure
say_turns = _ENGLISH.speaker.say_turns
say_digits = _ENGLISH.speaker.say_digits
say_cardinal = _ENGLISH.speaker.say_cardinal
say_list = _ENGLISH.speaker.say_list
read_back = _ENGLISH.speaker.read_back
words_from_typed = _ENGLISH.typed
DIGIT_WORDS = _ENGLISH.vocabulary.numbers.digits
UNITS = {unit: _ENGLISH.vocabulary.units[unit] for unit in UNIT_IDS}
DIRECTIONS = _ENGLISH.vocabulary.directions


def as_typed(text: str, grammar: StepGrammarLike) -> str:
    """What was typed in English, as the open prompt takes it."""
    return assembly.typed_words(_ENGLISH, text, grammar)

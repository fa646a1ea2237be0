"""Training says every phrase that the grammars hold, and keeps from it what is scored."""

from __future__ import annotations

import random
from collections import Counter

import pytest

from tests.benchmarks.ears_voices import WORD_VOICES
from tests.ears_training import voices
from tests.ears_training.phrases import (
    HELD_OUT_WORDS,
    OTHER,
    PhraseMaker,
    bay_words,
    known_words,
    whole_phrases,
)
from tests.ears_training.sayings import ALPHABET, SAYINGS

_DRAWN = 16_000
_LEAST = 3
"""An even share of the draws of whole phrases would be about 21."""


@pytest.fixture(scope="module", params=["en", "es"])
def drawn(request: pytest.FixtureRequest) -> tuple[str, Counter[tuple[str, ...]]]:
    maker, generator = PhraseMaker(request.param), random.Random(5)
    return request.param, Counter(maker.one(generator).label for _ in range(_DRAWN))


def test_every_phrase_is_drawn(drawn: tuple[str, Counter[tuple[str, ...]]]) -> None:
    language, labels = drawn
    few = [text for text in whole_phrases(language) if labels[tuple(text.split())] < _LEAST]
    assert not few


def test_every_word_is_drawn(drawn: tuple[str, Counter[tuple[str, ...]]]) -> None:
    language, labels = drawn
    words = Counter(word for label, times in labels.items() for word in label * times)
    silent = SAYINGS[language].same_sound
    few = [w for w in known_words(language) if words[w] < _LEAST and w not in silent]
    assert not few


def test_other_words_are_drawn_and_what_is_kept_out_is_not(
    drawn: tuple[str, Counter[tuple[str, ...]]],
) -> None:
    language, labels = drawn
    assert labels[(OTHER,)] > _DRAWN // 50
    generator = random.Random(6)
    maker = PhraseMaker(language)
    said = {word for _ in range(4000) for word in maker.one(generator).text.split()}
    assert not said & HELD_OUT_WORDS


@pytest.mark.parametrize("language", ["en", "es"])
def test_words_to_come_and_the_spelling_alphabet_are_known(language: str) -> None:
    known = set(known_words(language))
    assert known >= set(ALPHABET)
    assert known >= set(bay_words(language))
    assert known >= set(SAYINGS[language].same_sound.values()) | set(SAYINGS[language].same_sound)


def test_no_voice_that_is_scored_speaks_in_training() -> None:
    scored = {name.partition(" ")[2] for name in WORD_VOICES["kept_out"] if "espeak" in name}
    variants = {name.partition("+")[2] for name in scored}
    assert variants
    assert not variants & set(voices._ESPEAK_VARIANTS)
    assert not {name.partition("+")[0] for name in scored} & set(voices._ESPEAK_ACCENTS)

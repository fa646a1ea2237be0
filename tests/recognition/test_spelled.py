"""A VIN in the spelling alphabet, from the sound of a synthetic technician."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from companion.language.loader import load_language
from companion.recognition.listening import StreamEars
from companion.recognition.port import Ears
from companion.recognition.source import FileSource
from companion.recognition.sphinx import SphinxRecogniser
from companion.runtime.aloud import Aloud
from companion.runtime.spelt_aloud import SpellingLeft, SpeltAloud
from companion.speech.silent import SilentVoice
from tests.spelling_technician import SpellingTechnician

VINS = ("ZZZ12345678AEX123", "XYZ98765432BCD456", "ABC10293847DEF777")


def test_a_voice_spells_vins_to_the_packaged_recogniser(
    technician: Callable[..., bytes], tmp_path: Path
) -> None:
    """From sound: what is kept is what was spelled, else it is left to the keyboard."""
    language = load_language()
    recogniser = SphinxRecogniser(language.pronunciations)
    alphabet = language.alphabet.without(
        recogniser.missing_words(frozenset(language.alphabet.signs))
    )
    assert not alphabet.unheard

    def speak(words: str) -> Ears:
        file = tmp_path / "answer.wav"
        samples = np.frombuffer(technician(words), "<i2")
        soundfile.write(file, samples, 16_000, subtype="PCM_16")
        return StreamEars(FileSource(file), recogniser)

    kept = {}
    for vin in VINS:
        person = SpellingTechnician(vin, alphabet, speak, "yes", "no")
        aloud = SpeltAloud(Aloud(person, SilentVoice(), language, person.screen.append), alphabet)
        with contextlib.suppress(SpellingLeft):
            kept[vin] = aloud.vin(check_digit=False)
            assert person.answers >= 12
    assert kept
    assert all(told == vin for vin, told in kept.items())

"""A VIN in the spelling alphabet, from the sound of a synthetic technician."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import soundfile

from companion.language.loader import load_language
from companion.recognition.listening import StreamEars
from companion.recognition.port import Ears
from companion.recognition.source import FileSource
from companion.recognition.sphinx import SphinxRecogniser
from companion.runtime.spelt_aloud import SpeltAloud
from companion.speech.silent import SilentVoice
from tests.spelling_technician import SpellingTechnician

VIN = "ZZZ12345678AEX123"


def test_a_voice_spells_a_vin_to_the_packaged_recogniser(
    technician: Callable[..., bytes], tmp_path: Path
) -> None:
    """From sound: what he said yes to is what is kept, and it is what he spelled."""
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

    person = SpellingTechnician(VIN, alphabet, speak, "yes", "no")
    aloud = SpeltAloud(person, SilentVoice(), language, alphabet, person.screen.append)
    assert aloud.vin(check_digit=False) == VIN
    assert person.answers >= 12

"""Speech makers for tests: real ones where installed, and ones that fail in their own ways."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.errors import VoiceError
from companion.speech.makers import EspeakMaker


class ToneMaker:
    """Renders a tone of a tenth of a second for each word; counts how often it was asked."""

    voice = "tone"

    def __init__(self, name: str = "tone", failures: int = 0) -> None:
        self.name = name
        self.asked = 0
        self._failures = failures

    def make(self, text: str, speed_wpm: int, target: Path) -> None:
        self.asked += 1
        if self.asked <= self._failures:
            raise VoiceError(f"{self.name}: out of order")
        seconds = 0.1 * len(text.split())
        samples = 0.25 * np.sin(2 * np.pi * 440.0 * np.arange(round(seconds * 16_000)) / 16_000)
        soundfile.write(target, samples, 16_000)


@pytest.fixture
def tone_maker() -> type[ToneMaker]:
    return ToneMaker


@pytest.fixture
def espeak() -> EspeakMaker:
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    return EspeakMaker()

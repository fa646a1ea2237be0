"""A synthetic technician, a small grammar, and where human recordings may be found."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from companion.recognition.source import read_sound

BYTES_PER_S = 32_000


class SpokenList:
    """A grammar made of whole phrases."""

    def __init__(self, *phrases: str) -> None:
        self._phrases = phrases

    def jsgf(self) -> str:
        return f"#JSGF V1.0;\ngrammar step;\npublic <step> = {' | '.join(self._phrases)};\n"

    def phrases(self) -> tuple[str, ...]:
        return self._phrases

    def words(self) -> frozenset[str]:
        return frozenset(word for phrase in self._phrases for word in phrase.split())

    def parse(self, text: str) -> str | None:
        return text if text in self._phrases else None


@pytest.fixture
def spoken_list() -> type[SpokenList]:
    return SpokenList


def room(seconds: float, loudness: float, seed: int) -> np.ndarray:
    """Quiet noise of a room: samples with the standard deviation `loudness`."""
    generator = np.random.default_rng(seed)
    return generator.normal(0.0, loudness, round(seconds * 16_000))


def as_sound(samples: np.ndarray) -> bytes:
    return np.clip(np.rint(samples), -32768, 32767).astype("<i2").tobytes()


@pytest.fixture(scope="session")
def quiet_room() -> Callable[..., bytes]:
    def make(seconds: float, loudness: float = 30.0, seed: int = 1) -> bytes:
        return as_sound(room(seconds, loudness, seed))

    return make


@pytest.fixture(scope="session")
def technician(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., bytes]:
    """Says a text in a quiet room, with a pause before and after: 16 kHz mono s16le."""
    program = shutil.which("flite")
    if program is None:
        pytest.skip("flite, the synthetic technician, is not installed")
    folder = tmp_path_factory.mktemp("technician")

    def say(text: str, voice: str = "slt", before_s: float = 0.4, after_s: float = 0.8) -> bytes:
        file = folder / f"{voice} {text}.wav"
        if not file.exists():
            subprocess.run([program, "-voice", voice, "-t", text, "-o", str(file)], check=True)
        speech = np.frombuffer(read_sound(file), "<i2").astype(np.float64)
        lead, tail = np.zeros(round(before_s * 16_000)), np.zeros(round(after_s * 16_000))
        samples = np.concatenate([lead, speech, tail])
        return as_sound(samples + room(len(samples) / 16_000, 30.0, seed=len(samples)))

    return say


@pytest.fixture(scope="session")
def human_speech() -> Path:
    """The folder of human recordings: `COMPANION_SPEECH`, or one beside the project."""
    beside = Path(__file__).parents[3] / "shared" / "speech"
    folder = Path(os.environ.get("COMPANION_SPEECH", beside))
    if not (folder / "phrases").is_dir():
        pytest.skip(f"no human recordings at {folder}")
    return folder

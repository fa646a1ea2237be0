"""What was learned of one person's voice: small additions to the last layer of both heads.

It may make refusals fewer and nothing else. The heads as they ship keep the last word on what was
said: only what they held for likeliest and refused for weakness may be accepted by a learned voice
(`OwnRecogniser.recognise`), so no learning can change what an answer means.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError
from companion.recognition.own.head import FOLLOW_FILE, WORDS_FILE, Head, log_softmax, packaged
from companion.recognition.own.weights import encoder_file

Array = npt.NDArray[np.float32]

LEAST_BY_VOICE = 0.85
LEAST_BY_ITSELF = 0.05
"""Confidence that the heads with what was learned must reach for what was refused, and that the
heads as they ship must reach if they agreed."""


@dataclass(frozen=True)
class WordLimits:
    """How likely a single word must be to both heads (`Evidence.of_both`): as they ship, and with
    what was learned. Yes and no at a read-back need neither."""

    by_itself: float
    by_voice: float


A_WORD = WordLimits(-6.0, -0.8)
LEAST_OVER_ANYTHING = -0.2
"""For a single word where nothing is read back: the limits, and how near to the best way through
the frames that any words give (`Evidence.free`) it must be with what was learned. The heads need
not agree then, and `LEAST_BY_ITSELF` is not asked: how likely a word is to both together tells
right from wrong better than both. Chosen on people of the tuning half, heard by heads that never
met them, with their own voice learned and with somebody else's; then -0.8 for -1, which takes
less, once one of the scored half was heard wrongly (docs/ears.md, A learned voice)."""
A_WORD_AT_READ_BACK = WordLimits(-4.0, -0.8)

MOST_BYTES = 4_000_000
_MOST_ADDED = 20.0
"""No honest learning moves a weight or bias nearly so far."""
_VERSION_DIGITS = 16


@dataclass(frozen=True)
class Added:
    """What one head's last layer is to be added: weights (tokens, 256) and biases (tokens,)."""

    weight: Array
    bias: Array

    def log_probabilities(self, head: Head, features: Array) -> Array:
        """As `Head.judge_features`, by the layer with what was added."""
        weight, bias = head.last_layer
        return log_softmax(features @ (weight + self.weight).T + bias + self.bias)


@dataclass(frozen=True)
class Adaptation:
    """Additions for the head that listens along and for the one for words.

    `heads`: the fingerprint of the heads that they belong to (`fingerprint`). `version`: the
    beginning of the SHA-256 of the file that this is kept as; all that a record ever tells.
    """

    along: Added
    words: Added
    heads: str
    version: str

    @classmethod
    def of(cls, along: Added, words: Added, heads: str) -> Adaptation:
        """With the version that follows from the rest."""
        return read_adaptation(_written(along, words, heads), "a new adaptation")

    def written(self) -> bytes:
        """The file that it is kept as."""
        return _written(self.along, self.words, self.heads)


def _written(along: Added, words: Added, heads: str) -> bytes:
    file = io.BytesIO()
    arrays = {
        f"{name}_{part}": getattr(added, part).astype(np.float16)
        for name, added in (("along", along), ("words", words))
        for part in ("weight", "bias")
    }
    # Stored, not packed: the bytes, and so the version, follow from the numbers alone.
    np.savez(file, heads=np.array(heads), **arrays)
    return file.getvalue()


def read_adaptation(content: bytes, name: str) -> Adaptation:
    """What `Adaptation.written` wrote; `name` tells in errors what it is.

    Raises `EarsError` for anything else: other shapes, numbers that are none or far too large.
    """
    arrays = read_arrays(content, name)
    try:
        along, words = (
            Added(_checked(arrays[f"{head}_weight"], 2), _checked(arrays[f"{head}_bias"], 1))
            for head in ("along", "words")
        )
        heads = str(arrays["heads"])
    except (KeyError, ValueError) as error:
        raise EarsError(f"{name}: is not what was learned of a voice ({error})") from error
    for one in (along, words):
        if len(one.weight) != len(one.bias):
            raise EarsError(f"{name}: has {len(one.weight)} weights for {len(one.bias)} biases")
    return Adaptation(along, words, heads, hashlib.sha256(content).hexdigest()[:_VERSION_DIGITS])


def read_arrays(content: bytes, name: str) -> dict[str, npt.NDArray[np.generic]]:
    """The arrays of an .npz file by name; never runs code. Raises `EarsError`."""
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as kept:
            return {key: kept[key] for key in kept.files}
    # A spoiled file fails in numpy, in zip or in zlib, each with errors of its own.
    except Exception as error:
        raise EarsError(f"{name}: cannot be read ({error})") from error


def _checked(array: npt.NDArray[np.generic], dimensions: int) -> Array:
    if array.dtype != np.float16 or array.ndim != dimensions:
        raise ValueError(f"found {array.dtype} of shape {array.shape}")
    numbers = array.astype(np.float32)
    if not np.all(np.abs(numbers) <= _MOST_ADDED):
        raise ValueError(f"numbers beyond {_MOST_ADDED:.0f}, or none at all")
    return numbers


def require_fits(adaptation: Adaptation, along: Head, words: Head, heads: str) -> None:
    """Raise `EarsError` where an adaptation was made for other heads than these."""
    for head, added in ((along, adaptation.along), (words, adaptation.words)):
        if adaptation.heads != heads or added.weight.shape != head.last_layer[0].shape:
            raise EarsError(
                f"what was learned of this voice (version {adaptation.version}) belongs to other "
                "heads than these; wanted: 'companion voice learn', or to enrol once more"
            )


@lru_cache(maxsize=4)
def fingerprint(language: str) -> str:
    """Of the packaged heads of a language: what was learned with others does not fit."""
    return fingerprint_of(packaged(name, language) for name in (FOLLOW_FILE, WORDS_FILE))


def fingerprint_of(files: Iterable[Path]) -> str:
    """Of these heads, the one that listens along first, with the encoder behind them."""
    digest = hashlib.sha256()
    for file in (*files, encoder_file()):
        digest.update(hashlib.sha256(file.read_bytes()).digest())
    return digest.hexdigest()[:_VERSION_DIGITS]

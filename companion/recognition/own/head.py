"""The head: from the encoder's vectors to the probability of each of the bay's words, in numpy."""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError

Array = npt.NDArray[np.float32]

BLANK = "<blank>"
OTHER = "<other>"
_SPREADS = (1, 2, 4, 8)
_ADAPTER, _DOWN, _UP = "adapter_", "_down", "_up"
_LAYER = re.compile(r"layer_(\d+)_(self_attention|ffn)_(linear_\d)")


@dataclass(frozen=True)
class Judged:
    """What the head makes of n vectors, a fiftieth of a second each.

    `tokens`: natural log probabilities of shape (n, tokens), the blank first; `speech`: the
    probability that somebody speaks, of shape (n,), zero from a head that cannot tell. The words'
    order counts, not their place: the encoder sees the whole stretch at once, and they may stand
    behind where they are said.
    """

    tokens: Array
    speech: Array


WORDS_FILE, FOLLOW_FILE, LIMITS_FILE = "head.npz", "follow.npz", "limits.json"
"""The heads of a language (the one for whole answers alone, and the one that listens along, too),
and the limits that were chosen for them."""


def packaged(name: str, language: str) -> Path:
    """Where a file of a language's heads lies, by its code. Raises `EarsError` without one."""
    folder = Path(str(resources.files("companion.recognition.own"))) / "heads" / language
    if not (folder / name).is_file():
        raise EarsError(
            f"{folder / name}: these ears have no head for the language {language!r}; "
            "wanted: another recogniser"
        )
    return folder / name


class Head:
    """Weights from an .npz file. Raises `EarsError` without it."""

    def __init__(self, path: Path) -> None:
        try:
            with np.load(path) as kept:
                self._weights = {
                    name: kept[name].astype(np.float32)
                    for name in kept.files
                    if kept[name].dtype.kind == "f"
                }
                self.tokens: tuple[str, ...] = tuple(str(token) for token in kept["tokens"])
                same = [str(pair).split() for pair in kept["same_sound"]]
        except (OSError, KeyError, ValueError) as error:
            raise EarsError(f"{path}: not a head for these ears ({error})") from error
        self._numbers = {token: number for number, token in enumerate(self.tokens)}
        for word, token in same:
            self._numbers[word] = self._numbers[token]
        self.additions = self._taken_additions()
        self._kernels = [
            # (out, in, 5) to (5 * in, out): the five moved copies lie side by side.
            np.ascontiguousarray(
                self._weights[f"over_time_{n}_weight"].transpose(2, 1, 0).reshape(-1, 256)
            )
            for n in range(len(_SPREADS))
        ]

    def _taken_additions(self) -> dict[str, Array]:
        """What the encoder's layers are to be added; taken out of the weights."""
        found: dict[str, Array] = {}
        for name in [name for name in self._weights if name.endswith(_DOWN)]:
            layer = name.removeprefix(_ADAPTER).removesuffix(_DOWN)
            up = self._weights.pop(f"{_ADAPTER}{layer}{_UP}")
            number, block, linear = _LAYER.fullmatch(layer).groups()  # type: ignore[union-attr]
            found[f"layer_{number}/{block}/{linear}"] = up @ self._weights.pop(name)
        return found

    def knows(self, word: str) -> bool:
        """Whether this head can hear the word."""
        return word in self._numbers and not word.startswith("<")

    def token(self, word: str) -> int:
        """The token of a word; words that sound the same share one."""
        return self._numbers[word]

    def judge(self, vectors: Array) -> Judged:
        """What vectors of shape (n, 384) say."""
        return self.judge_features(self.features(vectors))

    def features(self, vectors: Array) -> Array:
        """What the last layer sees of vectors of shape (n, 384): shape (n, 256), none negative."""
        w = self._weights
        x = np.maximum(
            (vectors - w["mean"]) * w["scale"] @ w["into_weight"].T + w["into_bias"], 0.0
        )
        for number, spread in enumerate(_SPREADS):
            x = x + np.maximum(
                _moved(x, spread) @ self._kernels[number] + w[f"over_time_{number}_bias"], 0.0
            )
        return np.asarray(x)

    def judge_features(self, features: Array) -> Judged:
        """What such features of shape (n, 256) say."""
        w = self._weights
        tokens = log_softmax(features @ w["out_weight"].T + w["out_bias"])
        if "speech_weight" not in w:
            return Judged(tokens, np.zeros(len(features), np.float32))
        odds = (features @ w["speech_weight"].T + w["speech_bias"])[:, 0]
        return Judged(tokens, np.asarray(1.0 / (1.0 + np.exp(-odds))))

    @property
    def last_layer(self) -> tuple[Array, Array]:
        """Weights of shape (tokens, 256) and biases of the layer that gives each word its score."""
        return self._weights["out_weight"], self._weights["out_bias"]


def log_softmax(scores: Array) -> Array:
    """Rows of scores as natural log probabilities."""
    scores = scores - scores.max(axis=1, keepdims=True)
    return np.asarray(scores - np.log(np.exp(scores).sum(axis=1, keepdims=True)))


def _moved(x: Array, spread: int) -> Array:
    """Each frame beside its neighbours at -2, -1, 0, 1 and 2 times `spread`: (n, 5 * width)."""
    padded = np.pad(x, ((2 * spread, 2 * spread), (0, 0)))
    return np.concatenate([padded[k * spread : k * spread + len(x)] for k in range(5)], axis=1)

"""The head's last layer: from its features to the probability of each of the bay's words."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError

Array = npt.NDArray[np.float32]

BLANK = "<blank>"


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
    """A head's last layer and its words, from an .npz file. Raises `EarsError` without it."""

    def __init__(self, path: Path) -> None:
        try:
            with np.load(path) as kept:
                self._weights = {
                    name: kept[name].astype(np.float32)
                    for name in kept.files
                    if name.startswith(("out_", "speech_"))
                }
                self.tokens: tuple[str, ...] = tuple(str(token) for token in kept["tokens"])
                same = [str(pair).split() for pair in kept["same_sound"]]
        except (OSError, KeyError, ValueError) as error:
            raise EarsError(f"{path}: not a head for these ears ({error})") from error
        self._numbers = {token: number for number, token in enumerate(self.tokens)}
        for word, token in same:
            self._numbers[word] = self._numbers[token]

    def knows(self, word: str) -> bool:
        """Whether this head can hear the word."""
        return word in self._numbers and not word.startswith("<")

    def token(self, word: str) -> int:
        """The token of a word; words that sound the same share one."""
        return self._numbers[word]

    def judge_features(self, features: Array) -> Judged:
        """What features of shape (n, 256) say."""
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

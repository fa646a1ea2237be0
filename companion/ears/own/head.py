"""The head: from the encoder's vectors to the probability of each of the bay's words, in numpy."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError

Array = npt.NDArray[np.float32]

BLANK = "<blank>"
OTHER = "<other>"
_SPREADS = (1, 2, 4, 8)


class Head:
    """Weights from an .npz file, by default the packaged one. Raises `EarsError` without it."""

    def __init__(self, file: Path | None = None) -> None:
        path = file or Path(str(resources.files("companion.ears.own"))) / "head.npz"
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
        self._kernels = [
            # (out, in, 5) to (5 * in, out): the five moved copies lie side by side.
            np.ascontiguousarray(
                self._weights[f"over_time_{n}_weight"].transpose(2, 1, 0).reshape(-1, 256)
            )
            for n in range(len(_SPREADS))
        ]

    def knows(self, word: str) -> bool:
        """Whether this head can hear the word."""
        return word in self._numbers and not word.startswith("<")

    def token(self, word: str) -> int:
        """The token of a word; words that sound the same share one."""
        return self._numbers[word]

    def log_probabilities(self, vectors: Array) -> Array:
        """Vectors (n, 384) to natural log probabilities (n, tokens)."""
        w = self._weights
        scaled = (vectors - w["mean"]) * w["scale"]
        x = np.maximum(scaled @ w["into_weight"].T + w["into_bias"], 0.0)
        for number, spread in enumerate(_SPREADS):
            x = x + np.maximum(
                _moved(x, spread) @ self._kernels[number] + w[f"over_time_{number}_bias"], 0.0
            )
        scores = x @ w["out_weight"].T + w["out_bias"]
        scores -= scores.max(axis=1, keepdims=True)
        return np.asarray(scores - np.log(np.exp(scores).sum(axis=1, keepdims=True)))


def _moved(x: Array, spread: int) -> Array:
    """Each frame beside its neighbours at -2, -1, 0, 1 and 2 times `spread`: (n, 5 * width)."""
    padded = np.pad(x, ((2 * spread, 2 * spread), (0, 0)))
    return np.concatenate([padded[k * spread : k * spread + len(x)] for k in range(5)], axis=1)

"""The speech encoder's weights, out of the file that lies beside this one.

They are those of Whisper tiny.en's encoder, in eight bits where they multiply; `ENCODER_LICENSE`
has the terms of their origin and `python -m tests.ears_encoder` makes the file.
"""

from __future__ import annotations

from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError

Weights = dict[str, npt.NDArray[np.float32]]

SCALE = "_scale"
VECTOR_SIZE = 384
MOST_VECTORS = 1500
"""No stretch of sound has more: 30 s."""
_LONGEST_WAVE = 10_000.0


def encoder_file() -> Path:
    """Where the weights lie."""
    return Path(str(resources.files("companion.recognition.own"))) / "encoder.npz"


def each_weight() -> Iterator[tuple[str, npt.NDArray[np.float32]]]:
    """Every variable of the encoder by its name, in single precision; never all at once.

    Raises `EarsError` without the file.
    """
    path = encoder_file()
    try:
        with np.load(path) as kept:
            for name in kept.files:
                if not name.endswith(SCALE):
                    weight = kept[name].astype(np.float32)
                    if name + SCALE in kept.files:
                        weight *= kept[name + SCALE][:, np.newaxis]
                    yield name, weight
    except (OSError, ValueError) as error:
        raise EarsError(f"{path}: the encoder cannot be read ({error})") from error
    yield "position_encodings/encodings", positions(MOST_VECTORS)


def in_eight_bits(
    weight: npt.NDArray[np.float32],
) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.float32]]:
    """Weights of shape (out, in) as whole numbers from -127 to 127, and the scale of each row."""
    scale = np.maximum(np.abs(weight).max(axis=1), 1e-12) / np.float32(127.0)
    return np.rint(weight / scale[:, np.newaxis]).astype(np.int8), scale


def positions(count: int) -> npt.NDArray[np.float32]:
    """What tells the encoder where in time a vector stands: shape (count, 384).

    Half sines, half cosines of wavelengths in a geometric row (Radford et al. 2022, "Robust speech
    recognition via large-scale weak supervision", after Vaswani et al. 2017).
    """
    half = VECTOR_SIZE // 2
    turns = np.arange(count)[:, np.newaxis] * _LONGEST_WAVE ** (-np.arange(half) / (half - 1))
    return np.concatenate([np.sin(turns), np.cos(turns)], axis=1).astype(np.float32)

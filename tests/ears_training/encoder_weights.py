"""Writes the encoder's weights for training on another processor."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from companion.recognition.own.mel import mel_bands
from companion.recognition.own.weights import each_weight


def write_encoder(path: Path) -> None:
    """The encoder's weights, in half precision as they are kept, and its input's mel bands."""
    weights = {f"encoder/{n}": v.astype(np.float16) for n, v in each_weight()}
    np.savez(path, **weights, mel_bands=mel_bands())  # type: ignore[arg-type]

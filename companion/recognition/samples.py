"""Sound as numbers: 16 kHz, one channel, full scale 1.0."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Samples = npt.NDArray[np.float32]


def samples_of(sound: bytes) -> Samples:
    """Shape (n,), of 16-bit little-endian samples; half a sample at the end is left out."""
    return np.frombuffer(sound[: len(sound) // 2 * 2], "<i2").astype(np.float32) / 32768.0

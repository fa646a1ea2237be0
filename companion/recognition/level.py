"""How loud a stretch of sound is, and whether it was spoiled on its way in."""

from __future__ import annotations

import numpy as np

from companion.recognition.port import FRAME_BYTES, Levels

QUIETEST_DBFS = -90.0
"""Levels are never reported lower: it is the step of a 16-bit sample, and digital silence."""

_FULL_SCALE = 32768.0
_CLIPPED_AT = 32700
_CLIPPED_RUN = 3


def frame_levels_dbfs(sound: bytes) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """RMS level of each whole frame, in dB relative to full scale; at least one value."""
    usable = len(sound) // FRAME_BYTES * FRAME_BYTES
    if usable == 0:
        return np.array([QUIETEST_DBFS])
    frames = np.frombuffer(sound[:usable], "<i2").reshape(-1, FRAME_BYTES // 2)
    power = np.mean((frames / _FULL_SCALE) ** 2, axis=1)
    return np.asarray(10.0 * np.log10(np.maximum(power, 10.0 ** (QUIETEST_DBFS / 10.0))))


def clipped_share(sound: bytes) -> float:
    """Share of samples in runs of three or more at either end of the scale (0 to 1)."""
    samples = np.frombuffer(sound, "<i2").astype(np.int32)
    if samples.size < _CLIPPED_RUN:
        return 0.0
    at_the_end = np.abs(samples) >= _CLIPPED_AT
    starts = at_the_end[:-2] & at_the_end[1:-1] & at_the_end[2:]
    in_run = np.zeros(samples.size, dtype=bool)
    for shift in range(_CLIPPED_RUN):
        in_run[shift : shift + starts.size] |= starts
    return float(np.mean(in_run))


def measure_levels(sound: bytes) -> Levels:
    """The levels of one utterance (16 kHz mono s16le)."""
    levels = frame_levels_dbfs(sound)
    loud = levels[levels >= levels.max() - 20.0]
    return Levels(
        background_dbfs=float(np.percentile(levels, 10)),
        speech_dbfs=float(10.0 * np.log10(np.mean(10.0 ** (loud / 10.0)))),
        clipped_share=clipped_share(sound),
    )

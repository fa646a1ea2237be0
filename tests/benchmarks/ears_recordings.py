"""Which recordings are hard: those of a telephone's band, and those of cheap microphones.

The rule asks no ears: nothing of the voice lies above 4.2 kHz, as where 8 kHz were sampled, or the
recording's own background comes within 25 dB of it.
"""

from __future__ import annotations

import math

import numpy as np

from tests.benchmarks.bay_sound import Samples, active_level_dbfs

_FRAME = 320
_LOUD_DB = 25.0
_FIRST_HIGH_BIN = 84
"""Bins are 50 Hz wide."""
_LEAST_HIGH_DB = -45.0
_LEAST_ABOVE_FLOOR_DB = 25.0


def is_hard(samples: Samples) -> bool:
    """Whether a recording (16 kHz, full scale 1.0) is one of the hard ones."""
    frames = samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME)
    power = np.mean(frames**2, axis=1)
    if not power.any():
        return True
    loud = frames[power > power.max() * 10.0 ** (-_LOUD_DB / 10.0)]
    spectrum = np.sum(np.abs(np.fft.rfft(loud * np.hanning(_FRAME), axis=1)) ** 2, axis=0)
    high_db = 10.0 * math.log10(spectrum[_FIRST_HIGH_BIN:].sum() / spectrum.sum() + 1e-12)
    floor_dbfs = 10.0 * math.log10(float(np.percentile(power, 10)) + 1e-12)
    above_floor_db = active_level_dbfs(samples) - floor_dbfs
    return high_db < _LEAST_HIGH_DB or above_floor_db < _LEAST_ABOVE_FLOOR_DB

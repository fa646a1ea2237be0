"""Clips cut to their speech and brought to one level; numpy alone, so that it runs anywhere."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

SPEECH_DBFS = -26.0
_FRAME = 320
_KEPT_DB = 35.0
_AROUND_FRAMES = 3

Samples = npt.NDArray[np.float64]


def trimmed(samples: Samples) -> Samples:
    """Without the quiet before and after: from 60 ms before the first loud frame to the last."""
    whole = samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME)
    power_db = 10.0 * np.log10(np.mean(whole**2, axis=1) + 1e-12)
    loud = np.flatnonzero(power_db > power_db.max() - _KEPT_DB)
    first = max(0, loud[0] - _AROUND_FRAMES) * _FRAME
    return samples[first : (loud[-1] + 1 + _AROUND_FRAMES) * _FRAME]


def loud_level_dbfs(samples: Samples) -> float:
    """Mean power of the frames within 20 dB of the loudest: quick, near enough."""
    power = np.mean(samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME) ** 2, axis=1)
    return 10.0 * math.log10(float(np.mean(power[power > power.max() / 100.0])) + 1e-12)


def levelled(samples: Samples) -> Samples:
    """The samples at the bank's level, cut off at full scale."""
    gain = 10.0 ** ((SPEECH_DBFS - loud_level_dbfs(samples)) / 20.0)
    return np.asarray(np.clip(gain * samples, -1.0, 1.0))

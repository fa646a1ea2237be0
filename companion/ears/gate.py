"""A cheap watch over a stream: whether it is worth listening closely just now."""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from companion.ears.level import QUIETEST_DBFS

_REMEMBERED_FRAMES = 100
_LEAST_FRAMES = 20
_OPEN_FRAMES = 15
_FLOOR_PERCENTILE = 20
_ABOVE_FLOOR_DB = 3.0
_LEAST_DBFS = -75.0


class Gate:
    """Follows the noise floor of the last three seconds, and is open around what rises above it.

    Levels are those of the difference from sample to sample: the rumble of engines counts little
    in it, the consonants of speech much. A steady noise, however loud, does not hold it open; a
    restless one does, and then the ears listen closely all the time.
    """

    def __init__(self) -> None:
        self._levels: deque[float] = deque(maxlen=_REMEMBERED_FRAMES)
        self._open_for = 0

    def passes(self, frame: bytes) -> bool:
        """Whether the frame, or one of the half second before, stands out."""
        level = _level_dbfs(frame)
        self._levels.append(level)
        if len(self._levels) < _LEAST_FRAMES or level > max(_LEAST_DBFS, self._threshold_dbfs()):
            self._open_for = _OPEN_FRAMES
        else:
            self._open_for = max(0, self._open_for - 1)
        return self._open_for > 0

    def _threshold_dbfs(self) -> float:
        return float(np.percentile(self._levels, _FLOOR_PERCENTILE)) + _ABOVE_FLOOR_DB


def _level_dbfs(frame: bytes) -> float:
    rises = np.diff(np.frombuffer(frame, "<i2").astype(np.float64)) / 32768.0
    power = float(np.mean(rises**2)) if rises.size else 0.0
    return max(QUIETEST_DBFS, 10.0 * math.log10(power + 1e-12))

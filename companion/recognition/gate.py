"""A cheap watch over a stream: whether it is worth listening closely just now."""

from __future__ import annotations

import math
from collections import deque

import numpy as np

from companion.recognition.level import QUIETEST_DBFS

_REMEMBERED_FRAMES = 100
_LEAST_FRAMES = 20
_OPEN_FRAMES = 15
_FLOOR_PERCENTILE = 20
_ABOVE_FLOOR_DB = 3.0
_LEAST_DBFS = -75.0
_MOST_FALL_DB = 15.0


class Gate:
    """Follows the noise floor of the last three seconds, and is open around what rises above it.

    Levels are those of the difference from sample to sample: the rumble of engines counts little
    in it, the consonants of speech much. A steady noise, however loud, does not hold it open; a
    restless one does, and then the ears listen closely all the time.

    `fallen_frames`: so many frames in a row, up to now, lie nearer to the floor than to the
    loudest of those three seconds.
    """

    def __init__(self) -> None:
        self.fallen_frames = 0
        self._levels: deque[float] = deque(maxlen=_REMEMBERED_FRAMES)
        self._open_for = 0

    def passes(self, frame: bytes) -> bool:
        """Whether the frame, or one of the half second before, stands out."""
        level = _level_dbfs(frame)
        self._levels.append(level)
        floor, loudest = float(np.percentile(self._levels, _FLOOR_PERCENTILE)), max(self._levels)
        halfway = max((floor + loudest) / 2.0, loudest - _MOST_FALL_DB)
        self.fallen_frames = self.fallen_frames + 1 if level < halfway else 0
        stands_out = level > max(_LEAST_DBFS, floor + _ABOVE_FLOOR_DB)
        if stands_out or len(self._levels) < _LEAST_FRAMES:
            self._open_for = _OPEN_FRAMES
        else:
            self._open_for = max(0, self._open_for - 1)
        return self._open_for > 0


def _level_dbfs(frame: bytes) -> float:
    rises = np.diff(np.frombuffer(frame, "<i2").astype(np.float64)) / 32768.0
    power = float(np.mean(rises**2)) if rises.size else 0.0
    return max(QUIETEST_DBFS, 10.0 * math.log10(power + 1e-12))

"""A head with its encoder."""

from __future__ import annotations

from collections import deque
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soxr

from companion.recognition.own.head import Head, Judged
from companion.recognition.own.mel import vectors_in
from companion.recognition.own.network import Network
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.recognition.samples import Samples

_KEPT_HEARINGS = 2


class ListeningHead:
    """A head with the encoder as it wants it."""

    def __init__(self, file: Path) -> None:
        self.head = Head(file)
        self._network = Network(file)
        # An utterance that has been followed to its end is asked about once more as a whole, and
        # where a voice was learned again, at each speed.
        self._last: deque[tuple[Samples, npt.NDArray[np.float32]]] = deque(maxlen=_KEPT_HEARINGS)

    def features(self, samples: Samples) -> npt.NDArray[np.float32]:
        """What the head's last layer sees of a stretch of sound."""
        for before, features in self._last:
            if np.array_equal(samples, before):
                return features
        features = self._network.features(samples)
        self._last.append((samples, features))
        return features

    def judge(self, samples: Samples) -> Judged:
        """What the head makes of a stretch of sound.

        Its words may stand anywhere behind where they are said, even in the filling-up at the
        end; where somebody speaks is told without that.
        """
        judged = self.head.judge_features(self.features(samples))
        return Judged(judged.tokens, judged.speech[: vectors_in(len(samples))])


def at_speed(samples: Samples, factor: float) -> Samples:
    """The sound played `factor` times as fast; pitch and formants move with it."""
    if factor == 1.0:
        return samples
    changed = soxr.resample(samples, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ / factor)
    return np.asarray(changed, dtype=np.float32)

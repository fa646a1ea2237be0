"""Few people are many voices: recorded words said again with another pitch, throat and pace."""

from __future__ import annotations

import math

import numpy as np

from companion.recognition.port import SAMPLE_RATE_HZ
from tests.benchmarks.bay_sound import Samples

_PITCH, _THROAT, _PACE = 1.5, 1.18, 1.25
"""Each is drawn between one over this and this, evenly in its logarithm."""


def other_mouth(samples: Samples, generator: np.random.Generator) -> Samples:
    """The same words by somebody else: a vocoder's pitch, formants and duration are moved.

    `samples` at 16 kHz, full scale 1.0. Needs `pyworld` (WORLD, Morise et al. 2016).
    """
    import pyworld

    pitch, throat, pace = (
        math.exp(generator.uniform(-math.log(most), math.log(most)))
        for most in (_PITCH, _THROAT, _PACE)
    )
    rough = generator.uniform(0.0, 0.2)
    f0_hz, times_s = pyworld.dio(samples, SAMPLE_RATE_HZ)
    f0_hz = pyworld.stonemask(samples, f0_hz, times_s, SAMPLE_RATE_HZ)
    envelope = pyworld.cheaptrick(samples, f0_hz, times_s, SAMPLE_RATE_HZ)
    breath = pyworld.d4c(samples, f0_hz, times_s, SAMPLE_RATE_HZ)
    bins = np.arange(envelope.shape[1])
    of_bins = np.minimum(bins / throat, bins[-1])
    envelope = np.exp(_columns(np.log(envelope), of_bins))
    breath = np.clip(_columns(breath, of_bins) + rough, 0.0, 1.0)
    said = pyworld.synthesize(
        f0_hz * pitch, envelope, breath, SAMPLE_RATE_HZ, pyworld.default_frame_period / pace
    )
    return np.asarray(said, dtype=np.float64)


def _columns(values: Samples, places: Samples) -> Samples:
    """Columns of `values` (frames, bins) at fractional places, between its neighbours."""
    below = np.minimum(places.astype(int), values.shape[1] - 2)
    part = places - below
    return np.ascontiguousarray(values[:, below] * (1.0 - part) + values[:, below + 1] * part)

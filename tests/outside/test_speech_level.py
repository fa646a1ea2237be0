"""The active speech level against the recommendation's own steps, sample by sample.

Source: ITU-T Recommendation P.56, method B (two equal exponential smoothers of 30 ms, hangover of
200 ms, margin of 15.9 dB, thresholds at powers of two below full scale), written down from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.benchmarks.bay_sound import active_level_dbfs

RATE_HZ = 16_000


def step_by_step(samples: np.ndarray) -> float:
    """Method B as a loop over samples with counters, as the recommendation words it."""
    smooth = math.exp(-1.0 / (RATE_HZ * 0.03))
    hangover = round(0.2 * RATE_HZ)
    limits = [2.0**-j for j in range(15, 0, -1)]
    active = [0] * len(limits)
    since = [hangover] * len(limits)
    p = q = power = 0.0
    for x in samples.tolist():
        power += x * x
        p = smooth * p + (1.0 - smooth) * abs(x)
        q = smooth * q + (1.0 - smooth) * p
        for j, limit in enumerate(limits):
            if q >= limit:
                active[j] += 1
                since[j] = 0
            elif since[j] < hangover:
                active[j] += 1
                since[j] += 1
    before: tuple[float, float] | None = None
    for j, limit in enumerate(limits):
        assert active[j] > 0
        level = 10.0 * math.log10(power / active[j])
        margin = level - 20.0 * math.log10(limit)
        if margin <= 15.9:
            assert before is not None
            share = (before[1] - 15.9) / (before[1] - margin)
            return before[0] + share * (level - before[0])
        before = (level, margin)
    raise AssertionError("never within the margin")


@pytest.mark.parametrize(("seed", "loudness"), [(1, 0.3), (2, 0.05), (3, 0.6)])
def test_the_level_is_that_of_the_recommendation(seed: int, loudness: float) -> None:
    generator = np.random.default_rng(seed)
    pieces = []
    for _ in range(6):
        length = int(generator.uniform(0.1, 0.4) * RATE_HZ)
        pieces += [loudness * generator.normal(size=length) * np.hanning(length)]
        pieces += [1e-4 * generator.normal(size=int(generator.uniform(0.05, 0.6) * RATE_HZ))]
    samples = np.clip(np.concatenate(pieces), -1.0, 1.0)
    assert active_level_dbfs(samples) == pytest.approx(step_by_step(samples), abs=0.02)

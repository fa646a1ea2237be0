"""Sound of a bay for the ears: speech levels by ITU-T P.56, noise by recording or by seed, mixes.

Samples are float64 at 16 kHz, full scale 1.0.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt
from scipy.signal import butter, lfilter, sosfilt

from companion.recognition.port import SAMPLE_RATE_HZ

Samples = npt.NDArray[np.float64]

SPEECH_DBFS = -26.0
"""Active level that speech is brought to before noise is laid under it."""
ROOM_DBFS = -75.0
"""Noise of a quiet room under everything, "clean" too."""
_LOUDEST = 0.9

# ITU-T P.56, method B: envelope by two equal smoothers, hangover, and the margin between the
# active level and the threshold that decides what is active.
_SMOOTHING_S = 0.03
_HANGOVER_S = 0.2
_MARGIN_DB = 15.9
_THRESHOLDS = 15


def active_level_dbfs(samples: Samples) -> float:
    """Active speech level by ITU-T P.56 method B, in dB relative to full scale (RMS)."""
    power = float(np.sum(samples**2))
    if power == 0.0:
        return -math.inf
    smoothing = math.exp(-1.0 / (SAMPLE_RATE_HZ * _SMOOTHING_S))
    envelope = np.abs(samples)
    for _ in range(2):
        envelope = lfilter([1.0 - smoothing], [1.0, -smoothing], envelope)
    above_db: list[tuple[float, float]] = []
    for exponent in range(_THRESHOLDS, 0, -1):
        threshold = 2.0**-exponent
        active = _active_samples(envelope, threshold)
        if active == 0:
            break
        level_db = 10.0 * math.log10(power / active)
        margin_db = level_db - 20.0 * math.log10(threshold)
        if margin_db <= _MARGIN_DB:
            if not above_db:
                return level_db
            before_level, before_margin = above_db[-1]
            share = (before_margin - _MARGIN_DB) / (before_margin - margin_db)
            return before_level + share * (level_db - before_level)
        above_db.append((level_db, margin_db))
    return above_db[-1][0] if above_db else 10.0 * math.log10(power / len(samples))


def _active_samples(envelope: Samples, threshold: float) -> int:
    """Samples at or above the threshold, or within the hangover after one that was."""
    places = np.arange(len(envelope))
    last = np.maximum.accumulate(np.where(envelope >= threshold, places, -len(envelope)))
    return int(np.count_nonzero(places - last <= round(_HANGOVER_S * SAMPLE_RATE_HZ)))


def impact_bursts(seconds: float, generator: np.random.Generator) -> Samples:
    """An impact wrench: trains of short decaying rattles at 15 to 28 a second, with pauses."""
    count = round(seconds * SAMPLE_RATE_HZ)
    sound = np.zeros(count)
    place = 0
    while place < count:
        train_end = min(count, place + round(generator.uniform(0.5, 2.0) * SAMPLE_RATE_HZ))
        rate_hz = generator.uniform(15.0, 28.0)
        while place < train_end:
            length = min(round(generator.uniform(0.015, 0.035) * SAMPLE_RATE_HZ), count - place)
            decay = np.exp(-np.arange(length) / (generator.uniform(0.003, 0.010) * SAMPLE_RATE_HZ))
            strength = generator.uniform(0.6, 1.0)
            sound[place : place + length] += strength * decay * generator.normal(size=length)
            place += round(SAMPLE_RATE_HZ / rate_hz * generator.uniform(0.95, 1.05))
        place = train_end + round(generator.uniform(0.1, 0.7) * SAMPLE_RATE_HZ)
    low_hz, high_hz = generator.uniform(300, 900), generator.uniform(3000, 7000)
    band = butter(2, (low_hz, high_hz), "bandpass", fs=SAMPLE_RATE_HZ, output="sos")
    return _at_rms(np.asarray(sosfilt(band, sound)))


def compressor_hum(seconds: float, generator: np.random.Generator) -> Samples:
    """A piston compressor: harmonics of its turning, beating slowly, over broad low noise."""
    times = np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
    turning_hz = generator.uniform(22.0, 52.0)
    hum = np.zeros(len(times))
    for harmonic in range(1, 25):
        phase = generator.uniform(0.0, 2.0 * np.pi)
        strength = generator.uniform(0.3, 1.0) / harmonic**0.7
        hum += strength * np.sin(2.0 * np.pi * harmonic * turning_hz * times + phase)
    low_pass = butter(1, generator.uniform(400, 1500), "low", fs=SAMPLE_RATE_HZ, output="sos")
    rush = _at_rms(np.asarray(sosfilt(low_pass, generator.normal(size=len(times)))))
    beat = 1.0 + 0.3 * np.sin(2.0 * np.pi * generator.uniform(0.3, 1.5) * times)
    return _at_rms(_at_rms(hum * beat) + generator.uniform(0.3, 1.0) * rush)


def stretch_of(recording: Samples, count: int, generator: np.random.Generator) -> Samples:
    """So many samples of a recording from a random place, going round where it is too short."""
    start = int(generator.integers(len(recording)))
    return recording[(start + np.arange(count)) % len(recording)]


def mixed(
    speech: Samples,
    noise: Samples,
    level_db: float | None,
    generator: np.random.Generator,
    lead_s: float,
    tail_s: float,
) -> Samples:
    """Speech at `SPEECH_DBFS` with `noise` (as long as both with lead and tail) under it.

    The noise's RMS over the whole stretch stands `level_db` below the active speech level;
    None: only a quiet room. Brought down as a whole where it would clip.
    """
    level = active_level_dbfs(speech)
    gain = 10.0 ** ((SPEECH_DBFS - level) / 20.0) if math.isfinite(level) else 0.0
    lead, tail = round(lead_s * SAMPLE_RATE_HZ), round(tail_s * SAMPLE_RATE_HZ)
    whole = np.concatenate([np.zeros(lead), gain * speech, np.zeros(tail)])
    whole += 10.0 ** (ROOM_DBFS / 20.0) * generator.normal(size=len(whole))
    if level_db is not None:
        whole += 10.0 ** ((SPEECH_DBFS - level_db) / 20.0) * _at_rms(noise[: len(whole)])
    return whole * min(1.0, _LOUDEST / float(np.max(np.abs(whole))))


def as_sound(samples: Samples) -> bytes:
    """16 kHz mono s16le, as the ears take it."""
    return bytes(np.clip(np.rint(samples * 32768.0), -32768, 32767).astype("<i2").tobytes())


def _at_rms(samples: Samples) -> Samples:
    rms = float(np.sqrt(np.mean(samples**2)))
    return samples / rms if rms > 0.0 else samples

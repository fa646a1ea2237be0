"""Noise of a bay, made by formula: what is said in quiet is learned as it sounds in noise, too.

Either steady (an engine, a compressor: noise whose power falls with frequency), or bursts (an
impact wrench: short decaying rattles some twenty times a second).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from companion.recognition.level import measure_levels
from companion.recognition.port import SAMPLE_RATE_HZ

_STEEPEST = 1.2
"""Power of frequency by which the amplitude falls: 0 white, 0.5 pink, 1 brown."""
_LOWEST_HZ = 60.0
_RATTLES_PER_S = (15.0, 40.0)
_DECAY_S = (0.003, 0.012)
_PAUSED_SHARE = 0.3
_LOUDEST = 0.9


def under_noise(sound: bytes, level_db: float, generator: np.random.Generator) -> bytes:
    """The sound (16 kHz mono s16le) with noise so far below its speech; quieter if it would clip.

    Below the mean power of the frames within 20 dB of the loudest (`Levels.speech_dbfs`).
    """
    samples = np.frombuffer(sound, "<i2").astype(np.float64) / 32768.0
    make = _steady if generator.random() < 0.5 else _bursts
    noise = make(len(samples), generator)
    noise /= np.sqrt(np.mean(noise**2)) + 1e-12
    level_dbfs = measure_levels(sound).speech_dbfs - level_db
    mixed = samples + 10.0 ** (level_dbfs / 20.0) * noise
    mixed *= min(1.0, _LOUDEST / (float(np.max(np.abs(mixed))) + 1e-12))
    return bytes(np.rint(mixed * 32767.0).astype("<i2").tobytes())


def _steady(count: int, generator: np.random.Generator) -> npt.NDArray[np.float64]:
    return _coloured(generator.normal(size=count), generator.uniform(0.0, _STEEPEST))


def _bursts(count: int, generator: np.random.Generator) -> npt.NDArray[np.float64]:
    sound = np.zeros(count)
    apart = round(SAMPLE_RATE_HZ / generator.uniform(*_RATTLES_PER_S))
    length = min(apart, count)
    decay_s = generator.uniform(*_DECAY_S)
    decay = np.exp(-np.arange(length) / (decay_s * SAMPLE_RATE_HZ))
    paused = round(generator.uniform(0.0, _PAUSED_SHARE) * count)
    begins = int(generator.integers(0, count - paused + 1))
    for place in range(0, count - length + 1, apart):
        if not begins <= place < begins + paused:
            strength = generator.uniform(0.6, 1.0)
            sound[place : place + length] = strength * decay * generator.normal(size=length)
    return _coloured(sound, generator.uniform(0.0, 0.5))


def _coloured(sound: npt.NDArray[np.float64], slope: float) -> npt.NDArray[np.float64]:
    spectrum = np.fft.rfft(sound)
    hertz = np.fft.rfftfreq(len(sound), 1.0 / SAMPLE_RATE_HZ)
    return np.fft.irfft(spectrum / np.maximum(hertz, _LOWEST_HZ) ** slope, len(sound))

"""Noise of a workshop for training, made by models: wrench, grinder, engine, blow gun, tools.

The scored trials use other models (`bay_sound`), so that none is known by heart.
"""

from __future__ import annotations

import numpy as np
from scipy.signal import butter, lfilter, sosfilt

from companion.recognition.port import SAMPLE_RATE_HZ
from tests.benchmarks.bay_sound import Samples
from tests.ears_training.rooms import dropped_tools


def _times(seconds: float) -> Samples:
    return np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ


def _band(samples: Samples, low_hz: float, high_hz: float) -> Samples:
    sos = butter(2, (low_hz, high_hz), "bandpass", fs=SAMPLE_RATE_HZ, output="sos")
    return np.asarray(sosfilt(sos, samples))


def _resonant(samples: Samples, tone_hz: float, decay_s: float) -> Samples:
    """Metal that rings at one tone when it is struck."""
    radius = np.exp(-1.0 / (decay_s * SAMPLE_RATE_HZ))
    angle = 2.0 * np.pi * tone_hz / SAMPLE_RATE_HZ
    return np.asarray(
        lfilter([1.0 - radius], [1.0, -2.0 * radius * np.cos(angle), radius**2], samples)
    )


def _unit(samples: Samples) -> Samples:
    return samples / max(1e-9, float(np.sqrt(np.mean(samples**2))))


def impact_wrench(seconds: float, generator: np.random.Generator) -> Samples:
    """Blows 20 to 40 times a second on ringing metal over the whine of an air turbine."""
    times = _times(seconds)
    blows = np.zeros(len(times))
    place = 0.0
    while place < seconds:
        end, rate_hz = place + generator.uniform(0.3, 2.5), generator.uniform(20.0, 40.0)
        while place < min(end, seconds):
            spot = min(len(times) - 1, round(place * SAMPLE_RATE_HZ))
            blows[spot] += generator.uniform(0.5, 1.0)
            place += generator.uniform(0.92, 1.08) / rate_hz
        place = end + generator.uniform(0.05, 0.8)
    rung = np.zeros(len(times))
    for _ in range(int(generator.integers(3, 8))):
        tone_hz = np.exp(generator.uniform(np.log(400.0), np.log(6500.0)))
        rung += _unit(_resonant(blows, tone_hz, generator.uniform(0.002, 0.02)))
    whine_hz = generator.uniform(700.0, 3000.0)
    drift = np.cumsum(1.0 + 0.02 * np.sin(2.0 * np.pi * generator.uniform(0.5, 3.0) * times))
    whine = np.sin(2.0 * np.pi * whine_hz * drift / SAMPLE_RATE_HZ)
    hiss = _unit(_band(generator.normal(size=len(times)), 1500.0, 7000.0))
    return _unit(rung) + generator.uniform(0.05, 0.4) * whine + generator.uniform(0.1, 0.5) * hiss


def grinder(seconds: float, generator: np.random.Generator) -> Samples:
    """A wheel on steel: harmonics of its turning, pressed now more, now less, over broad hiss."""
    times = _times(seconds)
    turning_hz = generator.uniform(90.0, 200.0)
    press = 1.0 + 0.05 * np.sin(2.0 * np.pi * generator.uniform(0.2, 1.0) * times)
    phase = 2.0 * np.pi * np.cumsum(turning_hz * press) / SAMPLE_RATE_HZ
    tones = np.zeros(len(times))
    for harmonic in range(1, 30):
        tones += generator.uniform(0.1, 1.0) / harmonic**0.5 * np.sin(harmonic * phase)
    hiss = _band(generator.normal(size=len(times)), generator.uniform(1000.0, 3000.0), 7500.0)
    loud = 1.0 + 0.6 * np.sin(2.0 * np.pi * generator.uniform(0.2, 1.5) * times)
    return (_unit(tones) + generator.uniform(0.5, 2.0) * _unit(hiss)) * np.clip(loud, 0.2, None)


def engine_idle(seconds: float, generator: np.random.Generator) -> Samples:
    """Four strokes at idle: uneven thumps through an exhaust, a rattle, a fan."""
    times = _times(seconds)
    firing_hz = generator.uniform(20.0, 45.0)
    thumps = np.zeros(len(times))
    place = 0.0
    while place < seconds:
        thumps[min(len(times) - 1, round(place * SAMPLE_RATE_HZ))] += generator.uniform(0.6, 1.0)
        place += generator.uniform(0.93, 1.07) / firing_hz
    body = _resonant(thumps, generator.uniform(60.0, 250.0), generator.uniform(0.01, 0.04))
    rattle = _resonant(thumps, generator.uniform(800.0, 3500.0), generator.uniform(0.002, 0.008))
    fan = _band(generator.normal(size=len(times)), 100.0, generator.uniform(800.0, 3000.0))
    shares = generator.uniform(0.05, 0.8, 2)
    return _unit(body) + shares[0] * _unit(rattle) + shares[1] * _unit(fan)


def blow_gun(seconds: float, generator: np.random.Generator) -> Samples:
    """Bursts of air: hiss that opens and closes at once, with a whistle in it."""
    times = _times(seconds)
    hiss = _unit(_band(generator.normal(size=len(times)), generator.uniform(800.0, 3000.0), 7800.0))
    whistle = np.sin(2.0 * np.pi * generator.uniform(2000.0, 6000.0) * times)
    open_ = np.zeros(len(times))
    place = 0.0
    while place < seconds:
        length_s = generator.uniform(0.1, 1.5)
        open_[round(place * SAMPLE_RATE_HZ) : round((place + length_s) * SAMPLE_RATE_HZ)] = 1.0
        place += length_s + generator.uniform(0.1, 1.0)
    smooth = round(generator.uniform(0.003, 0.03) * SAMPLE_RATE_HZ)
    open_ = np.convolve(open_, np.ones(smooth) / smooth, "same")
    return (hiss + generator.uniform(0.0, 0.5) * whistle) * open_ + 1e-3 * hiss


MADE = (impact_wrench, grinder, engine_idle, blow_gun, dropped_tools)

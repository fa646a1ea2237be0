"""Noise of a workshop for scoring, made by models that share nothing with the training's.

`tests/ears_training/workshop.py` shapes clicks and noise by filters. Here bodies ring in the modes
of bars and pipes, machines slow down under load, and pressure falls while a valve is open. Common
physics, figures from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.signal import fftconvolve, lfilter

from companion.recognition.port import SAMPLE_RATE_HZ
from tests.benchmarks.bay_sound import Samples

Model = Callable[[float, np.random.Generator], Samples]

_BAR_MODES = (1.0, 2.757, 5.404, 8.933, 13.34)
"""Bending modes of a bar with free ends, over the lowest (Euler and Bernoulli)."""
_MADE_S = 20.0


@dataclass(frozen=True)
class MadeNoise:
    """So much of one model from one seed; to be heard like a recording."""

    sort: str
    model: Model
    seed: int
    seconds: float = _MADE_S

    def samples(self) -> Samples:
        """The sound at 16 kHz, RMS 0.1."""
        return _made(self.model, self.seconds, self.seed)


@lru_cache(maxsize=64)
def _made(model: Model, seconds: float, seed: int) -> Samples:
    """Kept: hours of noise are laid together of a few of them."""
    return 0.1 * model(seconds, np.random.default_rng([seed, 61]))


def impact_wrench(seconds: float, generator: np.random.Generator) -> Samples:
    """Hammers on an anvil: a nut is run down, then struck ever more slowly while it tightens."""
    times = _times(seconds)
    blows, motor_hz = np.zeros(len(times)), np.zeros(len(times))
    place = 0.0
    while place < seconds:
        running_s, struck_s = generator.uniform(0.2, 0.9), generator.uniform(0.6, 3.0)
        motor_hz[_at(place) : _at(place + running_s)] = generator.uniform(110.0, 150.0)
        place += running_s
        ends, rate_hz = place + struck_s, generator.uniform(26.0, 38.0)
        slowest_hz = rate_hz * generator.uniform(0.55, 0.8)
        while place < min(ends, seconds):
            now_hz = slowest_hz + (rate_hz - slowest_hz) * (ends - place) / struck_s
            spot = _at(place + generator.normal(0.0, 0.0008))
            # Hammer and anvil rebound: a second, weaker blow a few milliseconds later.
            for late_s, strength in ((0.0, 1.0), (generator.uniform(0.002, 0.005), 0.35)):
                here = min(len(blows) - 1, max(0, spot + _at(late_s)))
                blows[here] += strength * generator.uniform(0.7, 1.0)
            motor_hz[_at(place) : _at(place + 1.0 / now_hz)] = 2.0 * now_hz
            place += 1.0 / now_hz
        place += generator.uniform(0.1, 1.2)
    rings = _bar(blows, generator.uniform(350.0, 900.0), generator)
    socket = _bar(blows, generator.uniform(1400.0, 2600.0), generator)
    vanes = np.sin(7.0 * _phase(motor_hz)) * (motor_hz > 0.0)
    exhaust = _pink(len(times), generator) * (motor_hz > 0.0)
    exhaust *= 1.0 + 0.7 * np.sin(_phase(motor_hz))
    return _level(
        _level(rings)
        + generator.uniform(0.3, 0.9) * _level(socket)
        + generator.uniform(0.05, 0.2) * _level(vanes)
        + generator.uniform(0.1, 0.35) * _level(exhaust)
    )


def angle_grinder(seconds: float, generator: np.random.Generator) -> Samples:
    """A series-wound motor through a bevel gear: it slows under the hand and chatters."""
    count = len(_times(seconds))
    press = np.clip(_wandering(count, 0.6, generator), 0.0, None)
    press /= max(1e-9, press.max())
    idle_hz = generator.uniform(430.0, 560.0)
    rotor_hz = idle_hz * (1.0 - 0.3 * press)
    phase = _phase(rotor_hz)
    teeth = int(generator.integers(9, 14))
    mesh = sum(np.sin(k * teeth / 3.0 * phase) / k for k in (1, 2, 3))
    rotor = sum(np.sin(k * phase + k) / k**1.5 for k in range(1, 6))
    mains = 1.0 + 0.4 * np.sin(2.0 * np.pi * 100.0 * _times(seconds))
    wheel = sum(np.sin(k * phase / 3.4) for k in (1, 2))
    sparks = _blue(count, generator) * press * (1.0 + 0.5 * wheel)
    return _level(
        _level(rotor * mains)
        + generator.uniform(0.3, 0.8) * _level(mesh)
        + generator.uniform(0.8, 2.5) * _level(sparks)
    )


def engine_idle(seconds: float, generator: np.random.Generator) -> Samples:
    """A diesel at idle: four unequal cylinders, a pipe that answers, injectors that tick."""
    times = _times(seconds)
    firing_hz = generator.uniform(22.0, 30.0) * (
        1.0 + 0.02 * _wandering(len(times), 1.0, generator)
    )
    turned = np.floor(np.cumsum(firing_hz) / SAMPLE_RATE_HZ)
    fires = np.flatnonzero(np.diff(turned) > 0)
    strengths = generator.uniform(0.7, 1.0, 4)
    burst = np.exp(-np.arange(_at(0.03)) / (generator.uniform(0.003, 0.006) * SAMPLE_RATE_HZ))
    burst *= np.sin(2.0 * np.pi * generator.uniform(90.0, 180.0) * np.arange(len(burst)) / 16_000)
    pushes, ticks = np.zeros(len(times)), np.zeros(len(times))
    for number, spot in enumerate(fires):
        pushes[spot] = strengths[number % 4] * generator.uniform(0.9, 1.0)
        ticks[max(0, spot - _at(0.004))] = generator.uniform(0.5, 1.0)
    pressure = fftconvolve(pushes, burst)[: len(times)]
    delay = _at(2.0 * generator.uniform(1.5, 3.5) / 500.0)
    pipe = lfilter([1.0], np.r_[1.0, np.zeros(delay - 1), generator.uniform(0.4, 0.7)], pressure)
    clatter = _bar(ticks, generator.uniform(900.0, 1800.0), generator)
    belt = np.sin(_phase(firing_hz * generator.uniform(17.0, 29.0)))
    return _level(
        _level(np.asarray(pipe))
        + generator.uniform(0.2, 0.7) * _level(clatter)
        + generator.uniform(0.02, 0.15) * belt
        + generator.uniform(0.05, 0.2) * _level(_pink(len(times), generator))
    )


def blow_gun(seconds: float, generator: np.random.Generator) -> Samples:
    """A jet whose pressure falls while it is open, and an edge in its way that whistles."""
    times = _times(seconds)
    pressure = np.zeros(len(times))
    place = generator.uniform(0.0, 0.5)
    while place < seconds:
        open_s = generator.uniform(0.08, 2.2)
        span = pressure[_at(place) : _at(place + open_s)]
        since = np.arange(len(span)) / SAMPLE_RATE_HZ
        span[:] = generator.uniform(0.6, 1.0) * np.exp(-since / generator.uniform(1.0, 4.0))
        place += open_s + generator.exponential(0.6)
    pressure = lfilter([0.02], [1.0, -0.98], pressure)
    hiss = _blue(len(times), generator) + 0.3 * _pink(len(times), generator)
    edge_hz = generator.uniform(900.0, 5000.0) * np.sqrt(np.clip(pressure, 0.0, None))
    edge = np.sin(_phase(edge_hz)) * np.clip(_wandering(len(times), 3.0, generator), 0.0, None)
    sound = pressure * (_level(hiss) + generator.uniform(0.0, 0.6) * _level(edge))
    return _level(sound + 1e-3 * generator.normal(size=len(times)))


def compressor(seconds: float, generator: np.random.Generator) -> Samples:
    """A piston compressor: it sucks through its filter, clacks its valves, lets off at the end."""
    times = _times(seconds)
    stroke_hz = np.full(len(times), generator.uniform(11.0, 19.0))
    runs_until = _at(generator.uniform(0.5, 1.0) * seconds)
    rundown = np.clip(1.0 - (np.arange(len(times)) - runs_until) / _at(1.5), 0.0, 1.0)
    phase = _phase(stroke_hz * rundown)
    suction = np.clip(np.sin(phase), 0.0, None) ** 2 * (rundown > 0.05)
    helmholtz_hz = generator.uniform(70.0, 220.0)
    box = _ring(suction * generator.normal(1.0, 0.5, len(times)), helmholtz_hz, 0.02)
    closing = np.zeros(len(times))
    closing[np.flatnonzero(np.diff(np.floor(phase / np.pi)) > 0)] = 1.0
    valves = _bar(closing, generator.uniform(1000.0, 2200.0), generator)
    motor = sum(np.sin(2.0 * np.pi * 50.0 * k * times + k) / k for k in (2, 3, 4, 6)) * rundown
    let_off = np.exp(-np.clip(np.arange(len(times)) - runs_until, 0, None) / _at(0.8))
    hiss = _blue(len(times), generator) * let_off * (np.arange(len(times)) >= runs_until)
    return _level(
        _level(box)
        + generator.uniform(0.2, 0.6) * _level(valves)
        + generator.uniform(0.1, 0.5) * _level(motor)
        + generator.uniform(0.2, 0.8) * hiss
    )


MODELS: tuple[Model, ...] = (impact_wrench, angle_grinder, engine_idle, blow_gun, compressor)


def made_noises(seed: int, each: int = 6) -> list[MadeNoise]:
    """Several of every model, each from a seed of its own."""
    return [
        MadeNoise(model.__name__, model, 1000 * seed + 10 * number + place)
        for place, model in enumerate(MODELS)
        for number in range(each)
    ]


def workshop_noise(count: int, generator: np.random.Generator) -> Samples:
    """So many samples of one of the models, chosen by the generator."""
    model = MODELS[int(generator.integers(len(MODELS)))]
    return model(count / SAMPLE_RATE_HZ + 0.01, generator)[:count]


def _times(seconds: float) -> Samples:
    return np.arange(round(seconds * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ


def _at(seconds: float) -> int:
    return round(seconds * SAMPLE_RATE_HZ)


def _phase(frequency_hz: Samples) -> Samples:
    return np.asarray(2.0 * np.pi * np.cumsum(frequency_hz) / SAMPLE_RATE_HZ)


def _level(samples: Samples) -> Samples:
    rms = float(np.sqrt(np.mean(samples**2)))
    return samples / rms if rms > 0.0 else samples


def _ring(samples: Samples, tone_hz: float, decay_s: float) -> Samples:
    """A damped oscillator that is pushed: its impulse response laid over the pushes."""
    times = np.arange(_at(8.0 * decay_s)) / SAMPLE_RATE_HZ
    answer = np.exp(-times / decay_s) * np.sin(2.0 * np.pi * tone_hz * times)
    return np.asarray(fftconvolve(samples, answer)[: len(samples)])


def _bar(blows: Samples, lowest_hz: float, generator: np.random.Generator) -> Samples:
    """A struck bar: the higher a mode, the sooner it is gone."""
    sound = np.zeros(len(blows))
    for ratio in _BAR_MODES:
        tone_hz = lowest_hz * ratio * generator.uniform(0.97, 1.03)
        if tone_hz < 0.45 * SAMPLE_RATE_HZ:
            sound += generator.uniform(0.4, 1.0) * _ring(blows, tone_hz, 0.03 / ratio**0.7)
    return sound


def _spectrum_shaped(count: int, power: float, generator: np.random.Generator) -> Samples:
    spectrum = np.fft.rfft(generator.normal(size=count))
    frequency = np.maximum(np.fft.rfftfreq(count, 1.0 / SAMPLE_RATE_HZ), 20.0)
    return np.asarray(np.fft.irfft(spectrum * frequency**power, count))


def _pink(count: int, generator: np.random.Generator) -> Samples:
    return _level(_spectrum_shaped(count, -0.5, generator))


def _blue(count: int, generator: np.random.Generator) -> Samples:
    return _level(_spectrum_shaped(count, 0.5, generator))


def _wandering(count: int, rate_hz: float, generator: np.random.Generator) -> Samples:
    """A slow random walk that is drawn back to nothing (Ornstein and Uhlenbeck), RMS 1."""
    pull = 2.0 * np.pi * rate_hz / SAMPLE_RATE_HZ
    return _level(np.asarray(lfilter([1.0], [1.0, pull - 1.0], generator.normal(size=count))))

"""Rooms for training: how a workshop answers a voice, and what falls to its floor."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from companion.recognition.port import SAMPLE_RATE_HZ
from tests.benchmarks.bay_sound import Samples

ROOMS = 160
_ECHO_SAMPLES = 6_400
_BEFORE = 16


def room_echoes(count: int, seed: int) -> npt.NDArray[np.float32]:
    """So many impulse responses of box-shaped rooms by image sources, of shape (count, samples).

    Rooms of 4 to 15 m, the speaker 0.3 to 4 m from the microphone. Each begins with the direct
    sound, which has the strength 1 before an echo adds to it. Needs `pyroomacoustics`.
    """
    import pyroomacoustics

    generator = np.random.default_rng(seed)
    found = np.zeros((count, _ECHO_SAMPLES), np.float32)
    for response in found:
        size = np.array([*generator.uniform(4.0, 15.0, 2), generator.uniform(2.8, 6.0)])
        room = pyroomacoustics.ShoeBox(
            size,
            fs=SAMPLE_RATE_HZ,
            materials=pyroomacoustics.Material(generator.uniform(0.1, 0.6)),
            max_order=8,
        )
        spot = generator.uniform(0.2, 0.8, 3) * size
        way = generator.normal(size=3)
        away = spot + way / np.linalg.norm(way) * generator.uniform(0.3, 4.0)
        room.add_microphone(spot)
        room.add_source(np.clip(away, 0.3, size - 0.3))
        room.compute_rir()
        heard = room.rir[0][0]
        first = int(np.argmax(np.abs(heard) > 0.5 * np.abs(heard).max()))
        kept = heard[max(0, first - _BEFORE) :][:_ECHO_SAMPLES]
        response[: len(kept)] = kept / max(1e-9, float(np.abs(kept[: 3 * _BEFORE]).max()))
    peak = float(np.abs(found).max())
    return found / peak if peak > 1.0 else found


def dropped_tools(seconds: float, generator: np.random.Generator) -> Samples:
    """Spanners on the floor, hammer on steel: ringing tones that die away, at random times."""
    sound = np.zeros(round(seconds * SAMPLE_RATE_HZ))
    place = 0
    while place < len(sound):
        length = min(round(generator.uniform(0.05, 0.6) * SAMPLE_RATE_HZ), len(sound) - place)
        times = np.arange(length) / SAMPLE_RATE_HZ
        for _ in range(int(generator.integers(2, 7))):
            tone_hz = np.exp(generator.uniform(np.log(300.0), np.log(7000.0)))
            decay_s = generator.uniform(0.01, 0.15)
            ringing = np.sin(2.0 * np.pi * tone_hz * times + generator.uniform(0.0, 2.0 * np.pi))
            sound[place : place + length] += (
                generator.uniform(0.1, 1.0) * ringing * np.exp(-times / decay_s)
            )
        place += round(generator.uniform(0.05, 0.9) * SAMPLE_RATE_HZ)
    return sound + 0.002 * generator.normal(size=len(sound))

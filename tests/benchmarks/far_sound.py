"""Speech from afar: the echo of a workshop, by a general room simulator (pyroomacoustics)."""

from __future__ import annotations

from functools import lru_cache
from importlib import import_module
from importlib.util import find_spec

import numpy as np
from scipy.signal import fftconvolve

from companion.recognition.port import SAMPLE_RATE_HZ
from tests.benchmarks.bay_sound import Samples

SIMULATOR = "pyroomacoustics"
ROOM_M = (9.0, 6.5, 3.6)
"""A bay for one car with a bench."""
ECHO_S = (0.5, 0.9)
"""Reverberation times (60 dB) between a cluttered and a bare workshop: common practice."""
AWAY_M = (1.5, 3.0)
"""From the mouth to a microphone on the stand or the bench."""
_ECHOES = 12
_NEAR_WALL_M = 0.5
_MOST_REFLECTIONS = 25


def is_here() -> bool:
    """Whether the simulator is installed."""
    return find_spec(SIMULATOR) is not None


def heard_from_afar(speech: Samples, seed: int) -> Samples:
    """The speech through one of a few rooms that the seed chooses.

    The direct sound comes first, so that the speech does not move in time; the echo's tail is
    kept.
    """
    echo = _echo(seed % _ECHOES)
    return np.asarray(fftconvolve(speech, echo))


@lru_cache(maxsize=_ECHOES)
def _echo(number: int) -> Samples:
    """The response of one place in one room from its direct sound on, by mirrored sources."""
    room_acoustics = import_module(SIMULATOR)
    generator = np.random.default_rng([11, number])
    echo_s = float(generator.uniform(*ECHO_S))
    absorption, order = room_acoustics.inverse_sabine(echo_s, ROOM_M)
    room = room_acoustics.ShoeBox(
        ROOM_M,
        fs=SAMPLE_RATE_HZ,
        materials=room_acoustics.Material(absorption),
        max_order=min(order, _MOST_REFLECTIONS),
    )
    away_m = float(generator.uniform(*AWAY_M))
    microphone = np.array([*(generator.uniform(3.0, size - 3.0) for size in ROOM_M[:2]), 1.1])
    angle = generator.uniform(0.0, 2.0 * np.pi)
    mouth = microphone + np.array([away_m * np.cos(angle), away_m * np.sin(angle), 0.4])
    mouth = np.clip(mouth, _NEAR_WALL_M, np.array(ROOM_M) - _NEAR_WALL_M)
    room.add_source(mouth)
    room.add_microphone(microphone)
    room.compute_rir()
    response = np.asarray(room.rir[0][0], dtype=np.float64)
    first = max(0, int(np.argmax(np.abs(response) > 0.3 * np.abs(response).max())) - 20)
    return np.asarray(response[first:] / np.sqrt(np.sum(response**2)))

"""A synthetic technician in a loud bay: noise that never stops, at a level under his speech."""

from __future__ import annotations

import numpy as np

from companion.recognition.port import SAMPLE_RATE_HZ
from companion.simulation.rehearsal import Speaker
from tests.benchmarks.bay_sound import (
    ROOM_DBFS,
    SPEECH_DBFS,
    Samples,
    active_level_dbfs,
    as_sound,
    compressor_hum,
    impact_bursts,
    stretch_of,
)

_PIECE_S = 6.0
_LOUDEST = 0.95


class NoisySpeaker:
    """`Speaker` over another: his speech at one active level (ITU-T P.56), noise `level_db` below.

    The noise is made of pieces, each a recording of `recordings`, impact bursts or compressor
    hum, as the seed chooses; each at the same RMS over its length. None: a quiet room.
    """

    def __init__(
        self, inner: Speaker, recordings: list[Samples], level_db: float | None, seed: int
    ) -> None:
        self._inner = inner
        self._recordings = recordings
        self._level_db = level_db
        self._generator = np.random.default_rng([seed, 23])
        self._waiting = np.zeros(0)

    def say(self, text: str) -> bytes:
        """The answer in the noise, 16 kHz mono s16le."""
        speech = np.frombuffer(self._inner.say(text), "<i2").astype(np.float64) / 32768.0
        gain = 10.0 ** ((SPEECH_DBFS - active_level_dbfs(speech)) / 20.0)
        return self._as_heard(gain * speech)

    def quiet(self, size: int) -> bytes:
        """So many bytes of the noise alone."""
        return self._as_heard(np.zeros(size // 2))

    def _as_heard(self, speech: Samples) -> bytes:
        whole = speech + self._noise(len(speech))
        return as_sound(np.clip(whole, -_LOUDEST, _LOUDEST))

    def _noise(self, count: int) -> Samples:
        room = 10.0 ** (ROOM_DBFS / 20.0) * self._generator.normal(size=count)
        if self._level_db is None:
            return room
        while len(self._waiting) < count:
            self._waiting = np.concatenate([self._waiting, self._piece()])
        noise, self._waiting = self._waiting[:count], self._waiting[count:]
        return np.asarray(room + 10.0 ** ((SPEECH_DBFS - self._level_db) / 20.0) * noise)

    def _piece(self) -> Samples:
        """Three in five times a recording, else bursts or hum; RMS 1."""
        choice = self._generator.random()
        if choice < 0.6 and self._recordings:
            recording = self._recordings[int(self._generator.integers(len(self._recordings)))]
            count = round(_PIECE_S * SAMPLE_RATE_HZ)
            piece = stretch_of(recording, count, self._generator)
        else:
            made = impact_bursts if choice < 0.8 else compressor_hum
            piece = made(_PIECE_S, self._generator)
        return np.asarray(piece / max(1e-9, float(np.sqrt(np.mean(piece**2)))))

"""Three short quiet tones, made here: listening, heard, not understood.

They differ in three ways at once, number of notes, way and pitch, so that they are told apart in
noise and by people who hear high or low tones badly: one step up, one short high note, two low
notes that fall.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from companion.speech.player import Samples

Earcon = Literal["listening", "heard", "refused"]
LOUDEST = 0.1
"""20 dB below full scale: a hint beside the voice."""
_EDGE_S = 0.008
_NOTES: dict[Earcon, tuple[tuple[float, float], ...]] = {
    "listening": ((523.0, 0.05), (784.0, 0.06)),
    "heard": ((1175.0, 0.07),),
    "refused": ((392.0, 0.06), (262.0, 0.08)),
}
"""Pitch in Hz and length in seconds of each note."""


def earcon(kind: Earcon, rate_hz: int, loudness: float = 1.0) -> Samples:
    """The tone as samples (n,), at most `LOUDEST` times `loudness` (0 to 1)."""
    tone = np.concatenate(
        [_note(pitch_hz, length_s, rate_hz) for pitch_hz, length_s in _NOTES[kind]]
    )
    return (tone * LOUDEST * min(max(loudness, 0.0), 1.0)).astype(np.float32)


def _note(pitch_hz: float, length_s: float, rate_hz: int) -> np.ndarray:
    at_s = np.arange(round(length_s * rate_hz)) / rate_hz
    # A little of the octave carries the note over rumble; soft edges keep clicks away.
    wave = 0.8 * np.sin(2 * np.pi * pitch_hz * at_s) + 0.2 * np.sin(4 * np.pi * pitch_hz * at_s)
    edge = np.clip(np.minimum(at_s, length_s - at_s) / _EDGE_S, 0.0, 1.0)
    return np.asarray(wave * np.sin(edge * np.pi / 2) ** 2)

"""The ears' input: how strong a sound is in bands of the mel scale, a hundred times a second."""

from __future__ import annotations

from functools import cache

import numpy as np
import numpy.typing as npt

from companion.recognition.port import SAMPLE_RATE_HZ

VECTORS_PER_S = 50
MEL_BANDS = 80
SAMPLES_PER_VECTOR = SAMPLE_RATE_HZ // VECTORS_PER_S
_HOP = 160
_WINDOW = 400
_SHORTEST_S = 2.0
_STEP_S = 0.5
"""Sounds are filled up with silence to a whole number of these, `_SHORTEST_S` at least."""


def filled_up(samples: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """The samples with silence behind them up to the next whole step, as in training."""
    step = round(_STEP_S * SAMPLE_RATE_HZ)
    count = max(round(_SHORTEST_S * SAMPLE_RATE_HZ), -(-len(samples) // step) * step)
    return np.pad(samples, (0, count - len(samples)))


def vectors_in(sample_count: int) -> int:
    """How many vectors hold sound that was there before the filling-up."""
    return -(-sample_count * VECTORS_PER_S // SAMPLE_RATE_HZ)


def log_mel(samples: npt.NDArray[np.float32]) -> npt.NDArray[np.float32]:
    """The encoder's input, shape (80, samples / 160): mel band powers on its logarithmic scale.

    Windows of 25 ms every 10 ms, mirrored at both ends; base-10 logarithms, nothing more than
    8 below the highest, moved and scaled to about -1 to 1.
    """
    half = _WINDOW // 2
    mirrored = np.pad(samples, (half, half), mode="reflect")
    frames = np.lib.stride_tricks.sliding_window_view(mirrored, _WINDOW)[::_HOP]
    frames = frames[: len(samples) // _HOP]
    spectrum = np.fft.rfft(frames * _hann(), axis=1)
    power = (spectrum.real**2 + spectrum.imag**2).astype(np.float32)
    levels = np.log10(np.maximum(mel_bands() @ power.T, 1e-10))
    levels = np.maximum(levels, levels.max() - 8.0)
    return np.asarray((levels + 4.0) / 4.0, dtype=np.float32)


@cache
def _hann() -> npt.NDArray[np.float32]:
    turns = np.arange(_WINDOW) / _WINDOW
    return np.asarray(0.5 - 0.5 * np.cos(2.0 * np.pi * turns), dtype=np.float32)


@cache
def mel_bands() -> npt.NDArray[np.float32]:
    """Triangles of equal area on a mel scale: straight to 1 kHz, logarithmic above."""
    edges_hz = _mel_to_hz(np.linspace(0.0, _hz_to_mel(SAMPLE_RATE_HZ / 2), MEL_BANDS + 2))
    bins_hz = np.linspace(0.0, SAMPLE_RATE_HZ / 2, _WINDOW // 2 + 1)
    low, centre, high = edges_hz[:-2, None], edges_hz[1:-1, None], edges_hz[2:, None]
    rising = (bins_hz - low) / (centre - low)
    falling = (high - bins_hz) / (high - centre)
    triangles = np.maximum(0.0, np.minimum(rising, falling))
    return np.asarray(triangles * 2.0 / (high - low), dtype=np.float32)


_STRAIGHT_HZ_PER_MEL = 200.0 / 3.0
_BEND_HZ = 1000.0
_LOG_STEP = np.log(6.4) / 27.0


def _hz_to_mel(hz: float) -> float:
    if hz < _BEND_HZ:
        return hz / _STRAIGHT_HZ_PER_MEL
    return _BEND_HZ / _STRAIGHT_HZ_PER_MEL + float(np.log(hz / _BEND_HZ) / _LOG_STEP)


def _mel_to_hz(mel: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    bend = _BEND_HZ / _STRAIGHT_HZ_PER_MEL
    above = _BEND_HZ * np.exp(_LOG_STEP * (mel - bend))
    return np.where(mel < bend, mel * _STRAIGHT_HZ_PER_MEL, above)

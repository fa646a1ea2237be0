"""The speech encoder: sound to 50 vectors a second, by the encoder half of a Whisper model.

The weights come from a package (see `weights`), with small additions of our own to each linear
layer from the head's file; the arithmetic is numpy.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import numpy as np
import numpy.typing as npt

from companion.recognition.own.weights import Weights, encoder_weights
from companion.recognition.port import SAMPLE_RATE_HZ

Vectors = npt.NDArray[np.float32]

VECTOR_SIZE = 384
VECTORS_PER_S = 50
MEL_BANDS = 80
SAMPLES_PER_VECTOR = SAMPLE_RATE_HZ // VECTORS_PER_S
_HOP = 160
_WINDOW = 400
_SHORTEST_S = 2.0
_STEP_S = 0.5
"""Sounds are filled up with silence to a whole number of these, `_SHORTEST_S` at least."""
_HEADS = 6
_LEAST_VARIANCE = 1e-5


class Encoder:
    """Encodes one stretch of sound at a time.

    `additions`: for a layer, by its name in the model's file, what is added to its weights.
    Raises `EarsError` without the extra `ears`.
    """

    def __init__(self, additions: Mapping[str, npt.NDArray[np.float32]] | None = None) -> None:
        self._w: Weights = encoder_weights()
        for layer, addition in (additions or {}).items():
            self._w[f"{layer}/weight"] += addition
        for name in ("conv1", "conv2"):
            # (out, in, 3) to (out, 3 * in): the three moved copies lie one above the other.
            kernel = self._w[f"{name}/weight"].transpose(0, 2, 1)
            self._w[f"{name}/weight"] = np.ascontiguousarray(kernel.reshape(VECTOR_SIZE, -1))
        self._layers = sum(name.endswith("self_attention/linear_1/bias") for name in self._w)

    def encode(self, samples: npt.NDArray[np.float32]) -> Vectors:
        """Samples at 16 kHz (full scale 1.0) to vectors of shape (n, 384), 50 a second.

        n covers the filling-up as well: `vectors_in` says how many hold sound.
        """
        w = self._w
        x = _bent(w["conv1/weight"] @ _three(log_mel(filled_up(samples)), 1) + _up(w["conv1/bias"]))
        x = _bent(w["conv2/weight"] @ _three(x, 2) + _up(w["conv2/bias"])).T
        x = x + w["position_encodings/encodings"][: len(x)]
        for number in range(self._layers):
            layer = f"layer_{number}/"
            x = x + self._attention(self._levelled(x, layer + "self_attention/layer_norm"), layer)
            inner = self._linear(
                self._levelled(x, layer + "ffn/layer_norm"), layer + "ffn/linear_0"
            )
            x = x + self._linear(_bent(inner), layer + "ffn/linear_1")
        return self._levelled(x, "layer_norm")

    def _attention(self, x: Vectors, layer: str) -> Vectors:
        count = len(x)
        all_three = self._linear(x, layer + "self_attention/linear_0")
        asked, offered, carried = all_three.reshape(count, 3, _HEADS, -1).transpose(1, 2, 0, 3)
        likeness = asked @ offered.transpose(0, 2, 1)
        likeness *= 1.0 / np.sqrt(np.float32(VECTOR_SIZE // _HEADS))
        likeness -= likeness.max(axis=-1, keepdims=True)
        np.exp(likeness, out=likeness)
        likeness /= likeness.sum(axis=-1, keepdims=True)
        seen = np.asarray(likeness @ carried, np.float32).transpose(1, 0, 2)
        return self._linear(seen.reshape(count, VECTOR_SIZE), layer + "self_attention/linear_1")

    def _linear(self, x: Vectors, layer: str) -> Vectors:
        return np.asarray(x @ self._w[f"{layer}/weight"].T + self._w[f"{layer}/bias"])

    def _levelled(self, x: Vectors, layer: str) -> Vectors:
        x = x - x.mean(axis=-1, keepdims=True)
        spread = np.sqrt(np.mean(x * x, axis=-1, keepdims=True) + np.float32(_LEAST_VARIANCE))
        return np.asarray(x / spread * self._w[f"{layer}/gamma"] + self._w[f"{layer}/beta"])


def _three(x: Vectors, stride: int) -> Vectors:
    """Each column above its neighbours: (rows, n) to (3 * rows, n / stride)."""
    count = x.shape[1]
    padded = np.pad(x, ((0, 0), (1, 1)))
    return np.concatenate([padded[:, k : k + count : stride] for k in range(3)])


def _up(bias: Vectors) -> Vectors:
    return bias[:, np.newaxis]


def _bent(x: Vectors) -> Vectors:
    """The Gaussian error linear unit in its form with a hyperbolic tangent (from memory)."""
    inner = np.float32(0.79788456) * x * (1.0 + np.float32(0.044715) * x * x)
    return np.asarray(np.float32(0.5) * x * (1.0 + np.tanh(inner)))


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
    levels = np.log10(np.maximum(_mel_bands() @ power.T, 1e-10))
    levels = np.maximum(levels, levels.max() - 8.0)
    return np.asarray((levels + 4.0) / 4.0, dtype=np.float32)


@cache
def _hann() -> npt.NDArray[np.float32]:
    turns = np.arange(_WINDOW) / _WINDOW
    return np.asarray(0.5 - 0.5 * np.cos(2.0 * np.pi * turns), dtype=np.float32)


@cache
def _mel_bands() -> npt.NDArray[np.float32]:
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

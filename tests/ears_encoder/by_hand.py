"""Encoder and head once more, in numpy and single precision: what the network is held against."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.recognition.own.weights import Weights

Vectors = npt.NDArray[np.float32]

_HEADS = 6
_LAYERS = 4
_LEAST_VARIANCE = 1e-5
_SPREADS = (1, 2, 4, 8)


def encoded(mel: Vectors, w: Weights) -> Vectors:
    """Mel bands of shape (80, 2n) to vectors of shape (n, 384)."""
    x = _bent(_convolved(mel, w, "conv1", 1))
    x = _bent(_convolved(x, w, "conv2", 2)).T
    x = x + w["position_encodings/encodings"][: len(x)]
    for number in range(_LAYERS):
        layer = f"layer_{number}/"
        x = x + _attention(_levelled(x, w, layer + "self_attention/layer_norm"), w, layer)
        inner = _linear(_levelled(x, w, layer + "ffn/layer_norm"), w, layer + "ffn/linear_0")
        x = x + _linear(_bent(inner), w, layer + "ffn/linear_1")
    return _levelled(x, w, "layer_norm")


def with_additions(weights: Weights, head: Path) -> Weights:
    """The encoder's weights with what a head's file adds to them."""
    added = dict(weights)
    with np.load(head) as kept:
        for name in kept.files:
            if name.startswith("adapter_") and name.endswith("_up"):
                down = kept[name.removesuffix("_up") + "_down"].astype(np.float32)
                _, layer, number, *block, linear, which, _ = name.split("_")
                place = f"{layer}_{number}/{'_'.join(block)}/{linear}_{which}/weight"
                added[place] = added[place] + kept[name].astype(np.float32) @ down
    return added


def features(vectors: Vectors, head: Path) -> Vectors:
    """What the last layer of a head sees of vectors of shape (n, 384): shape (n, 256)."""
    with np.load(head) as kept:
        w = {
            name: kept[name].astype(np.float32)
            for name in kept.files
            if name != "tokens" and kept[name].dtype.kind == "f"
        }
    x = (vectors - w["mean"]) * w["scale"] @ w["into_weight"].T + w["into_bias"]
    x = np.maximum(x, 0.0)
    for number, spread in enumerate(_SPREADS):
        said = np.zeros_like(x) + w[f"over_time_{number}_bias"]
        padded = np.pad(x, ((2 * spread, 2 * spread), (0, 0)))
        for copy in range(5):
            moved = padded[copy * spread : copy * spread + len(x)]
            said += moved @ w[f"over_time_{number}_weight"][:, :, copy].T
        x = x + np.maximum(said, 0.0)
    return np.asarray(x)


def _convolved(x: Vectors, w: Weights, name: str, stride: int) -> Vectors:
    count = x.shape[1]
    padded = np.pad(x, ((0, 0), (1, 1)))
    said = sum(w[f"{name}/weight"][:, :, k] @ padded[:, k : k + count : stride] for k in range(3))
    return np.asarray(said + w[f"{name}/bias"][:, np.newaxis])


def _attention(x: Vectors, w: Weights, layer: str) -> Vectors:
    count, size = x.shape
    all_three = _linear(x, w, layer + "self_attention/linear_0")
    asked, offered, carried = all_three.reshape(count, 3, _HEADS, -1).transpose(1, 2, 0, 3)
    likeness = asked @ offered.transpose(0, 2, 1) / np.sqrt(np.float32(size // _HEADS))
    likeness = np.exp(likeness - likeness.max(axis=-1, keepdims=True))
    likeness /= likeness.sum(axis=-1, keepdims=True)
    seen = (likeness @ carried).transpose(1, 0, 2).reshape(count, size)
    return _linear(seen, w, layer + "self_attention/linear_1")


def _linear(x: Vectors, w: Weights, layer: str) -> Vectors:
    return np.asarray(x @ w[f"{layer}/weight"].T + w[f"{layer}/bias"])


def _levelled(x: Vectors, w: Weights, layer: str) -> Vectors:
    x = x - x.mean(axis=-1, keepdims=True)
    spread = np.sqrt(np.mean(x * x, axis=-1, keepdims=True) + np.float32(_LEAST_VARIANCE))
    return np.asarray(x / spread * w[f"{layer}/gamma"] + w[f"{layer}/beta"])


def _bent(x: Vectors) -> Vectors:
    """The Gaussian error linear unit in its form with a hyperbolic tangent (from memory)."""
    inner = np.float32(0.79788456) * x * (1.0 + np.float32(0.044715) * x * x)
    return np.asarray(np.float32(0.5) * x * (1.0 + np.tanh(inner)))

"""The packaged speech encoder in torch: the same arithmetic as at run time, for whole batches."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

_HEADS = 6
_HOP = 160
_WINDOW = 400


def adapter_name(layer: str) -> str:
    """The name under which a layer's adapter is kept."""
    return "adapter_" + layer.removeprefix("encoder/").replace("/", "_")


class TorchEncoder(nn.Module):
    """Weights as `encoder_weights` gives them, kept in an .npz file, and the mel bands.

    They stay as they are. Beside each linear layer of it runs an adapter, which is trained: down
    to `rank` numbers and up again, added to what the layer says; none where `rank` is 0.
    """

    def __init__(self, weights: Path, device: str, rank: int) -> None:
        super().__init__()
        self._rank = rank
        with np.load(weights) as kept:
            self._w = {
                name: torch.from_numpy(kept[name].astype(np.float32)).to(device)
                for name in kept.files
            }
        self._layers = len([n for n in self._w if n.endswith("self_attention/linear_1/bias")])
        self._hann = torch.hann_window(_WINDOW, device=device)
        self.adapters = nn.ParameterDict()
        for name, value in self._w.items():
            if rank and "linear_" in name and name.endswith("/weight"):
                kept_name = adapter_name(name.removesuffix("/weight"))
                down = torch.randn(rank, value.shape[1], device=device) * value.shape[1] ** -0.5
                self.adapters[kept_name + "_down"] = nn.Parameter(down)
                up = torch.zeros(value.shape[0], rank, device=device)
                self.adapters[kept_name + "_up"] = nn.Parameter(up)

    def forward(self, samples: Tensor) -> Tensor:
        """(examples, samples) to vectors (examples, samples / 320, 384)."""
        w = self._w
        with torch.no_grad():
            x = self._log_mel(samples)
        kind = torch.bfloat16 if x.is_cuda else torch.float32
        with torch.autocast(x.device.type, dtype=kind, enabled=x.is_cuda):
            x = functional.conv1d(x, w["encoder/conv1/weight"], w["encoder/conv1/bias"], padding=1)
            x = functional.gelu(x, approximate="tanh")
            x = functional.conv1d(
                x, w["encoder/conv2/weight"], w["encoder/conv2/bias"], stride=2, padding=1
            )
            x = functional.gelu(x, approximate="tanh").transpose(1, 2)
            x = x + w["encoder/position_encodings/encodings"][: x.shape[1]]
            for number in range(self._layers):
                x = self._layer(x, f"encoder/layer_{number}/")
            return self._normed(x, "encoder/layer_norm").float()

    def _layer(self, x: Tensor, name: str) -> Tensor:
        examples, frames, size = x.shape
        mixed = self._linear(
            self._normed(x, name + "self_attention/layer_norm"), name + "self_attention/linear_0"
        )
        q, k, v = mixed.view(examples, frames, 3, _HEADS, size // _HEADS).permute(2, 0, 3, 1, 4)
        seen = functional.scaled_dot_product_attention(q, k, v)
        seen = seen.transpose(1, 2).reshape(examples, frames, size)
        x = x + self._linear(seen, name + "self_attention/linear_1")
        inner = self._linear(self._normed(x, name + "ffn/layer_norm"), name + "ffn/linear_0")
        return x + self._linear(functional.gelu(inner, approximate="tanh"), name + "ffn/linear_1")

    def _linear(self, x: Tensor, name: str) -> Tensor:
        plain = functional.linear(x, self._w[name + "/weight"], self._w[name + "/bias"])
        if not self._rank:
            return plain
        kept_name = adapter_name(name)
        down, up = self.adapters[kept_name + "_down"], self.adapters[kept_name + "_up"]
        return plain + functional.linear(functional.linear(x, down), up)

    def _normed(self, x: Tensor, name: str) -> Tensor:
        gamma, beta = self._w[name + "/gamma"], self._w[name + "/beta"]
        return functional.layer_norm(x, (x.shape[-1],), gamma, beta)

    def _log_mel(self, samples: Tensor) -> Tensor:
        spectrum = torch.stft(
            samples, _WINDOW, _HOP, window=self._hann, pad_mode="reflect", return_complex=True
        )
        power = spectrum[..., :-1].abs().square()
        levels = (self._w["mel_bands"] @ power).clamp(min=1e-10).log10()
        levels = torch.maximum(levels, levels.amax((1, 2), keepdim=True) - 8.0)
        return (levels + 4.0) / 4.0

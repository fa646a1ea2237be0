"""The head in torch, its training, and the file that the companion reads."""

from __future__ import annotations

import math
import time
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn

from tests.ears_training.encoder import TorchEncoder
from tests.ears_training.mixing import OTHER, Bank, batches

BLANK = "<blank>"
SAME_SOUND = {
    "weight": "wait",
    "millimeter": "millimetre",
    "millimeters": "millimetres",
    "meter": "metre",
}
"""Words that are written differently but sound the same share a token."""

_WIDTH = 256
_SPREADS = (1, 2, 4, 8)
_KERNEL = 5
_VECTOR = 384
_HIGHEST_RATE = 1.5e-3
_WARM_UP = 200


class Head(nn.Module):
    """Scaled encoder vectors, one layer, convolutions over time added up, token scores."""

    def __init__(self, tokens: int) -> None:
        super().__init__()
        self.register_buffer("mean", torch.zeros(_VECTOR))
        self.register_buffer("scale", torch.ones(_VECTOR))
        self.into = nn.Linear(_VECTOR, _WIDTH)
        self.over_time = nn.ModuleList(
            nn.Conv1d(_WIDTH, _WIDTH, _KERNEL, padding=2 * spread, dilation=spread)
            for spread in _SPREADS
        )
        self.out = nn.Linear(_WIDTH, tokens)
        self.drop = nn.Dropout(0.15)

    def forward(self, vectors: Tensor) -> Tensor:
        """(examples, frames, 384) to log probabilities (examples, frames, tokens)."""
        x = self.drop(torch.relu(self.into((vectors - self.mean) * self.scale)))
        x = x.transpose(1, 2)
        for layer in self.over_time:
            x = x + self.drop(torch.relu(layer(x)))
        return torch.log_softmax(self.out(x.transpose(1, 2)), dim=-1)


def tokens_of(words: list[str]) -> list[str]:
    """Blank first, then any other word, then the bay's words that sound different."""
    return [BLANK, OTHER, *sorted({SAME_SOUND.get(word, word) for word in words})]


def train(folder: Path, out: Path, *, steps: int, seed: int, fold: int | None, device: str) -> None:
    """Train a head on the bank in `folder` (all of it, or without one fold) and write it."""
    torch.manual_seed(seed)
    bank = Bank(folder, fold)
    encoder = TorchEncoder(folder / "encoder.npz", device)
    tokens = tokens_of(bank.words)
    numbers = {token: number for number, token in enumerate(tokens)}
    head = Head(len(tokens)).to(device)
    stream = batches(bank, seed, device)
    _measure_vectors(head, torch.cat([encoder(next(stream)[0]).flatten(0, 1) for _ in range(4)]))
    improver = torch.optim.AdamW(head.parameters(), lr=_HIGHEST_RATE, weight_decay=0.01)
    schedule = torch.optim.lr_scheduler.LambdaLR(improver, lambda step: _rate(step, steps))
    began_s, loss_sum, seen = time.perf_counter(), 0.0, 0
    for step in range(1, steps + 1):
        samples, labels = next(stream)
        scores = head(encoder(samples))
        rows = [[numbers[SAME_SOUND.get(w, w)] for w in label] for label in labels]
        target = torch.tensor([n for row in rows for n in row], device=device)
        sizes = torch.tensor([len(row) for row in rows], device=device)
        frames = torch.full((len(rows),), scores.shape[1], device=device)
        losses = nn.functional.ctc_loss(
            scores.transpose(0, 1), target, frames, sizes, reduction="none", zero_infinity=True
        )
        loss = losses.mean()
        improver.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(head.parameters(), 5.0)
        improver.step()
        schedule.step()
        loss_sum, seen = loss_sum + float(loss.detach()), seen + len(rows)
        if step % 100 == 0 or step == steps:
            spent_s = time.perf_counter() - began_s
            print(f"{out.name} step {step} loss {loss_sum / 100:.3f} {seen} in {spent_s:.0f} s")
            loss_sum = 0.0
    _write(head, tokens, out)


def _rate(step: int, steps: int) -> float:
    if step < _WARM_UP:
        return (step + 1) / _WARM_UP
    return 0.5 + 0.5 * math.cos(math.pi * (step - _WARM_UP) / max(1, steps - _WARM_UP))


def _measure_vectors(head: Head, vectors: Tensor) -> None:
    head.mean.copy_(vectors.mean(0))
    head.scale.copy_(1.0 / vectors.std(0).clamp(min=1e-3))


def _write(head: Head, tokens: list[str], out: Path) -> None:
    """Half precision is enough: the encoder itself runs in eight bits."""
    kept = {
        name.replace(".", "_"): value.detach().cpu().numpy().astype(np.float16)
        for name, value in head.state_dict().items()
    }
    same = [f"{word} {token}" for word, token in SAME_SOUND.items()]
    np.savez_compressed(out, **kept, tokens=np.array(tokens), same_sound=np.array(same))

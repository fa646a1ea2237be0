"""The head in torch, its training, and the file that the companion reads."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn

from tests.ears_training.drawing import Bank
from tests.ears_training.encoder import TorchEncoder
from tests.ears_training.mixing import batches, moved
from tests.ears_training.variety import AS_RECORDED, OTHER, WIDE, Variety

BLANK = "<blank>"
_WIDTH = 256
_SPREADS = (1, 2, 4, 8)
_KERNEL = 5
_VECTOR = 384
_DROPPED = 0.15
_HIGHEST_RATE = 1.5e-3
_WARM_UP = 200
_TOLD = 250
_KEPT_S = 60.0
"""So often what there is so far is kept: the machine may be taken back."""
_SPEECH_LOSS = 2.0
_GOING_ON = 0.6
"""Of the highest rate, where a training goes on from an earlier head."""


@dataclass(frozen=True)
class Recipe:
    """How a head is trained: the encoder's adapters' width (0: none) and highest rate, and on what.

    The two heads differ, so that they are wrong about different people.
    """

    rank: int
    adapter_rate: float
    variety: Variety


FOLLOW = Recipe(32, 6e-4, WIDE)
PLAIN = Recipe(0, 0.0, AS_RECORDED)


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
        self.speech = nn.Linear(_WIDTH, 1)
        self.drop = nn.Dropout(_DROPPED)

    def forward(self, vectors: Tensor) -> tuple[Tensor, Tensor]:
        """(examples, frames, 384) to log probabilities (examples, frames, tokens).

        With them the log odds (examples, frames) that somebody speaks.
        """
        x = self.drop(torch.relu(self.into((vectors - self.mean) * self.scale)))
        x = x.transpose(1, 2)
        for layer in self.over_time:
            x = x + self.drop(torch.relu(layer(x)))
        x = x.transpose(1, 2)
        return torch.log_softmax(self.out(x), dim=-1), self.speech(x)[..., 0]


def tokens_of(words: list[str], same_sound: Mapping[str, str]) -> list[str]:
    """Blank first, then any other word, then the bay's words that sound different.

    `same_sound`: words that are written differently but sound the same share a token.
    """
    return [BLANK, OTHER, *sorted({same_sound.get(word, word) for word in words})]


def train(
    folder: Path,
    out: Path,
    *,
    steps: int,
    seed: int,
    fold: int | None,
    device: str,
    most_s: float = math.inf,
    recipe: Recipe = FOLLOW,
    start: Path | None = None,
) -> None:
    """Train a head on the bank in `folder` (all of it, or without one fold) and write it.

    It ends after `steps`, or after `most_s` where that comes first: the rate falls with whichever
    is further on. `start`: an earlier head of the same recipe that it goes on from, more slowly;
    one that left out a fold may only go on from one that left out the same.
    """
    torch.manual_seed(seed)
    torch.set_float32_matmul_precision("high")
    bank = Bank(folder, fold, recipe.variety)
    encoder = TorchEncoder(folder / "encoder.npz", device, recipe.rank)
    tokens = tokens_of(bank.words, bank.same_sound)
    numbers = {token: number for number, token in enumerate(tokens)}
    head = Head(len(tokens)).to(device)
    stream = batches(bank, seed, device)
    if start is None:
        with torch.no_grad():
            first = [encoder(next(stream)[0]).flatten(0, 1) for _ in range(4)]
        _measure_vectors(head, torch.cat(first))
    else:
        _go_on_from(start, head, encoder, tokens)
    improver = torch.optim.AdamW(
        [
            {"params": head.parameters(), "lr": _HIGHEST_RATE},
            *([{"params": encoder.parameters(), "lr": recipe.adapter_rate}] if recipe.rank else []),
        ],
        weight_decay=0.01,
        fused=device != "cpu",
    )
    trained = [*head.parameters(), *encoder.parameters()]
    share = 1.0 if start is None else _GOING_ON
    highest = [share * group["lr"] for group in improver.param_groups]
    began_s = kept_s = time.perf_counter()
    loss_sum, seen, step, done = torch.zeros((), device=device), 0, 0, 0.0
    while done < 1.0:
        for group, rate in zip(improver.param_groups, highest, strict=True):
            group["lr"] = rate * _rate(step, done)
        samples, spoken, labels = next(stream)
        scores, odds = head(encoder(samples))
        loss = _SPEECH_LOSS * nn.functional.binary_cross_entropy_with_logits(odds, spoken)
        loss = loss + _loss(
            scores, [[numbers[bank.same_sound.get(w, w)] for w in row] for row in labels]
        )
        improver.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(trained, 5.0)
        improver.step()
        step += 1
        loss_sum, seen = loss_sum + loss.detach(), seen + len(labels)
        now_s = time.perf_counter()
        done = max(step / steps, (now_s - began_s) / most_s)
        if step % _TOLD == 0:
            # Waits until the processor has caught up.
            mean = float(loss_sum) / _TOLD
            spent_s = time.perf_counter() - began_s
            print(f"{out.name} step {step} loss {mean:.3f} {seen} in {spent_s:.0f} s", flush=True)
            loss_sum = torch.zeros((), device=device)
        if now_s - kept_s > _KEPT_S:
            kept_s = now_s
            _write(head, encoder, tokens, bank.same_sound, out)
    print(f"{out.name}: {step} steps, {seen} examples", flush=True)
    _write(head, encoder, tokens, bank.same_sound, out)


def _loss(scores: Tensor, rows: list[list[int]]) -> Tensor:
    target = moved([n for row in rows for n in row], scores.device)
    losses = nn.functional.ctc_loss(
        scores.transpose(0, 1),
        target,
        # Lengths stay where they are: to fetch them back would wait for everything before.
        torch.full((len(rows),), scores.shape[1]),
        torch.tensor([len(row) for row in rows]),
        reduction="none",
        zero_infinity=True,
    )
    return losses.mean()


def _rate(step: int, done: float) -> float:
    """Up over the first steps, then down with the share of the training that is done."""
    if step < _WARM_UP:
        return (step + 1) / _WARM_UP
    return 0.5 + 0.5 * math.cos(math.pi * min(1.0, done))


def _measure_vectors(head: Head, vectors: Tensor) -> None:
    head.mean.copy_(vectors.mean(0))
    head.scale.copy_(1.0 / vectors.std(0).clamp(min=1e-3))


def _go_on_from(start: Path, head: Head, encoder: TorchEncoder, tokens: list[str]) -> None:
    """Put in what an earlier head has learned; words new to it begin as unlikely as any."""
    with np.load(start) as kept:
        earlier = {
            name: torch.from_numpy(kept[name].astype(np.float32))
            for name in kept.files
            if kept[name].dtype.kind == "f"
        }
        rows = {token: row for row, token in enumerate(kept["tokens"].tolist())}
    with torch.no_grad():
        for name, value in (head.state_dict() | dict(encoder.adapters)).items():
            found = earlier[name.replace(".", "_")]
            if name in ("out.weight", "out.bias"):
                new = value.cpu() if name == "out.weight" else found.min().expand(len(tokens))
                found = torch.stack(
                    [found[rows[t]] if t in rows else new[n] for n, t in enumerate(tokens)]
                )
            value.copy_(found)


def _write(
    head: Head,
    encoder: TorchEncoder,
    tokens: list[str],
    same_sound: Mapping[str, str],
    out: Path,
) -> None:
    """Half precision is enough for both."""
    state = head.state_dict() | dict(encoder.adapters)
    kept = {
        name.replace(".", "_"): value.detach().cpu().numpy().astype(np.float16)
        for name, value in state.items()
    }
    same = [f"{word} {token}" for word, token in same_sound.items()]
    half_written = out.with_suffix(".part.npz")
    np.savez_compressed(half_written, **kept, tokens=np.array(tokens), same_sound=np.array(same))
    half_written.replace(out)

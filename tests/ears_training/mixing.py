"""Training examples in batches: clips placed, sped up, echoed, coloured and laid over noise.

Everything is done on the training processor, so that no example is ever seen twice.
"""

from __future__ import annotations

import itertools
import math
import random
from collections import defaultdict
from collections.abc import Iterator

import torch
from torch import Tensor, nn

from tests.ears_training.drawing import RATE_HZ, SEGMENTS, Bank, Placed
from tests.ears_training.variety import Variety

_LONGEST_S = 8.0
_SECONDS_A_BATCH = 640.0
_HISS_SHARE = 0.2
_LOOKS_EVERY = 20_000
"""After so many examples it is looked whether more speech has been rendered."""
_FRAME = 320
_SPOKEN_DB = -28.0
_AROUND = 3
"""Frames within so many of a loud one are spoken too: closures inside words, soft ends."""
_SPEECH_RMS = 10.0 ** (-26.0 / 20.0)
_SECOND_DB = (-20.0, -5.0)


def batches(
    bank: Bank, seed: int, device: str
) -> Iterator[tuple[Tensor, Tensor, list[tuple[str, ...]]]]:
    """Batches of samples (examples, samples) of like length, without end.

    With them where somebody speaks (examples, samples / 320) and what is said.
    """
    generator = random.Random(seed)
    maker = torch.Generator(device).manual_seed(seed)
    speech = torch.from_numpy(bank.speech).to(device)
    noise = torch.from_numpy(bank.noise).to(device)
    echoes = torch.from_numpy(bank.echoes).to(device)
    waiting: dict[int, list[Placed]] = defaultdict(list)
    for number in itertools.count():
        if number % _LOOKS_EVERY == 0 and len(more := bank.grown()):
            speech = torch.cat([speech, torch.from_numpy(more).to(device)])
        example = bank.example(generator)
        halves = max(4, -(-example.count * 2 // RATE_HZ))
        if halves / 2 > _LONGEST_S or len(example.pieces) > SEGMENTS:
            continue
        waiting[halves].append(example)
        if len(waiting[halves]) >= _SECONDS_A_BATCH / (halves / 2):
            chosen = waiting.pop(halves)
            spots = [bank.noise_spot(generator) for _ in chosen]
            made, spoken = _mixed(
                chosen,
                spots,
                halves * RATE_HZ // 2,
                speech,
                noise,
                echoes,
                maker,
                bank.variety,
            )
            yield made, spoken, [e.label for e in chosen]


def _mixed(
    chosen: list[Placed],
    spots: list[tuple[int, int]],
    length: int,
    speech: Tensor,
    noise: Tensor,
    echoes: Tensor,
    maker: torch.Generator,
    variety: Variety,
) -> tuple[Tensor, Tensor]:
    device = speech.device
    count = len(chosen)

    def uniform(low: float, high: float) -> Tensor:
        return torch.rand(count, 1, generator=maker, device=device) * (high - low) + low

    times = torch.arange(length, device=device)[None]
    said = torch.zeros(count, length, device=device)
    most = max(len(e.pieces) for e in chosen)
    pieces = moved([[*e.pieces, *((0, 0, 0),) * (most - len(e.pieces))] for e in chosen], device)
    speed = moved([[e.speed] for e in chosen], device)
    for number in range(most):
        start, size, lead = pieces[:, number].T[:, :, None]
        place = (times - lead) * speed
        inside = (place >= 0) & (place < size - 1)
        below = place.floor().long().clamp(min=0)
        index = torch.where(inside, start + below, 0)
        part = place - below
        piece = speech[index] * (1 - part) + speech[(index + 1).clamp(max=len(speech) - 1)] * part
        said += torch.where(inside, piece, 0.0)
    spoken = _spoken(said)
    said = _beside_another(said, uniform(0, 1), uniform(*_SECOND_DB), variety)
    said = _coloured(said, echoes, maker, variety)
    ends = moved([[e.count] for e in chosen], device)
    heard = times < ends
    first, size = moved(spots, device).T[:, :, None]
    offset = (uniform(0, 1) * size).long()
    bed = noise[first + (times + offset) % size]
    hissing = uniform(0, 1) < _HISS_SHARE
    bed = torch.where(hissing, _hiss(count, length, maker, device), bed) * heard
    rms = (bed.square().sum(1, keepdim=True) / ends).sqrt().clamp(min=1e-6)
    near = uniform(0, 1) < variety.noisy_share
    level_db = torch.where(near, uniform(-5.0, 15.0), uniform(-5.0, 30.0))
    gain = _SPEECH_RMS * 10.0 ** (-level_db / 20.0) / rms
    gain = torch.where(uniform(0, 1) < 0.12, torch.zeros_like(gain), gain)
    room = torch.randn(count, length, generator=maker, device=device)
    room_gain = 10.0 ** (uniform(-80.0, -50.0) / 20.0)
    whole = (said + gain * bed + room_gain * room) * heard
    # Microphones differ, people stand nearer or further: loud ones are cut off at full scale.
    return (whole * 10.0 ** (uniform(-16.0, 12.0) / 20.0)).clamp(-1.0, 1.0), spoken


def moved(rows: object, device: torch.device) -> Tensor:
    """Numbers on the training processor, without waiting for what it still has to do."""
    numbers = torch.tensor(rows)
    return numbers.pin_memory().to(device, non_blocking=True) if device.type == "cuda" else numbers


def _beside_another(said: Tensor, drawn: Tensor, level_db: Tensor, variety: Variety) -> Tensor:
    """Sometimes somebody else talks in the background: the example before, at a lower level.

    Who speaks alone is never told apart by the level, so only where both speak.
    """
    beside = (drawn < variety.second_share) & (said.abs().amax(1, keepdim=True) > 0.0)
    return said + torch.where(beside, 10.0 ** (level_db / 20.0) * said.roll(1, 0), 0.0)


def _spoken(said: Tensor) -> Tensor:
    """1 for each frame in or next to speech, 0 for the others."""
    power = said.unflatten(1, (-1, _FRAME)).square().mean(2)
    loud = (power > _SPEECH_RMS**2 * 10.0 ** (_SPOKEN_DB / 10.0)).float()
    return nn.functional.max_pool1d(loud[:, None], 2 * _AROUND + 1, 1, _AROUND)[:, 0]


def _hiss(count: int, length: int, maker: torch.Generator, device: torch.device) -> Tensor:
    """Air, fans and grinders: steady noise whose colour is drawn anew, from rumble to hiss."""
    bins = length // 2 + 1
    white = torch.randn(count, length, generator=maker, device=device)
    points = torch.rand(count, 9, generator=maker, device=device)
    tilt = torch.rand(count, 1, generator=maker, device=device) * 60.0 - 40.0
    slope = torch.linspace(0.0, 1.0, 9, device=device)[None] * tilt
    curve_db = nn.functional.interpolate(
        (slope + points * 16.0)[:, None], size=bins, mode="linear", align_corners=True
    )[:, 0]
    return torch.fft.irfft(torch.fft.rfft(white) * 10.0 ** (curve_db / 20.0), n=length)


def _coloured(said: Tensor, echoes: Tensor, maker: torch.Generator, variety: Variety) -> Tensor:
    """Some with room echo (a room's or decaying noise), some through a microphone."""
    count, length = said.shape
    device = said.device

    def uniform(low: float, high: float, size: int = 1) -> Tensor:
        return torch.rand(count, size, generator=maker, device=device) * (high - low) + low

    echo_samples = RATE_HZ // 2
    decay_s = uniform(0.1, 0.5)
    times = torch.arange(echo_samples, device=device)[None] / RATE_HZ
    tail = torch.randn(count, echo_samples, generator=maker, device=device)
    tail = tail * torch.exp(-6.9 * times / decay_s)
    tail = tail / tail.square().sum(1, keepdim=True).sqrt()
    strength = 10.0 ** (-uniform(0.0, 18.0) / 20.0) * (uniform(0, 1) < 0.4)
    response = strength * tail
    response[:, 0] = 1.0
    of_rooms = torch.zeros_like(response)
    drawn = torch.randint(len(echoes), (count,), generator=maker, device=device)
    of_rooms[:, : echoes.shape[1]] = echoes[drawn]
    response = torch.where(uniform(0, 1) < 0.2, of_rooms, response)
    size = length + echo_samples
    bins = size // 2 + 1
    curve_db = uniform(-6.0, 6.0, 9) * (uniform(0, 1) < 0.5)
    curve = nn.functional.interpolate(
        curve_db[:, None], size=bins, mode="linear", align_corners=True
    )[:, 0]
    hz = torch.linspace(0.0, RATE_HZ / 2, bins, device=device)[None]
    cheap = uniform(0, 1) < variety.cheap_share
    narrow = (hz > uniform(3200.0, 5000.0)) | ((hz < uniform(50.0, 420.0)) & (uniform(0, 1) < 0.6))
    curve = torch.where(narrow & cheap, curve - 40.0, curve)
    centre, half = uniform(0.0, 0.9), uniform(0.01, 0.06)
    lost = (torch.linspace(0.0, 1.0, bins, device=device)[None] - centre).abs() < half
    curve = torch.where(lost & (uniform(0, 1) < variety.lost_band_share), curve - 40.0, curve)
    spectrum = torch.fft.rfft(said, n=size) * torch.fft.rfft(response, n=size)
    heard = torch.fft.irfft(spectrum * 10.0 ** (curve / 20.0), n=size)[:, :length]
    return torch.where(cheap & (uniform(0, 1) < 0.5), _rough(heard, uniform(1.0, 8.0)), heard)


def _rough(heard: Tensor, drive: Tensor) -> Tensor:
    """A telephone's eight bits on its logarithmic scale (mu 255), driven somewhat too hard."""
    bent = torch.tanh(heard * drive) / drive
    levels = torch.log1p(255.0 * bent.abs()) / math.log(256.0)
    whole = (levels * 127.0).round() / 127.0
    return bent.sign() * torch.expm1(whole * math.log(256.0)) / 255.0

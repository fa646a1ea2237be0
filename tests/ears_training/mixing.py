"""Training examples in batches: clips placed, sped up, echoed, coloured and laid over noise.

Everything is done on the training processor, so that no example is ever seen twice.
"""

from __future__ import annotations

import json
import math
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
import torch
from torch import Tensor, nn

RATE_HZ = 16_000
OTHER = "<other>"
_SEGMENTS = 6
_LONGEST_S = 8.0
_SECONDS_A_BATCH = 640.0
_HISS_SHARE = 0.2
_NOISE_SHARES = {"recorded": 50, "made": 32, "babble": 18}
_FRAME = 320
_SPOKEN_DB = -28.0
_RUN_TOGETHER_S = 0.11
_AROUND = 3
"""Frames within so many of a loud one are spoken too: closures inside words, soft ends."""
_SPEECH_RMS = 10.0 ** (-26.0 / 20.0)


_KINDS = {
    "made": 31,
    "word": 20,
    "string": 17,
    "sentence": 5,
    "row": 10,
    "mixed": 6,
    "nothing": 11,
}
_KINDS_WITHOUT_PEOPLE = {"made": 78, "made row": 11, "nothing": 11}


@dataclass(frozen=True)
class Variety:
    """How far examples go beyond what was recorded.

    `changed_share`: so often a recorded word is taken from another mouth (`mouths.py`).
    `urgent`: words that are drawn once more for each time that they stand here.
    `lost_band_share`: so often noise or a microphone swallows a band of the speech altogether.
    `cheap_share`: so often a telephone or a cheap microphone took the speech.
    """

    changed_share: float
    urgent: tuple[str, ...]
    lost_band_share: float
    cheap_share: float = 0.2


_DIGITS = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
    *("four", "nine"),
)
_REST = (OTHER, OTHER, OTHER, OTHER)
"""Words of people that no prompt knows: drawn as one word they were hardly ever drawn."""
WIDE = Variety(0.35, ("stop", "stop", "stop", "no", "no", "yes", *_DIGITS, *_REST), 0.2)
AS_RECORDED = Variety(0.0, ("stop", "no", "no", "yes", *_DIGITS, *_REST), 0.0)


@dataclass(frozen=True)
class Placed:
    """One example to be: where its clips lie in the bank and begin in the example, in samples."""

    pieces: tuple[tuple[int, int, int], ...]
    speed: float
    count: int
    label: tuple[str, ...]


@dataclass(frozen=True)
class Recorded:
    """What somebody said: where it lies, and where the same lies from other mouths."""

    own: tuple[int, int]
    others: tuple[tuple[int, int], ...]
    label: tuple[str, ...]

    def drawn(
        self, generator: random.Random, changed_share: float
    ) -> tuple[int, int, tuple[str, ...]]:
        """One of them: start, samples, label."""
        changed = self.others and generator.random() < changed_share
        return (*(generator.choice(self.others) if changed else self.own), self.label)


class Bank:
    """The bank of `bank.py` in memory. `fold`: leave out its speakers, and human other words."""

    def __init__(self, folder: Path, fold: int | None, variety: Variety) -> None:
        self.variety = variety
        told = json.loads((folder / "bank.json").read_text(encoding="utf-8"))
        self.words: list[str] = told["words"]
        self.noise, noises = _read(folder, "noise")
        self.noises: dict[str, list[tuple[int, int]]] = defaultdict(list)
        for item in noises:
            self.noises[item["speaker"]].append((item["start"], item["count"]))
        self.echoes = soundfile.read(folder / "echoes.flac", dtype="float32")[0].reshape(
            told["echoes"], -1
        )
        self.same_sound: dict[str, str] = told["same_sound"]
        self.peopled = (folder / "human.json").is_file()
        nobody: tuple[np.ndarray, list[dict[str, Any]]] = (np.zeros(0, np.float32), [])
        (human, recorded), (changed, again) = (
            (_read(folder, name) if self.peopled else nobody) for name in ("human", "changed")
        )
        sounds, place = [human, changed], len(human) + len(changed)
        self.made: list[tuple[int, int, tuple[str, ...]]] = []
        for file in sorted(folder.glob("synthetic*.json")):
            made, phrases = _read(folder, file.stem)
            self.made += [(place + i["start"], i["count"], tuple(i["label"])) for i in phrases]
            sounds.append(made)
            place += len(made)
        self.speech = np.concatenate(sounds)
        mouths: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for item in again:
            mouths[item["of"]].append((len(human) + item["start"], item["count"]))
        self.by_word: dict[str, list[Recorded]] = defaultdict(list)
        self.by_speaker: dict[str, list[Recorded]] = defaultdict(list)
        self.strings: dict[str, list[Recorded]] = defaultdict(list)
        self.sentences: list[Recorded] = []
        for number, item in enumerate(recorded):
            label = tuple(item["label"])
            if fold is not None and (item["fold"] == fold or label == (OTHER,)):
                continue
            clip = Recorded((item["start"], item["count"]), tuple(mouths[number]), label)
            if len(label) > 1:
                numbers = sum(word != OTHER for word in label) * 2 > len(label)
                (self.strings[item["speaker"]] if numbers else self.sentences).append(clip)
                continue
            self.by_word[label[0]].append(clip)
            self.by_speaker[item["speaker"]].append(clip)
        self.speakers = sorted(s for s, clips in self.by_speaker.items() if len(clips) > 1)
        self.tellers = sorted(self.strings)
        words = [w for w in (*self.by_word, *variety.urgent) if self.by_word[w]]
        # Words that few people said are drawn less often: a few clips are soon known by heart.
        self.words_drawn = (words, [min(12, len(self.by_word[w])) ** 0.5 for w in words])

    def example(self, generator: random.Random) -> Placed:
        """A synthetic phrase, people's words one by one or in a row, their strings, no speech."""
        kinds = _KINDS if self.peopled else _KINDS_WITHOUT_PEOPLE
        kind = generator.choices(tuple(kinds), tuple(kinds.values()))[0]
        share = self.variety.changed_share
        clips: list[tuple[int, int, tuple[str, ...]]] = []
        match kind:
            case "made":
                clips = [generator.choice(self.made)]
            case "made row":
                clips = generator.choices(self.made, k=2)
            case "word":
                (word,) = generator.choices(*self.words_drawn)
                clips = [generator.choice(self.by_word[word]).drawn(generator, share)]
            case "string":
                of_one = self.strings[generator.choice(self.tellers)]
                clips = [generator.choice(of_one).drawn(generator, share)]
            case "sentence":
                clips = [generator.choice(self.sentences).drawn(generator, share)]
            case "row":
                of_one = self.by_speaker[generator.choice(self.speakers)]
                clips = [
                    generator.choice(of_one).drawn(generator, share)
                    for _ in range(generator.randint(2, 5))
                ]
            case "mixed":
                of_one = self.by_speaker[generator.choice(self.speakers)]
                clips = [
                    generator.choice(of_one).drawn(generator, share),
                    generator.choice(self.made),
                ]
                generator.shuffle(clips)
            case _:
                pass
        return _placed(clips, generator)

    def noise_spot(self, generator: random.Random) -> tuple[int, int]:
        """Where a stretch of noise lies: mostly recorded, some made, some of people who talk."""
        (origin,) = generator.choices(tuple(_NOISE_SHARES), tuple(_NOISE_SHARES.values()))
        return generator.choice(self.noises[origin])


def _placed(clips: list[tuple[int, int, tuple[str, ...]]], generator: random.Random) -> Placed:
    speed = generator.uniform(0.88, 1.14)
    place = round(
        generator.choice((generator.uniform(0.08, 0.7), generator.uniform(0.3, 1.6))) * RATE_HZ
    )
    pieces = []
    for start, count, _ in clips:
        pieces.append((start, count, place))
        # Every clip has 60 ms of quiet at both ends: words said in one breath lie closer.
        place += round(count / speed) + round(
            generator.uniform(-_RUN_TOGETHER_S, _gap_s(generator)) * RATE_HZ
        )
    if not clips:
        place += round(generator.uniform(0.5, 3.0) * RATE_HZ)
    place += round(generator.uniform(0.05, 0.7) * RATE_HZ)
    return Placed(tuple(pieces), speed, place, tuple(w for clip in clips for w in clip[2]))


def _gap_s(generator: random.Random) -> float:
    """Sometimes the speaker hesitates between two words."""
    return 0.8 if generator.random() < 0.1 else 0.25


def _read(folder: Path, name: str) -> tuple[np.ndarray, list[dict[str, Any]]]:
    """The sound of one origin and where its clips lie; unpacked once (`unpack`)."""
    items = json.loads((folder / f"{name}.json").read_text(encoding="utf-8"))
    unpacked = folder / f"{name}.npy"
    samples = np.load(unpacked) if unpacked.is_file() else _decoded(folder, name)
    if items[-1]["start"] + items[-1]["count"] > len(samples):
        raise ValueError(f"{name}: {len(samples)} samples, too few for its list")
    return samples.astype(np.float32) / np.float32(32768), items


def _decoded(folder: Path, name: str) -> np.ndarray:
    samples, rate_hz = soundfile.read(folder / f"{name}.ogg", dtype="int16")
    if rate_hz != RATE_HZ:
        raise ValueError(f"{name}.ogg: {rate_hz} Hz; wanted {RATE_HZ} Hz")
    return np.asarray(samples)


def unpack(folder: Path, name: str) -> None:
    """Keep the sound decoded beside the packed file: decoding takes longer than reading."""
    np.save(folder / f"{name}.npy", _decoded(folder, name))


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
    while True:
        example = bank.example(generator)
        halves = max(4, -(-example.count * 2 // RATE_HZ))
        if halves / 2 > _LONGEST_S or len(example.pieces) > _SEGMENTS:
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
    speed = torch.tensor([[e.speed] for e in chosen], device=device)
    for number in range(_SEGMENTS):
        rows = [e.pieces[number] if number < len(e.pieces) else (0, 0, 0) for e in chosen]
        start, size, lead = torch.tensor(rows, device=device).T[:, :, None]
        place = (times - lead) * speed
        inside = (place >= 0) & (place < size - 1)
        below = place.floor().long().clamp(min=0)
        index = torch.where(inside, start + below, 0)
        part = place - below
        piece = speech[index] * (1 - part) + speech[(index + 1).clamp(max=len(speech) - 1)] * part
        said += torch.where(inside, piece, 0.0)
    spoken = _spoken(said)
    said = _coloured(said, echoes, maker, variety)
    ends = torch.tensor([[e.count] for e in chosen], device=device)
    heard = times < ends
    first, size = torch.tensor(spots, device=device).T[:, :, None]
    offset = (uniform(0, 1) * size).long()
    bed = noise[first + (times + offset) % size]
    hissing = uniform(0, 1) < _HISS_SHARE
    bed = torch.where(hissing, _hiss(count, length, maker, device), bed) * heard
    rms = (bed.square().sum(1, keepdim=True) / ends).sqrt().clamp(min=1e-6)
    level_db = uniform(-5.0, 30.0)
    gain = _SPEECH_RMS * 10.0 ** (-level_db / 20.0) / rms
    gain = torch.where(uniform(0, 1) < 0.12, torch.zeros_like(gain), gain)
    room = torch.randn(count, length, generator=maker, device=device)
    room_gain = 10.0 ** (uniform(-80.0, -50.0) / 20.0)
    whole = (said + gain * bed + room_gain * room) * heard
    # Microphones differ, people stand nearer or further: loud ones are cut off at full scale.
    return (whole * 10.0 ** (uniform(-16.0, 12.0) / 20.0)).clamp(-1.0, 1.0), spoken


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

"""The bank of training sound: every clip at one active level, with its label and its origin.

One file holds all speech end to end, one all noise; `bank.json` says where each clip lies.
Speech that was made here may be kept with loss, human speech and noise are not.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile

from companion.ears.port import SAMPLE_RATE_HZ
from tests.benchmarks.bay_sound import (
    SPEECH_DBFS,
    Samples,
    active_level_dbfs,
    compressor_hum,
    impact_bursts,
)
from tests.benchmarks.spoken_clips import read_clips, read_noises
from tests.ears_training.mouths import other_mouth
from tests.ears_training.phrases import HELD_OUT_WORDS, OTHER, SPARE_WORDS, bay_words
from tests.ears_training.rooms import ROOMS, dropped_tools, room_echoes
from tests.ears_training.voices import read_rendered

_FRAME = 320
_KEPT_DB = 35.0
_AROUND_FRAMES = 3
FOLDS = (0, 1)
_MADE_NOISES = 24
_SHORTEST_NOISE_S = 0.9
_MOUTHS = 12
"""So many further voices of each recorded word."""


@dataclass(frozen=True)
class Item:
    """One clip of the bank: where it starts, how long it is, what it says and who says it."""

    start: int
    count: int
    label: tuple[str, ...]
    speaker: str
    fold: int


def trimmed(samples: Samples) -> Samples:
    """Without the quiet before and after: from 60 ms before the first loud frame to the last."""
    whole = samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME)
    power_db = 10.0 * np.log10(np.mean(whole**2, axis=1) + 1e-12)
    loud = np.flatnonzero(power_db > power_db.max() - _KEPT_DB)
    first = max(0, loud[0] - _AROUND_FRAMES) * _FRAME
    return samples[first : (loud[-1] + 1 + _AROUND_FRAMES) * _FRAME]


def fold_of(speaker: str, speakers: list[str]) -> int:
    """0 or 1 for the tuning speakers, so that each is heard by a head that never met him."""
    return speakers.index(speaker) % len(FOLDS)


def head_name(fold: int | None, *, plain: bool) -> str:
    """The file of a head: over the encoder as it is, or with one trained on; of all speakers."""
    name = "head" if plain else "follow"
    return f"{name}.npz" if fold is None else f"{name}_without_{fold}.npz"


def _human(folder: Path) -> Iterator[tuple[Samples, tuple[str, ...], str, int]]:
    known = frozenset(bay_words())
    clips = [c for c in read_clips(folder) if c.half == "tuning" and c.kind == "word"]
    speakers = sorted({clip.speaker for clip in clips})
    for clip in clips:
        if clip.transcript not in HELD_OUT_WORDS:
            label = (clip.transcript if clip.transcript in known else OTHER,)
            fold = fold_of(clip.speaker, speakers)
            yield trimmed(clip.samples()), label, clip.speaker, fold


def _changed(folder: Path, seed: int) -> Iterator[tuple[Samples, tuple[str, ...], str, int]]:
    generator = np.random.default_rng(seed)
    for samples, label, speaker, fold in _human(folder):
        for _ in range(_MOUTHS):
            yield trimmed(other_mouth(samples, generator)), label, speaker, fold


def _synthetic(folders: list[Path]) -> Iterator[tuple[Samples, tuple[str, ...], str, int]]:
    for folder in folders:
        for samples, label in read_rendered(folder):
            if np.any(samples):
                yield trimmed(samples.astype(np.float64)), label, "", -1


def build(folder: Path, speech: Path, synthetic: list[Path], seed: int) -> None:
    """Write the five files of sound and bank.json into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    human = _end_to_end(_human(speech))
    changed = _end_to_end(_changed(speech, seed))
    made = _end_to_end(_synthetic(synthetic))
    generator = np.random.default_rng(seed)
    noises = [n.samples() for n in read_noises(speech) if n.half == "tuning"]
    noises = [n for n in noises if len(n) >= _SHORTEST_NOISE_S * SAMPLE_RATE_HZ]
    for _ in range(_MADE_NOISES):
        noises += [impact_bursts(6.0, generator), compressor_hum(6.0, generator)]
        noises.append(dropped_tools(6.0, generator))
    noise = _end_to_end((_unit_rms(n) * 0.1, (), "", -1) for n in noises)
    soundfile.write(folder / "human.flac", human[0], SAMPLE_RATE_HZ, subtype="PCM_16")
    soundfile.write(folder / "noise.flac", noise[0], SAMPLE_RATE_HZ, subtype="PCM_16")
    _write_ogg(folder / "changed.ogg", changed[0])
    _write_ogg(folder / "synthetic.ogg", made[0])
    echoes = room_echoes(ROOMS, seed)
    soundfile.write(folder / "echoes.flac", echoes.reshape(-1), SAMPLE_RATE_HZ, subtype="PCM_16")
    told = {
        "words": (*bay_words(), *SPARE_WORDS),
        "echoes": len(echoes),
        "human": [asdict(item) for item in human[1]],
        "changed": [asdict(item) for item in changed[1]],
        "synthetic": [asdict(item) for item in made[1]],
        "noise": [asdict(item) for item in noise[1]],
    }
    (folder / "bank.json").write_text(json.dumps(told), encoding="utf-8")


def _end_to_end(
    clips: Iterator[tuple[Samples, tuple[str, ...], str, int]],
) -> tuple[npt.NDArray[np.float32], list[Item]]:
    items: list[Item] = []
    pieces: list[npt.NDArray[np.float32]] = []
    start = 0
    for samples, label, speaker, fold in clips:
        if label:
            level = active_level_dbfs(samples) if speaker else _loud_level_dbfs(samples)
            gain = 10.0 ** ((SPEECH_DBFS - level) / 20.0)
            samples = np.clip(gain * samples, -1.0, 1.0)
        items.append(Item(start, len(samples), label, speaker, fold))
        pieces.append(samples.astype(np.float32))
        start += len(samples)
    return np.concatenate(pieces), items


def _write_ogg(path: Path, samples: npt.NDArray[np.float32]) -> None:
    with soundfile.SoundFile(
        path, "w", SAMPLE_RATE_HZ, 1, format="OGG", subtype="OPUS", compression_level=0.93
    ) as stream:
        for start in range(0, len(samples), SAMPLE_RATE_HZ):
            stream.write(samples[start : start + SAMPLE_RATE_HZ])


def _loud_level_dbfs(samples: Samples) -> float:
    """Mean power of the frames within 20 dB of the loudest: quick, near enough."""
    power = np.mean(samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME) ** 2, axis=1)
    return 10.0 * math.log10(float(np.mean(power[power > power.max() / 100.0])) + 1e-12)


def _unit_rms(samples: Samples) -> Samples:
    return samples / max(1e-9, float(np.sqrt(np.mean(samples**2))))

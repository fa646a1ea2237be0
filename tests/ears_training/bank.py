"""The bank of training sound: every clip at one active level, with its label and its origin.

One file holds all speech of one origin end to end, one all noise; a JSON list beside each says
where each clip lies. Speech is kept with loss (Opus): it is laid under noise, coloured and echoed
anew in every example. The bank comes in two parts of less than 64 MB: people, synthetic voices.
"""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
import soundfile

from companion.recognition.port import SAMPLE_RATE_HZ
from tests.benchmarks.bay_sound import (
    SPEECH_DBFS,
    Samples,
    active_level_dbfs,
    compressor_hum,
    impact_bursts,
)
from tests.benchmarks.spoken_clips import Clip, clips_of, noises_of
from tests.ears_training.labels import label_of
from tests.ears_training.levelling import loud_level_dbfs, trimmed
from tests.ears_training.mouths import other_mouth
from tests.ears_training.phrases import OTHER, known_words
from tests.ears_training.rooms import ROOMS, room_echoes
from tests.ears_training.sayings import SAYINGS
from tests.ears_training.voices import read_rendered
from tests.ears_training.workshop import MADE

FOLDS = (0, 1)
_MADE_NOISES = 24
_BABBLE_VOICES, _BABBLES, _BABBLE_S = (1, 6), 40, 8.0
_SHORTEST_NOISE_S = 0.9
_MOST_MOUTHS, _MOUTHS_OF_A_WORD = 12, 160
"""A recorded word gets so many further voices, fewer where many people said it."""
_HUMAN_LOSS, _MADE_LOSS, _NOISE_LOSS = 0.92, 0.945, 0.85
"""libsndfile's compression level for Opus: 1 is the most."""


@dataclass(frozen=True)
class Item:
    """One clip of the bank: where it starts, how long it is, what it says and who says it.

    For noise the speaker is its origin: recorded, made or babble.

    `of`: for another mouth, the number of the recorded clip that it says again. `text`: what
    people said, other words too.
    """

    start: int
    count: int
    label: tuple[str, ...]
    speaker: str
    fold: int
    of: int = -1
    text: str = ""


@dataclass(frozen=True)
class _Piece:
    samples: Samples
    label: tuple[str, ...] = ()
    speaker: str = ""
    fold: int = -1
    of: int = -1
    text: str = ""


def fold_of(speaker: str) -> int:
    """0 or 1, so that each speaker is heard by a head that never met him."""
    return hashlib.sha256(f"fold {speaker}".encode()).digest()[0] % len(FOLDS)


def head_name(fold: int | None, *, plain: bool) -> str:
    """The file of a head: over the encoder as it is, or with one trained on; of all speakers."""
    name = "head" if plain else "follow"
    return f"{name}.npz" if fold is None else f"{name}_without_{fold}.npz"


def training_clips(folders: Iterable[Path]) -> list[tuple[Clip, tuple[str, ...]]]:
    """All that people said who are not scored, with its label."""
    found = []
    for clip in clips_of(folders):
        label = label_of(clip.transcript, letters="an4" in clip.speaker)
        if clip.half != "scoring" and not clip.set_aside and label is not None:
            found.append((clip, label))
    return found


def _human(clips: Sequence[tuple[Clip, tuple[str, ...]]]) -> Iterator[_Piece]:
    for clip, label in clips:
        yield _Piece(
            trimmed(clip.samples()),
            label,
            clip.speaker,
            fold_of(clip.speaker),
            text=clip.transcript,
        )


def _changed(clips: Sequence[tuple[Clip, tuple[str, ...]]], seed: int) -> Iterator[_Piece]:
    said = Counter(label for _, label in clips if len(label) == 1)
    for number, (clip, label) in enumerate(clips):
        generator = np.random.default_rng([seed, number])
        for _ in range(mouths_of(label, said[label])):
            again = trimmed(other_mouth(trimmed(clip.samples()), generator))
            yield _Piece(again, label, clip.speaker, fold_of(clip.speaker), number)


def mouths_of(label: tuple[str, ...], clips: int) -> int:
    """How many further voices a clip gets, one of so many of its label."""
    if set(label) == {OTHER}:
        return 0
    if len(label) > 1:
        return 1
    return max(1, min(_MOST_MOUTHS, round(_MOUTHS_OF_A_WORD / clips)))


def _synthetic(folders: list[Path]) -> Iterator[_Piece]:
    for folder in folders:
        for samples, label in read_rendered(folder):
            if np.any(samples):
                yield _Piece(trimmed(samples.astype(np.float64)), label)


def _noises(
    folders: Sequence[Path], clips: Sequence[tuple[Clip, tuple[str, ...]]], seed: int
) -> Iterator[_Piece]:
    generator = np.random.default_rng(seed)
    recorded = [n.samples() for n in noises_of(folders) if n.half == "tuning"]
    made = [make(6.0, generator) for _ in range(_MADE_NOISES) for make in _MAKERS]
    others = [clip for clip, label in clips if set(label) == {OTHER} and len(label) > 1]
    babbles = [_babble(others, generator) for _ in range(_BABBLES)]
    for origin, all_samples in (("recorded", recorded), ("made", made), ("babble", babbles)):
        for samples in all_samples:
            if len(samples) >= _SHORTEST_NOISE_S * SAMPLE_RATE_HZ:
                yield _Piece(_unit_rms(samples) * 0.1, speaker=origin)


_MAKERS = (impact_bursts, compressor_hum, *MADE)


def _babble(others: Sequence[Clip], generator: np.random.Generator) -> Samples:
    """Some people who talk of other things, at once and without end."""
    count = round(_BABBLE_S * SAMPLE_RATE_HZ)
    whole = np.zeros(count)
    for _ in range(int(generator.integers(*_BABBLE_VOICES))):
        talk = np.zeros(0)
        while len(talk) < count:
            clip = others[int(generator.integers(len(others)))]
            talk = np.concatenate([talk, _unit_rms(trimmed(clip.samples()))])
        whole += 10.0 ** (-generator.uniform(0.0, 10.0) / 20.0) * talk[:count]
    return whole


def build_people(folder: Path, speech: Sequence[Path], seed: int) -> None:
    """Write people's speech, the same by other mouths, noise and rooms into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    clips = training_clips(speech)
    _write(folder, "noise", _noises(speech, clips, seed), _NOISE_LOSS)
    _write(folder, "human", _human(clips), _HUMAN_LOSS)
    _write(folder, "changed", _changed(clips, seed), _MADE_LOSS)
    echoes = room_echoes(ROOMS, seed)
    soundfile.write(folder / "echoes.flac", echoes.reshape(-1), SAMPLE_RATE_HZ, subtype="PCM_16")
    _tell(folder, "en", len(echoes))


def build_synthetic(folder: Path, synthetic: list[Path], name: str = "synthetic") -> None:
    """Write what was rendered into `folder`; `name`: "jobs" for what whole jobs say."""
    folder.mkdir(parents=True, exist_ok=True)
    _write(folder, name, _synthetic(synthetic), _MADE_LOSS)


def build_language(folder: Path, people: Path, language: str, synthetic: list[Path]) -> None:
    """A bank of a language that nobody was recorded speaking: voices alone, noise of `people`."""
    build_synthetic(folder, synthetic)
    for name in ("noise.ogg", "noise.json", "echoes.flac", "encoder.npz"):
        (folder / name).unlink(missing_ok=True)
        (folder / name).symlink_to((people / name).resolve())
    _tell(folder, language, ROOMS)


def _tell(folder: Path, language: str, echoes: int) -> None:
    same = dict(SAYINGS[language].same_sound)
    told = {"words": known_words(language), "same_sound": same, "echoes": echoes}
    (folder / "bank.json").write_text(json.dumps(told), encoding="utf-8")


def part_files(people: bool) -> tuple[str, ...]:
    """The files of one part of the bank."""
    if not people:
        return ("synthetic.ogg", "synthetic.json")
    sounds = [f"{name}.{end}" for name in ("human", "changed", "noise") for end in ("ogg", "json")]
    return (*sounds, "echoes.flac", "bank.json", "encoder.npz")


def _write(folder: Path, name: str, pieces: Iterator[_Piece], loss: float) -> None:
    items: list[Item] = []
    start = 0
    with soundfile.SoundFile(
        folder / f"{name}.ogg",
        "w",
        SAMPLE_RATE_HZ,
        1,
        format="OGG",
        subtype="OPUS",
        compression_level=loss,
    ) as stream:
        for piece in pieces:
            samples = piece.samples
            if piece.label:
                loud = active_level_dbfs if piece.speaker else loud_level_dbfs
                gain = 10.0 ** ((SPEECH_DBFS - loud(samples)) / 20.0)
                samples = np.clip(gain * samples, -1.0, 1.0)
            items.append(
                Item(
                    start,
                    len(samples),
                    piece.label,
                    piece.speaker,
                    piece.fold,
                    piece.of,
                    piece.text,
                )
            )
            stream.write(samples.astype(np.float32))
            start += len(samples)
    told = json.dumps([asdict(item) for item in items])
    (folder / f"{name}.json").write_text(told, encoding="utf-8")


def _unit_rms(samples: Samples) -> Samples:
    return samples / max(1e-9, float(np.sqrt(np.mean(samples**2))))

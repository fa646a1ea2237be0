"""What the next training example is: clips of the bank in memory, drawn and placed."""

from __future__ import annotations

import json
import random
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zlib import crc32

import numpy as np
import soundfile

from tests.ears_training.variety import OTHER, WITHOUT_PEOPLE, Variety

RATE_HZ = 16_000
SEGMENTS = 8
_NOISE_SHARES = {"recorded": 50, "made": 32, "babble": 18}
_RUN_TOGETHER_S = 0.11
_SLOWEST, _FASTEST = 0.88, 1.14
_MOST_JOINED = 9
_WITH_A_WAY = 0.8
_BEFORE_READINGS = {"yes": 70, "no": 15, OTHER: 15}
_WAYS = frozenset({"left", "right", "up", "down"})
_NUMBER_WORDS = frozenset(
    {
        *("zero", "oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
        *("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"),
        *("eighteen", "nineteen", "twenty", "thirty", "forty", "fifty", "sixty", "seventy"),
        *("eighty", "ninety", "hundred", "thousand"),
    }
)


_Drawn = tuple[int, int, tuple[str, ...]]
"""Where a clip starts, its samples, its label."""


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
    """The bank of `bank.py` in memory.

    `fold`: leave out its speakers, and half of the other words by anybody, so that a head
    meets them for the first time when it is asked (`unmet`).
    """

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
        self.made: list[_Drawn] = []
        self.jobs: list[_Drawn] = []
        self._folder, self._taken = folder, set[str]()
        self.speech = np.concatenate([*sounds, *self._made_since(place)])
        mouths: dict[int, list[tuple[int, int]]] = defaultdict(list)
        for item in again:
            mouths[item["of"]].append((len(human) + item["start"], item["count"]))
        self.by_word: dict[str, list[Recorded]] = defaultdict(list)
        self.by_speaker: dict[str, list[Recorded]] = defaultdict(list)
        self.strings: dict[str, list[Recorded]] = defaultdict(list)
        self.sentences: list[Recorded] = []
        for number, item in enumerate(recorded):
            label = tuple(item["label"])
            if fold is not None and item["fold"] == fold:
                continue
            if fold is not None and label == (OTHER,) and unmet(item["text"], fold):
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
        self.counted: dict[str, list[Recorded]] = {
            speaker: numbers
            for speaker, clips in self.by_speaker.items()
            if len(numbers := [c for c in clips if c.label[0] in _NUMBER_WORDS]) > 1
        }
        self.counters = sorted(self.counted)
        self.ways = {
            speaker: [c for c in self.by_speaker[speaker] if c.label[0] in _WAYS]
            for speaker in self.counters
        }
        words = [w for w in (*self.by_word, *variety.urgent) if self.by_word[w]]
        # Words that few people said are drawn less often: a few clips are soon known by heart.
        self.words_drawn = (words, [min(12, len(self.by_word[w])) ** 0.5 for w in words])

    def _made_since(self, place: int) -> list[np.ndarray]:
        """What was rendered and is not yet in the bank; `place`: where its sound will begin.

        `synthetic*` holds phrases of all prompts, `jobs*` what whole jobs say.
        """
        found = []
        for file in sorted(
            (*self._folder.glob("synthetic*.json"), *self._folder.glob("jobs*.json"))
        ):
            if file.stem in self._taken:
                continue
            made, phrases = _read(self._folder, file.stem)
            of_kind = self.jobs if file.stem.startswith("jobs") else self.made
            of_kind += [(place + i["start"], i["count"], tuple(i["label"])) for i in phrases]
            self._taken.add(file.stem)
            found.append(made)
            place += len(made)
        return found

    def grown(self) -> np.ndarray:
        """Speech that was rendered since; it goes behind the rest. Mostly there is none."""
        found = self._made_since(len(self.speech))
        more = np.concatenate(found) if found else np.zeros(0, np.float32)
        if found:
            self.speech = np.concatenate([self.speech, more])
        return more

    def example(self, generator: random.Random) -> Placed:
        """A synthetic phrase, people's words one by one or in a row, their strings, no speech."""
        kinds = self.variety.kinds if self.peopled else WITHOUT_PEOPLE
        kind = generator.choices(tuple(kinds), tuple(kinds.values()))[0]
        clips: list[_Drawn] = []
        match kind:
            case "made":
                clips = [generator.choice(self.made)]
            case "job":
                clips = [generator.choice(self.jobs or self.made)]
            case "pair":
                speaker = generator.choice(self.counters)
                clips = self._answered(speaker, self._pair(speaker, generator), generator)
            case "made row":
                clips = generator.choices(self.made, k=2)
            case "word":
                (word,) = generator.choices(*self.words_drawn)
                clips = self._some(self.by_word[word], 1, generator)
            case "string":
                speaker = generator.choice(self.tellers)
                clips = self._answered(speaker, self._string(speaker, generator), generator)
            case "digits":
                speaker = generator.choice(self.counters)
                row = self._some(self.counted[speaker], generator.randint(3, 7), generator)
                clips = self._answered(speaker, row, generator)
            case "sentence":
                clips = self._some(self.sentences, 1, generator)
            case "row":
                of_one = self.by_speaker[generator.choice(self.speakers)]
                clips = self._some(of_one, generator.randint(2, 5), generator)
            case "mixed":
                of_one = self.by_speaker[generator.choice(self.speakers)]
                clips = [*self._some(of_one, 1, generator), generator.choice(self.made)]
                generator.shuffle(clips)
            case _:
                pass
        rowed = kind in ("string", "digits", "row", "pair")
        return _placed(clips, generator, self.variety.fastest if rowed else _FASTEST)

    def _some(self, clips: list[Recorded], count: int, generator: random.Random) -> list[_Drawn]:
        share = self.variety.changed_share
        return [generator.choice(clips).drawn(generator, share) for _ in range(count)]

    def _pair(self, speaker: str, generator: random.Random) -> list[_Drawn]:
        """Two readings of one person in one breath, with the ways where they were recorded."""
        of_one, ways = self.counted[speaker], self.ways[speaker]
        clips: list[_Drawn] = []
        for _ in range(2):
            clips += self._some(of_one, generator.choice((1, 1, 2, 2, 3)), generator)
            if ways and generator.random() < _WITH_A_WAY:
                clips += self._some(ways, 1, generator)
        return clips

    def _answered(
        self, speaker: str, readings: list[_Drawn], generator: random.Random
    ) -> list[_Drawn]:
        """Sometimes the same person's "yes" comes before the readings, seldom "no" or another."""
        if generator.random() >= self.variety.answered_share:
            return readings
        (word,) = generator.choices(tuple(_BEFORE_READINGS), tuple(_BEFORE_READINGS.values()))
        said = [clip for clip in self.by_speaker[speaker] if clip.label[0] == word]
        return [*self._some(said, 1, generator), *readings] if said else readings

    def _string(self, speaker: str, generator: random.Random) -> list[_Drawn]:
        """A number string, sometimes with another of the same person behind it."""
        of_one = self.strings[speaker]
        clips = self._some(of_one, 1, generator)
        if generator.random() < self.variety.joined_share:
            more = self._some(of_one, 1, generator)
            if sum(len(clip[2]) for clip in (*clips, *more)) <= _MOST_JOINED:
                clips += more
        return clips

    def noise_spot(self, generator: random.Random) -> tuple[int, int]:
        """Where a stretch of noise lies: mostly recorded, some made, some of people who talk."""
        (origin,) = generator.choices(tuple(_NOISE_SHARES), tuple(_NOISE_SHARES.values()))
        return generator.choice(self.noises[origin])


def unmet(text: str, fold: int) -> bool:
    """Whether an other word is left out with that fold."""
    return crc32(text.encode()) % 2 == fold


def _placed(clips: list[_Drawn], generator: random.Random, fastest: float) -> Placed:
    speed = generator.uniform(_SLOWEST, fastest)
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

"""What is said to the ears: every clip of one half at every level, under the real prompts.

Kinds of step: `digits` (a number of one digit), `yes_no` (at the read-back of a reading),
`commands` ("stop" at three prompts), `other` (words that the prompt does not know), `noise`
(nobody speaks), `phrases` (human, in one breath), `spliced` (one speaker's separate words put in a
row: unnatural) and `synthetic` (readings by a synthetic voice that no ears were trained on).
"""

from __future__ import annotations

import random
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

import numpy as np

from companion import parts
from companion.dialogue.asking import ALWAYS, PAUSED, confirmation_of
from companion.ears.port import SAMPLE_RATE_HZ
from companion.errors import CompanionError
from companion.procedure.job import Reading
from companion.procedure.loader import JobPaths
from companion.rehearsal.speakers import SyntheticSpeaker
from companion.words.expectation import Expectation, NumberForm
from companion.words.grammar import StepGrammar
from companion.words.meanings import Meaning
from companion.words.vocabulary import DIGIT_WORDS
from tests.benchmarks.bay_sound import (
    Samples,
    as_sound,
    compressor_hum,
    impact_bursts,
    mixed,
    stretch_of,
)
from tests.benchmarks.spoken_clips import Clip, Half, Noise

LEVELS: dict[str, float | None] = {"clean": None, "20": 20.0, "10": 10.0, "5": 5.0, "0": 0.0}
KINDS = ("digits", "yes_no", "commands", "other", "noise", "phrases", "spliced", "synthetic")

Thing = TypeVar("Thing")

_DIGITS = frozenset(DIGIT_WORDS)
_LEAD_S, _TAIL_S = 0.3, 0.45
"""As the endpointer cuts: its lead-in before, its pause behind."""
_BEFORE_S, _AFTER_S = 0.8, 1.0
"""What the stream has more than the cut."""
_NOT_MIXED = frozenset({"no speech, 1 s", "person_sneeze", "dog_bark", "clock_tick"})
"""Noises with long gaps: their level says little, so they are only heard alone."""
_ALONE_S = 2.0
_SPLICED_PER_SPEAKER = 2
_SYNTHETIC_PHRASES = 60
SYNTHETIC_VOICE = "awb"


@dataclass(frozen=True)
class Trial:
    """One sound under one prompt; `meaning` is None where nothing may be accepted.

    `stream` is a longer stretch of the same, for an endpointer; `sound` is cut out of it.
    """

    kind: str
    level: str
    grammar: StepGrammar
    said: str
    meaning: Meaning | None
    sound: bytes
    stream: bytes
    speaker: str


@lru_cache(maxsize=1)
def prompts() -> dict[str, StepGrammar]:
    """The prompts of the trials, all made as the companion makes them."""
    grammar = parts.grammar()
    reading = next(s for s in parts.load(JobPaths()).plan.steps if isinstance(s, Reading))
    directions = ("left", "right", "up", "down")
    return {
        "digit": grammar.for_step(Expectation(NumberForm("whole", 1), commands=ALWAYS)),
        "confirm": grammar.for_step(confirmation_of(reading)),
        "paused": grammar.for_step(PAUSED),
        "number": grammar.for_step(Expectation(NumberForm("whole", 6), commands=ALWAYS)),
        "directed": grammar.for_step(
            Expectation(NumberForm("whole", 3, directions=directions), commands=ALWAYS)
        ),
    }


class TrialMaker:
    """Makes the trials of one half; everything follows from the seed.

    `most`: at most so many trials a kind and level (0: all), chosen by the seed.
    """

    def __init__(
        self, clips: list[Clip], noises: list[Noise], half: Half, seed: int, most: int = 0
    ) -> None:
        self._clips = [clip for clip in clips if clip.half == half]
        self._noises = [noise for noise in noises if noise.half == half]
        self._mixed = [noise for noise in self._noises if noise.sort not in _NOT_MIXED]
        self._seed = seed
        self._most = most
        self._said = self._all_said(random.Random(seed))

    def trials(self, level: str, repeat: int = 0) -> Iterator[Trial]:
        """Every trial at one level; another `repeat` brings other noise."""
        for kind, step, text, speech, speaker in self._said:
            generator = np.random.default_rng(
                [self._seed, repeat, zlib.crc32(f"{kind} {step} {text} {speaker}".encode())]
            )
            lead_s, tail_s = _BEFORE_S + _LEAD_S, _TAIL_S + _AFTER_S
            count = len(speech) + round((lead_s + tail_s) * SAMPLE_RATE_HZ)
            noise = self._noise(count, generator)
            whole = as_sound(mixed(speech, noise, LEVELS[level], generator, lead_s, tail_s))
            cut = whole[_bytes_in(_BEFORE_S) : len(whole) - _bytes_in(_AFTER_S)]
            grammar = prompts()[step]
            meaning = grammar.parse(text) if text else None
            yield Trial(kind, level, grammar, text, meaning, cut, whole, speaker)
        yield from self._alone(level, repeat)

    def _alone(self, level: str, repeat: int) -> Iterator[Trial]:
        steps = ("digit", "confirm", "paused")
        numbers = range(len(self._noises) + 16)
        for number in self._some(list(numbers), random.Random(self._seed)):
            generator = np.random.default_rng([self._seed, repeat, number, 7])
            count = round(_ALONE_S * SAMPLE_RATE_HZ)
            if number < len(self._noises):
                noise = stretch_of(self._noises[number].samples(), count, generator)
            else:
                noise = self._noise(count, generator)
            sound = as_sound(mixed(np.zeros(count), noise, LEVELS[level], generator, 0.0, 0.0))
            for step in steps:
                yield Trial("noise", level, prompts()[step], "", None, sound, sound, "")

    def _noise(self, count: int, generator: np.random.Generator) -> Samples:
        """Three in five times real noise, else impact bursts or compressor hum."""
        choice = generator.random()
        if choice < 0.6 and self._mixed:
            noise = self._mixed[int(generator.integers(len(self._mixed)))]
            return stretch_of(noise.samples(), count, generator)
        made = impact_bursts if choice < 0.8 else compressor_hum
        return made(count / SAMPLE_RATE_HZ + 0.01, generator)[:count]

    def _all_said(self, generator: random.Random) -> list[tuple[str, str, str, Samples, str]]:
        words = [clip for clip in self._clips if clip.kind == "word"]
        by_kind: dict[str, list[tuple[str, str, str, Samples, str]]] = {kind: [] for kind in KINDS}
        for number, clip in enumerate(words):
            for kind, step in _steps_of(clip.transcript, number):
                said = (kind, step, clip.transcript, clip.samples(), clip.speaker)
                by_kind[kind].append(said)
        for clip in self._clips:
            if clip.kind == "phrase":
                known = prompts()["number"].parse(clip.transcript) is not None
                kind = "phrases" if known else "other"
                by_kind[kind].append(
                    (kind, "number", clip.transcript, clip.samples(), clip.speaker)
                )
        by_kind["spliced"] = list(_spliced(words, generator))
        by_kind["synthetic"] = list(_synthetic(self._seed))
        return [said for kind in KINDS for said in self._some(by_kind[kind], generator)]

    def _some(self, things: list[Thing], generator: random.Random) -> list[Thing]:
        if self._most and len(things) > self._most:
            return generator.sample(things, self._most)
        return things


def _bytes_in(seconds: float) -> int:
    return 2 * round(seconds * SAMPLE_RATE_HZ)


def _steps_of(word: str, number: int) -> Iterator[tuple[str, str]]:
    """The kinds of step that a word is scored at, with the prompt."""
    steps = ("digit", "confirm", "paused")
    if word in _DIGITS:
        yield "digits", "digit"
    elif word in ("yes", "no"):
        yield "yes_no", "confirm"
    if word == "stop":
        yield from (("commands", step) for step in steps)
        return
    strange = [step for step in steps if prompts()[step].parse(word) is None]
    if strange:
        yield "other", strange[number % len(strange)]


def _spliced(
    words: list[Clip], generator: random.Random
) -> Iterator[tuple[str, str, str, Samples, str]]:
    by_speaker: dict[str, list[Clip]] = {}
    for clip in words:
        by_speaker.setdefault(clip.speaker, []).append(clip)
    gap = np.zeros(round(0.08 * SAMPLE_RATE_HZ))
    for speaker, clips in sorted(by_speaker.items()):
        digits = [c for c in clips if c.transcript in _DIGITS]
        first = [c for c in digits if c.transcript != "zero"]
        ways = [c for c in clips if c.transcript in ("left", "right", "up", "down")]
        for _ in range(_SPLICED_PER_SPEAKER if len(digits) > 1 and first and ways else 0):
            row = [generator.choice(first), generator.choice(digits), generator.choice(ways)]
            pieces = [piece for clip in row for piece in (_trimmed(clip.samples()), gap)]
            text = " ".join(clip.transcript for clip in row)
            yield "spliced", "directed", text, np.concatenate(pieces[:-1]), speaker


def _trimmed(samples: Samples) -> Samples:
    """From 40 ms before the first frame within 35 dB of the loudest to 40 ms after the last."""
    frame = 320
    power = np.mean(samples[: len(samples) // frame * frame].reshape(-1, frame) ** 2, axis=1)
    loud = np.flatnonzero(power > power.max() * 10.0**-3.5)
    return samples[max(0, loud[0] - 2) * frame : (loud[-1] + 3) * frame]


def _synthetic(seed: int) -> Iterator[tuple[str, str, str, Samples, str]]:
    """Readings that the job asks for, by the voice kept out of training; none without flite."""
    generator = random.Random(seed)
    try:
        speaker = SyntheticSpeaker(SYNTHETIC_VOICE, seed)
    except CompanionError:
        return
    for _ in range(_SYNTHETIC_PHRASES):
        step = generator.choice(("number", "directed"))
        form = prompts()[step].expectation.number
        text, _ = parts.grammar().for_step(Expectation(form)).generate(generator)
        sound = np.frombuffer(speaker.say(text), "<i2").astype(np.float64) / 32768.0
        yield "synthetic", step, text, sound, f"flite {SYNTHETIC_VOICE}"


def missing_speech(folder: Path) -> str | None:
    """Why there is nothing to score with in this folder; None where there is."""
    wanted = [folder / "speech.tsv", folder / "noise.tsv"]
    absent = [str(path) for path in wanted if not path.is_file()]
    return f"no human speech: {', '.join(absent)} missing" if absent else None

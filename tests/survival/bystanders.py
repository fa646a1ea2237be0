"""Sound of a bay in which nobody answers: recordings of noise, and people who say other things.

A stretch sounds the same at every prompt, but for what would be an answer there: of people, each
prompt hears only what it does not take, and in place of a word that it takes, another one in the
same moment.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from random import Random

import numpy as np

from companion.language.grammar import StepGrammar
from tests.benchmarks.bay_sound import Samples, active_level_dbfs, stretch_of
from tests.benchmarks.spoken_clips import Clip, Noise

NOISE_DBFS = (-50.0, -12.0)
PEOPLE_DBFS = (-42.0, -18.0)
PAUSES_S = (0.05, 0.2, 0.6, 1.5)
_RATE_HZ = 16_000
_ROOM_DBFS = -66.0


def noise_alone(noises: list[Noise], random: Random, seconds: float) -> Samples:
    """Recordings, one after another, each at a level of its own."""
    generator = np.random.default_rng(random.randrange(1 << 32))
    pieces: list[Samples] = []
    while sum(map(len, pieces)) < seconds * _RATE_HZ:
        recording = random.choice(noises).samples()
        piece = stretch_of(recording, round(random.uniform(3.0, 10.0) * _RATE_HZ), generator)
        rms = float(np.sqrt(np.mean(piece**2))) or 1e-6
        pieces.append(piece * 10 ** (random.uniform(*NOISE_DBFS) / 20) / rms)
    return _in_a_room(np.concatenate(pieces), generator)


def is_no_answer(clip: Clip, grammar: StepGrammar) -> bool:
    """Whether it is a phrase that is no answer here, or a word that stands in no answer here."""
    if clip.kind == "phrase":
        return grammar.parse(clip.transcript) is None
    return not grammar.words() & set(clip.transcript.split())


@dataclass(frozen=True)
class Turn:
    """What is said next: the first of these that is no answer where it is heard.

    The last of them is no answer anywhere. With the pause behind it, it takes `samples` of time,
    whichever it is.
    """

    said: tuple[tuple[Path, Samples], ...]
    samples: int

    def heard_where(self, no_answers: Collection[Path]) -> Samples:
        """The sound of the turn at a prompt that does not take these clips."""
        sound = dict(self.said)[self.path_where(no_answers)]
        return np.pad(sound, (0, self.samples - len(sound)))

    def path_where(self, no_answers: Collection[Path]) -> Path:
        """The clip of the turn at such a prompt."""
        return next(path for path, _ in self.said if path in no_answers)


class People:
    """One stretch of people, for any prompt.

    `clips`: what they may say; `never_answers`: those of them that are no answer at any prompt.
    """

    def __init__(
        self, clips: list[Clip], never_answers: Collection[Path], random: Random, seconds: float
    ) -> None:
        self._room_seed = random.randrange(1 << 32)
        self.turns: list[Turn] = []
        while sum(turn.samples for turn in self.turns) < seconds * _RATE_HZ:
            self.turns.append(_turn(clips, never_answers, random))

    def heard_where(self, no_answers: Collection[Path]) -> Samples:
        """What is heard at a prompt that does not take these clips."""
        sound = np.concatenate([turn.heard_where(no_answers) for turn in self.turns])
        return _in_a_room(sound, np.random.default_rng(self._room_seed))

    def path_at(self, second: float, no_answers: Collection[Path]) -> Path:
        """The clip that is heard there at a moment, or was heard last."""
        ends = np.cumsum([turn.samples for turn in self.turns])
        number = int(np.searchsorted(ends, second * _RATE_HZ, side="right"))
        return self.turns[min(number, len(self.turns) - 1)].path_where(no_answers)


def _turn(clips: list[Clip], never_answers: Collection[Path], random: Random) -> Turn:
    """Phrases give way to phrases and words to words: so all of a turn are about as long."""
    kind = random.choice(clips).kind
    alike = [clip for clip in clips if clip.kind == kind]
    wanted_dbfs = random.uniform(*PEOPLE_DBFS)
    said: list[tuple[Path, Samples]] = []
    while not said or said[-1][0] not in never_answers:
        clip = random.choice(alike)
        said.append((clip.path, _at_level(clip.samples(), wanted_dbfs)))
    pause = round(random.choice(PAUSES_S) * _RATE_HZ)
    return Turn(tuple(said), max(len(sound) for _, sound in said) + pause)


def _at_level(speech: Samples, wanted_dbfs: float) -> Samples:
    level_dbfs = active_level_dbfs(speech)
    if not np.isfinite(level_dbfs):
        return speech
    return np.asarray(speech * 10 ** ((wanted_dbfs - level_dbfs) / 20))


def _in_a_room(sound: Samples, generator: np.random.Generator) -> Samples:
    room = 10 ** (_ROOM_DBFS / 20) * generator.normal(size=len(sound))
    return np.clip(sound + room, -1.0, 1.0)

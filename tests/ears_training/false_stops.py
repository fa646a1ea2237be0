"""What the ears take for "stop" in noise alone, and what they nearly take for it.

The heads have met the tuning recordings. Played from behind and at another speed they are noises
that nobody has met, and the scoring recordings stay untouched.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np

from companion.recognition.listening import StreamEars
from companion.recognition.own.recogniser import at_speed
from companion.recognition.port import SAMPLE_RATE_HZ, Utterance
from companion.recognition.source import MemorySource
from tests.benchmarks.bay_sound import Samples, as_sound
from tests.benchmarks.common import on_all_cores
from tests.benchmarks.ears_noise import heard_to_the_end, is_stop, pieces
from tests.benchmarks.ears_trials import prompts
from tests.benchmarks.spoken_clips import noises_of
from tests.ears_candidates import make

_SLOWEST, _FASTEST = 0.6, 1.6
_PARTS = 4
_ASKED_FURTHER = " speeds "
"""In the detail of what was heard at further speeds, as only a doubtful "stop" is."""


@dataclass(frozen=True)
class NoiseHeard:
    """Of some noise: for how long, each "stop" by its detail, those held off, answers taken."""

    seconds: float
    stops: tuple[str, ...]
    held_off: tuple[str, ...]
    taken: tuple[str, ...]


def false_stops(speech: Sequence[Path], minutes: float, seed: int) -> NoiseHeard:
    """What the ears as they ship make of so many minutes."""
    found = list(on_all_cores(partial(_part, speech, minutes, seed), range(_PARTS)))
    return NoiseHeard(
        sum(part.seconds for part in found),
        tuple(text for part in found for text in part.stops),
        tuple(text for part in found for text in part.held_off),
        tuple(text for part in found for text in part.taken),
    )


def _part(speech: Sequence[Path], minutes: float, seed: int, part: int) -> NoiseHeard:
    grammar = prompts()["digit"]
    recogniser = make("own")
    stops: list[str] = []
    held_off: list[str] = []
    taken: list[str] = []
    seconds = 0.0
    for number, samples in enumerate(unmet(speech, minutes, seed)):
        if number % _PARTS != part:
            continue
        seconds += len(samples) / SAMPLE_RATE_HZ
        ears = StreamEars(MemorySource(as_sound(samples)), recogniser)
        for heard, meaning in heard_to_the_end(ears, grammar):
            if is_stop(meaning):
                stops.append(recogniser.recognise(heard.sound).detail)
                print(f'noise: "stop": {stops[-1]}', flush=True)
            elif _ASKED_FURTHER in (heard.how.detail or ""):
                held_off.append(heard.how.detail)
                print(f'noise: no "stop": {heard.how.detail}', flush=True)
            elif isinstance(heard, Utterance):
                taken.append(heard.words)
    return NoiseHeard(seconds, tuple(stops), tuple(held_off), tuple(taken))


def unmet(speech: Sequence[Path], minutes: float, seed: int) -> Iterator[Samples]:
    """Pieces of noise that no head has met."""
    generator = np.random.default_rng([seed, 8])
    noises = [noise for noise in noises_of(speech) if noise.half == "tuning"]
    for samples in pieces(noises, minutes, seed):
        speed = float(generator.uniform(_SLOWEST, _FASTEST))
        from_behind = samples[::-1].astype(np.float32)
        yield np.clip(at_speed(from_behind, speed).astype(np.float64), -1.0, 1.0)

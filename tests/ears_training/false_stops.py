"""What the packaged ears take for "stop" in noise alone, and how sure they are of it.

The heads have met the tuning recordings. Played from behind and at another speed they are noises
that nobody has met, and the scoring recordings stay untouched.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

import numpy as np

from companion.recognition.listening import StreamEars
from companion.recognition.own.recogniser import OwnRecogniser, OwnSettings, at_speed
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.recognition.source import MemorySource
from tests.benchmarks.bay_sound import Samples, as_sound
from tests.benchmarks.common import on_all_cores
from tests.benchmarks.ears_noise import heard_to_the_end, is_stop, pieces
from tests.benchmarks.ears_trials import prompts
from tests.benchmarks.spoken_clips import noises_of

_SLOWEST, _FASTEST = 0.6, 1.6
_PARTS = 2
_FIGURE = re.compile(r"both heads (-\d+\.\d+)")
_SURE = 0.0


def false_stops(speech: Sequence[Path], minutes: float, seed: int) -> tuple[float, list[float]]:
    """The minutes listened to, and the log probability of each "stop" heard; 0 where sure."""
    found = list(on_all_cores(partial(_part, speech, minutes, seed), range(_PARTS)))
    return sum(part[0] for part in found), sorted(stop for part in found for stop in part[1])


def _part(
    speech: Sequence[Path], minutes: float, seed: int, part: int
) -> tuple[float, list[float]]:
    grammar = prompts()["digit"]
    recogniser = OwnRecogniser(replace(OwnSettings.of("en"), least_guess=-math.inf))
    stops: list[float] = []
    heard_s = 0.0
    for number, samples in enumerate(_unmet(speech, minutes, seed)):
        if number % _PARTS != part:
            continue
        heard_s += len(samples) / SAMPLE_RATE_HZ
        ears = StreamEars(MemorySource(as_sound(samples)), recogniser)
        for heard, meaning in heard_to_the_end(ears, grammar):
            if is_stop(meaning):
                weak = _FIGURE.search(heard.detail)
                stops.append(float(weak.group(1)) if weak else _SURE)
                print(f'noise: "stop" at {stops[-1]:.2f}', flush=True)
    return heard_s / 60.0, stops


def _unmet(speech: Sequence[Path], minutes: float, seed: int) -> Iterator[Samples]:
    generator = np.random.default_rng([seed, 8])
    noises = [noise for noise in noises_of(speech) if noise.half == "tuning"]
    for samples in pieces(noises, minutes, seed):
        speed = float(generator.uniform(_SLOWEST, _FASTEST))
        from_behind = samples[::-1].astype(np.float32)
        yield np.clip(at_speed(from_behind, speed).astype(np.float64), -1.0, 1.0)

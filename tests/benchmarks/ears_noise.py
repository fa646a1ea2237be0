"""Ears that never pause in a bay where nobody speaks: what do they take for speech?"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from companion.facts.meanings import Command, Meaning
from companion.language.grammar import StepGrammar
from companion.recognition.endpoint import EndpointSettings
from companion.recognition.listening import StreamEars
from companion.recognition.port import (
    SAMPLE_RATE_HZ,
    Heard,
    Listening,
    Recogniser,
    SoundEnded,
    Utterance,
)
from companion.recognition.source import MemorySource
from tests.benchmarks.bay_sound import ROOM_DBFS, Samples, as_sound, stretch_of
from tests.benchmarks.ears_trials import prompts
from tests.benchmarks.spoken_clips import Noise
from tests.benchmarks.workshop_sound import MadeNoise

_PIECE_S = 20.0
_QUIETEST_DBFS, _LOUDEST_DBFS = -45.0, -18.0


def heard_alone(
    recogniser: Recogniser,
    settings: EndpointSettings,
    noises: Sequence[Noise | MadeNoise],
    *,
    minutes: float,
    seed: int,
    part: int,
    of_parts: int,
) -> dict[str, Any]:
    """Stops and accepted answers in one part of the noise, and how long it lasts."""
    grammar = prompts()["digit"]
    stops, accepted, seconds, spent_s = 0, 0, 0.0, 0.0
    for number, samples in enumerate(pieces(noises, minutes, seed)):
        if number % of_parts != part:
            continue
        generator = np.random.default_rng([seed, number, 3])
        quiet = 10.0 ** (ROOM_DBFS / 20.0) * generator.normal(size=len(samples))
        seconds += len(samples) / SAMPLE_RATE_HZ
        began_s = time.process_time()
        ears = StreamEars(MemorySource(as_sound(samples + quiet)), recogniser, settings)
        for heard, meaning in heard_to_the_end(ears, grammar):
            stops += is_stop(meaning)
            accepted += meaning is not None and isinstance(heard, Utterance)
        spent_s += time.process_time() - began_s
    return {"stops": stops, "accepted": accepted, "seconds": seconds, "spent_s": spent_s}


def heard_to_the_end(
    ears: StreamEars, grammar: StepGrammar
) -> Iterator[tuple[Heard, Meaning | None]]:
    """What is heard at one prompt until the sound is used up, and what it means there."""
    while True:
        try:
            heard = ears.hear(Listening("bench", grammar, 10.0))
        except SoundEnded:
            return
        yield heard, grammar.parse(heard.words) if heard.words else None


def is_stop(meaning: Meaning | None) -> bool:
    """Whether this stops the job."""
    return isinstance(meaning, Command) and meaning.name == "stop"


def pieces(noises: Sequence[Noise | MadeNoise], minutes: float, seed: int) -> Iterator[Samples]:
    """Every recording as it is; then, up to so many minutes, two at a time over each other.

    Real noise is short here: the further pieces are recordings from a random place, one over the
    other, at a random level between a quiet and a deafening bay.
    """
    seconds = 0.0
    for noise in noises:
        seconds += len(noise.samples()) / SAMPLE_RATE_HZ
        yield noise.samples()
    generator = np.random.default_rng([seed, 5])
    while noises and seconds < 60.0 * minutes:
        count = round(_PIECE_S * SAMPLE_RATE_HZ)
        chosen = generator.integers(len(noises), size=2)
        both = [stretch_of(noises[int(place)].samples(), count, generator) for place in chosen]
        whole = both[0] + float(generator.uniform(0.1, 1.0)) * both[1]
        level_dbfs = float(generator.uniform(_QUIETEST_DBFS, _LOUDEST_DBFS))
        rms = float(np.sqrt(np.mean(whole**2)))
        seconds += _PIECE_S
        yield np.clip(whole * 10.0 ** (level_dbfs / 20.0) / max(rms, 1e-9), -1.0, 1.0)

"""VINs spelled by synthetic voices: how many the ears have come right, wrong, or not at all.

Each sign in the spelling alphabet, three at a time, in a quiet room or beside noise; read back, and
said yes to only where it is what was spelled.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

from companion.job.vin import LENGTH, NEVER, check_digit_of
from companion.language.loader import load_language
from companion.recognition.listening import StreamEars
from companion.recognition.port import SAMPLE_RATE_HZ, Ears, Recogniser
from companion.recognition.source import FileSource, read_sound
from companion.runtime import assembly
from companion.runtime.aloud import Aloud
from companion.runtime.spelt_aloud import SpellingLeft, SpeltAloud
from companion.speech.silent import SilentVoice
from tests.benchmarks.common import Results, on_all_cores, percentile
from tests.spelling_technician import SpellingTechnician

NAME = "spelling"
WHAT = "VINs in the spelling alphabet, spoken by flite: heard right, wrong, left to the keyboard"

VOICES = ("slt", "rms", "awb")
SIGNS = "".join(sorted(set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ") - set(NEVER)))
_LEAD_S, _TAIL_S = 0.4, 0.9


@dataclass(frozen=True)
class Task:
    """One VIN, by one voice; `noise_db`: how far the noise lies below the voice, None for quiet."""

    seed: int
    voice: str
    noise_db: float | None
    ears: str


@dataclass(frozen=True)
class Outcome:
    """What was kept: the VIN, another one, or nothing; and how often was spoken for it."""

    right: bool
    wrong: bool
    answers: int


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--vins", type=int, default=20, help="so many numbers")
    parser.add_argument("--ears", choices=("own", "sphinx"), default="own")
    parser.add_argument("--noise-db", type=float, help="white noise so far below the voice")


@cache
def _recogniser(ears: str) -> Recogniser:
    return assembly.make_recogniser(assembly.EarsChoice(ears), assembly.language())


def a_vin(seed: int) -> str:
    """A number with a right check digit that no car has: drawn at random."""
    rng = random.Random(f"{seed} vin")
    drawn = "".join(rng.choice(SIGNS) for _ in range(LENGTH))
    return drawn[:8] + check_digit_of(drawn) + drawn[9:]


def spell(task: Task) -> Outcome:
    """The whole conversation."""
    language, vin, said = load_language(), a_vin(task.seed), 0
    recogniser = _recogniser(task.ears)
    lacking = recogniser.missing_words(frozenset(language.alphabet.signs))
    alphabet = language.alphabet.without(lacking)
    with tempfile.TemporaryDirectory() as folder:

        def speak(words: str) -> Ears:
            nonlocal said
            said += 1
            spoken, file = Path(folder) / "spoken.wav", Path(folder) / f"{said}.wav"
            command = ["flite", "-voice", task.voice, "-t", words, "-o", str(spoken)]
            subprocess.run(command, check=True)
            speech = np.frombuffer(read_sound(spoken), "<i2").astype(float)
            lead, tail = (np.zeros(round(s * SAMPLE_RATE_HZ)) for s in (_LEAD_S, _TAIL_S))
            loud = float(np.sqrt(np.mean(speech**2)))
            noise = 30.0 if task.noise_db is None else loud * 10 ** (-task.noise_db / 20)
            sound = np.concatenate([lead, speech, tail])
            generator = np.random.default_rng((task.seed, said))
            sound += generator.normal(0.0, noise, len(sound))
            samples = np.clip(sound, -32768, 32767).astype("<i2")
            soundfile.write(file, samples, SAMPLE_RATE_HZ, subtype="PCM_16")
            return StreamEars(FileSource(file), recogniser)

        person = SpellingTechnician(vin, alphabet, speak, "yes", "no")
        aloud = SpeltAloud(Aloud(person, SilentVoice(), language, person.screen.append), alphabet)
        try:
            kept = aloud.vin(check_digit=True)
        except SpellingLeft:
            return Outcome(right=False, wrong=False, answers=person.answers)
    return Outcome(kept == vin, kept != vin, person.answers)


def run(options: argparse.Namespace) -> Results:
    """All numbers, each by one of the voices in turn."""
    first = options.seed * 1_000
    tasks = [
        Task(first + n, VOICES[n % len(VOICES)], options.noise_db, options.ears)
        for n in range(options.vins)
    ]
    found = list(on_all_cores(spell, tasks, at_a_time=1))
    return {
        "benchmark": NAME,
        "ears": options.ears,
        "vins": len(found),
        "noise_db": options.noise_db,
        "right": sum(one.right for one in found),
        "wrong": sum(one.wrong for one in found),
        "left": sum(not (one.right or one.wrong) for one in found),
        "answers_least_needed": 12,
        "answers_median": percentile((one.answers for one in found if one.right), 50),
        "answers_p95": percentile((one.answers for one in found if one.right), 95),
    }

"""Whether the companion ever answers itself, where prompts may be answered into.

Its own prompts sound in a workshop's noise (the recordings that took no part in training) and come
back into the microphone, at the echo that was measured and, where the measurement is wrong, far
louder; nobody speaks. Every prompt is taken for one that is known and may be answered after 0.6 s,
which in a job few are. `--stops`: somebody says "stop" into each instead, and none is open for an
answer (with `--open` all are); how often that is heard.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from companion.dialogue.effects import Say
from companion.facts.meanings import Command
from companion.language.expectation import Expectation
from companion.recognition.listening import StreamEars
from companion.recognition.over_voice import Echo, band_level_dbfs
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.port import Listening, Refusal, Utterance
from companion.runtime import assembly
from companion.simulation.over_prompts import EchoingRoom, SharedAir
from companion.simulation.speakers import SyntheticSpeaker
from tests.benchmarks.bay_sound import SPEECH_DBFS, Samples
from tests.benchmarks.common import Results, on_all_cores
from tests.benchmarks.ears_tally import upper_95
from tests.benchmarks.ears_trials import NOT_MIXED, missing_speech
from tests.benchmarks.over_prompts import Rendered
from tests.benchmarks.rehearse import loaded_job
from tests.benchmarks.spoken import PROMPTS
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, read_noises
from tests.runtime.test_hearing_itself import prompts_of_a_job

NAME = "own_voice"
WHAT = "the companion's own prompts in the microphone, nobody speaking: answers taken, stops taken"
ECHOES = ((-50.0, -50.0), (-35.0, -50.0), (-20.0, -60.0), (-10.0, -60.0), (0.0, -60.0))
"""The echo as it is and as it was measured, in dB less what is played."""
NOISES_DBFS = (-60.0, -45.0, -35.0)
_BEGINS_S = 0.9


@dataclass(frozen=True)
class Trial:
    """Some prompts in one noise at one echo."""

    number: int
    echo_db: float
    measured_db: float
    noise_dbfs: float
    prompts: int
    stops: bool
    is_open: bool


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--prompts", type=int, default=40, help="for each echo and noise")
    parser.add_argument("--stops", action="store_true", help='somebody says "stop" into each')
    parser.add_argument("--open", action="store_true", help="and each is open for its answer")


@lru_cache(maxsize=1)
def _recordings() -> list[Samples]:
    halves = [noise for noise in read_noises(DEFAULT_FOLDER) if noise.half == "scoring"]
    return [noise.samples() for noise in halves if noise.sort not in NOT_MIXED]


def _bed(noise: Samples, level_dbfs: float, random: np.random.Generator) -> Callable[[int], bytes]:
    scaled = noise / np.sqrt(np.mean(noise**2)) * 10 ** (level_dbfs / 20)
    sound = (np.clip(scaled, -1.0, 1.0) * 32767).astype("<i2")
    at = int(random.integers(len(sound)))

    def bed(size: int) -> bytes:
        nonlocal at
        places = (at + np.arange(size // 2)) % len(sound)
        at += size // 2
        return bytes(sound[places].tobytes())

    return bed


def _run(trial: Trial) -> Counter[str]:
    language = assembly.language()
    recogniser = assembly.make_recogniser(assembly.EarsChoice("own"), language)
    language = assembly.check_words(recogniser, loaded_job(), language).language
    rendered = Rendered(PROMPTS, language)
    stop = language.for_step(Expectation(commands=("stop",)))
    speaker = SyntheticSpeaker("slt", trial.number, cache_folder=Path(PROMPTS) / "stop")
    random = np.random.default_rng(trial.number)
    counts: Counter[str] = Counter()
    for text, expectation in prompts_of_a_job(trial.prompts):
        noise = _recordings()[int(random.integers(len(_recordings())))]
        room = EchoingRoom(trial.echo_db, seed=int(random.integers(1000)))
        air = SharedAir(room, _bed(noise, trial.noise_dbfs, random))
        echo = OverVoiceSettings(Echo(trial.measured_db, 0.12))
        ears = StreamEars(air, recogniser, None, echo)
        open_after_s = 0.6 if trial.is_open else None
        said = air.play(rendered.sound(Say(text, "ask", 100, 0.8)), open_after_s)
        if trial.stops:
            air.say(_at_level(speaker.say("stop")), _BEGINS_S)
        counts["prompts"] += 1
        begun = ears.overhear(said, Listening("p", stop, 3.0))
        if begun is None:
            continue
        if isinstance(begun, Utterance):
            counts["stops"] += 1
            continue
        counts["hushed"] += begun.into is not None
        listening = Listening("p", language.for_step(expectation), 1.5, begun=begun)
        heard = ears.hear(listening)
        if isinstance(heard, Utterance) and heard.meaning == Command("stop"):
            counts["stops"] += 1
        elif isinstance(heard, Utterance):
            counts["answers" if heard.how.into is not None else "answers_behind"] += 1
        elif isinstance(heard, Refusal) and heard.reason != "silence":
            counts["refused"] += 1
    return counts


def _at_level(speech: bytes) -> bytes:
    samples = np.frombuffer(speech, "<i2") / 32768.0
    gain = 10 ** ((SPEECH_DBFS - band_level_dbfs(samples.astype(np.float32))) / 20)
    return bytes((np.clip(samples * gain, -1.0, 1.0) * 32767).astype("<i2").tobytes())


def run(options: argparse.Namespace) -> Results:
    """All echoes and noises."""
    if missing := missing_speech(DEFAULT_FOLDER):
        return {"benchmark": NAME, "errors": [str(missing)]}
    is_open = options.open or not options.stops
    trials = [
        Trial(options.seed + number, *echo, noise, options.prompts, options.stops, is_open)
        for number, (echo, noise) in enumerate(
            (echo, noise) for echo in ECHOES for noise in NOISES_DBFS
        )
    ]
    found = list(on_all_cores(_run, trials, at_a_time=1))
    total: Counter[str] = Counter()
    for counts in found:
        total.update(counts)
    names = ("prompts", "hushed", "answers", "answers_behind", "stops", "refused")
    taken = total["answers"] + total["answers_behind"] + total["stops"]
    return {
        "benchmark": NAME,
        **{name: total[name] for name in names},
        "taken_upper95": None if options.stops else upper_95(taken, total["prompts"]),
        "each": [
            {
                "echo_db": trial.echo_db,
                "measured_db": trial.measured_db,
                "noise_dbfs": trial.noise_dbfs,
                **{name: counts[name] for name in names},
            }
            for trial, counts in zip(trials, found, strict=True)
        ],
        "errors": [],
    }

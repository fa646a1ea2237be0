"""How soon the ears may open behind the companion's own prompt: what they then take of its ring.

Each prompt, the pause and the tone for "your turn" are laid one behind the other as a live job
plays them (`runtime/configured.py`), sound through a bay that rings on, and arrive at the
microphone later and louder or fainter than they are played. Nobody speaks. The ears open as they
would for each deaf time; whatever they make of the next seconds other than silence is wrong: an
answer, a "stop", or something not understood, which would sound the tone for it and ask again.
"never": they open when nothing rings any more, which tells what the room's own noise does.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from companion.dialogue.effects import Say
from companion.language.language import Language
from companion.recognition.listening import StreamEars
from companion.recognition.port import SAMPLE_RATE_HZ, Listening, Recogniser, Refusal
from companion.recognition.source import MemorySource
from companion.runtime import assembly
from companion.runtime.configured import microphone_deaf_s
from companion.settings.model import Settings
from companion.simulation.over_prompts import EchoingRoom
from companion.speech.earcons import earcon
from companion.speech.loudness import Loudness
from tests.benchmarks.bay_sound import as_sound
from tests.benchmarks.common import Results, on_all_cores, rounded
from tests.benchmarks.ears_noise import is_stop
from tests.benchmarks.ears_tally import upper_95
from tests.benchmarks.over_prompts import Rendered
from tests.benchmarks.rehearse import loaded_job
from tests.benchmarks.spoken import PROMPTS
from tests.benchmarks.workshop_sound import made_noises
from tests.runtime.test_hearing_itself import prompts_of_a_job

NAME = "deaf"
WHAT = "how soon the ears may open behind a prompt: answers, stops, noises taken of its own ring"
DEAF_S = (0.0, 0.1, 0.15, 0.2, 0.3, 0.5)
NEVER_S = 6.0
RINGS_S = (0.6, 1.0, 1.5)
"""Times in which the bay's ring falls by 60 dB."""
RING_DB = 6.0
"""The ring's power beside the direct sound's: a loudspeaker some steps from the microphone."""
ECHOES_DB = (-50.0, -35.0, -20.0, -10.0, 0.0)
"""What arrives less what is played: a headset's -50, and far more than any."""
LATER_S = (0.0, 0.15)
"""So much later than the sound card says it arrives."""
NOISES_DBFS = (-60.0, -45.0)
_LISTENS_S = 2.0
_COUNTED = ("answers", "stops", "refused")


@dataclass(frozen=True)
class Trial:
    """Some prompts in one bay, at one deaf time."""

    number: int
    deaf_s: float
    ring_s: float
    echo_db: float
    later_s: float
    noise_dbfs: float
    prompts: int
    tones: bool
    ears: str


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--prompts", type=int, default=6, help="in each bay")
    parser.add_argument("--no-tones", action="store_true", help="no tone before listening")
    parser.add_argument("--ears", default=assembly.DEFAULT_RECOGNISER, help="own or sphinx")
    parser.add_argument("--deaf", type=float, nargs="+", default=DEAF_S, help="seconds to try")


@lru_cache(maxsize=1)
def _ears(kind: str) -> tuple[Recogniser, Language]:
    """The recogniser, and the language without the words that it does not know."""
    language = assembly.language()
    recogniser = assembly.make_recogniser(assembly.EarsChoice(kind), language)
    return recogniser, assembly.check_words(recogniser, loaded_job(), language).language


def _run(trial: Trial) -> Counter[str]:
    recogniser, language = _ears(trial.ears)
    rendered = Rendered(PROMPTS, language)
    every = prompts_of_a_job(10_000)
    random = np.random.default_rng(trial.number)
    room = EchoingRoom(
        trial.echo_db, trial.later_s, trial.ring_s, RING_DB, seed=int(random.integers(1000))
    )
    counts: Counter[str] = Counter()
    for place in random.choice(len(every), trial.prompts, replace=False):
        text, expectation = every[int(place)]
        played, opens = played_until_open(rendered.sound(Say(text, "ask", 100, 0.8)), trial)
        heard = room.heard(played.astype(np.float32))
        heard = np.concatenate([heard, np.zeros(round((NEVER_S + 9.0) * SAMPLE_RATE_HZ))])
        sound = heard[opens:][: round((_LISTENS_S + 4.0) * SAMPLE_RATE_HZ)]
        models = made_noises(trial.number % 3 + 500, each=1)
        noise = models[int(random.integers(len(models)))].samples()
        start = int(random.integers(len(noise)))
        bed = noise[(start + np.arange(len(sound))) % len(noise)]
        sound = sound + bed / np.sqrt(np.mean(bed**2)) * 10 ** (trial.noise_dbfs / 20)
        ears = StreamEars(
            MemorySource(as_sound(sound)), recogniser, assembly.endpoint_settings(trial.ears)
        )
        grammar = language.for_step(expectation)
        found = ears.hear(Listening("p", grammar, _LISTENS_S))
        counts["prompts"] += 1
        if not isinstance(found, Refusal):
            counts["stops" if is_stop(grammar.parse(found.how.words)) else "answers"] += 1
        elif found.reason != "silence":
            counts["refused"] += 1
    return counts


def played_until_open(prompt: np.ndarray, trial: Trial) -> tuple[np.ndarray, int]:
    """All that is played before the ears open, and at which sample they do."""
    settings = Settings(
        deaf_after_speaking_s=min(trial.deaf_s, 3.0),
        earcons=trial.tones,
        voice="speaker",
        ears="own",
    )
    ears_deaf_s = microphone_deaf_s(settings)
    pause = np.zeros(round((settings.deaf_after_speaking_s - ears_deaf_s) * SAMPLE_RATE_HZ))
    tone = earcon("listening", SAMPLE_RATE_HZ, Loudness().gain(None)) if trial.tones else pause[:0]
    played = np.concatenate([prompt, pause, tone])
    more_s = max(0.0, trial.deaf_s - 3.0)
    return played, len(played) + round((ears_deaf_s + more_s) * SAMPLE_RATE_HZ)


def run(options: argparse.Namespace) -> Results:
    """Every bay at every deaf time: the same prompts and noise at each."""
    bays = [
        (ring_s, echo_db, later_s, noise_dbfs)
        for ring_s in RINGS_S
        for echo_db in ECHOES_DB
        for later_s in LATER_S
        for noise_dbfs in NOISES_DBFS
    ]
    trials = [
        Trial(
            options.seed + number,
            deaf_s,
            *bay,
            prompts=options.prompts,
            tones=not options.no_tones,
            ears=options.ears,
        )
        for number, bay in enumerate(bays)
        for deaf_s in (*options.deaf, NEVER_S)
    ]
    found = list(zip(trials, on_all_cores(_run, trials, at_a_time=1), strict=True))
    return {
        "benchmark": NAME,
        "ears": options.ears,
        "tones": not options.no_tones,
        "by_deaf_s": {
            "never" if deaf_s == NEVER_S else str(deaf_s): _told(
                sum((c for t, c in found if t.deaf_s == deaf_s), Counter())
            )
            for deaf_s in (*options.deaf, NEVER_S)
        },
        "taken": [
            {**_bay(trial), **{name: counts[name] for name in _COUNTED}}
            for trial, counts in found
            if any(counts[name] for name in _COUNTED)
        ],
        "errors": [],
    }


def _bay(trial: Trial) -> Mapping[str, float]:
    return {
        "deaf_s": trial.deaf_s,
        "ring_s": trial.ring_s,
        "echo_db": trial.echo_db,
        "later_s": trial.later_s,
        "noise_dbfs": trial.noise_dbfs,
    }


def _told(counts: Counter[str]) -> Results:
    taken = sum(counts[name] for name in _COUNTED)
    return {
        "prompts": counts["prompts"],
        **{name: counts[name] for name in _COUNTED},
        "upper95": rounded(upper_95(taken, counts["prompts"])),
    }

"""How fast the companion may speak: what others make of its voice at several paces, in noise.

Sentences of rehearsed jobs are rendered by the companion's own voice at each pace, laid under a
workshop's noise, and heard by recognisers: PocketSphinx and Whisper tiny.en, whose models are of
people and never met this voice, and our own ears (English ones were trained on variants of the
voice, Spanish ones never on the voice as it is). Counted are words: those that are wrong, left out
or put in, of those said. What was said back is also heard as a row of figures and directions alone.
The same noise lies under a sentence at every pace. `--half`: paces are chosen on some sentences and
some noise and told of others.
"""

from __future__ import annotations

import argparse
import random
import re
import tempfile
import zlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import pocketsphinx

from companion.errors import EarsError
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.job.loader import JobPaths
from companion.language.loader import pronunciations
from companion.recognition.port import SAMPLE_RATE_HZ, Recogniser
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.into_prompts import as_heard
from companion.runtime.rehearsing import HARDER, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.cache import PromptCache
from companion.speech.makers import EspeakMaker, MakerChain
from companion.speech.player import read_prompt
from companion.speech.silent import SilentVoice
from companion.speech.tapped import Playing
from tests.benchmarks.bay_sound import Samples, as_sound, mixed, stretch_of
from tests.benchmarks.common import Results, on_all_cores, rounded
from tests.benchmarks.ears_strings import NumberLoop, word_errors
from tests.benchmarks.workshop_sound import made_noises
from tests.ears_candidates.whisper_list import WhisperRecogniser

NAME = "pace"
WHAT = "how well the companion's own voice is understood at several paces, in workshop noise"
PACES_WPM = (140, 160, 176, 190, 210)
USUAL_WPM = 160
LEVELS_DB: dict[str, float | None] = {"clean": None, "10": 10.0, "5": 5.0, "0": 0.0, "-5": -5.0}
LISTENERS = ("own row", "sphinx row", "sphinx", "whisper")
"""A "row": one that knows only the words of what is said back."""
USUAL = ("own row", "sphinx row", "whisper")
"""PocketSphinx takes several seconds of processor for each sentence of all words."""
KINDS = ("figures", "choices", "with the next", "questions", "instructions")
"""What is said back alone, of numbers and of choices, or with the next question; and the rest."""
ROWS = ("figures", "choices")
ROUTES = ("echo_levels", "tool_turns")
FOLDER = Path(tempfile.gettempdir()) / "companion-pace"
_LONGEST_ROW = 14
_LEAD_S, _TAIL_S = 0.3, 0.45
_DRAWN = 1000
_NOISE_SEEDS = 4
_NOISES_OF_HALF = {"choosing": 400, "quoting": 300}


@dataclass(frozen=True)
class Sentence:
    """What the companion says, and what for: one of `KINDS`."""

    language: str
    kind: str
    text: str

    @property
    def words(self) -> tuple[str, ...]:
        """As they are heard, without marks."""
        return tuple(re.findall(r"[^\W\d_']+", self.text.lower()))


@dataclass(frozen=True)
class Trial:
    """One sentence at one level of noise, at every pace. `number` draws the noise."""

    sentence: Sentence
    level: str
    number: int
    half: str
    rows: tuple[str, ...]
    prompts: tuple[str, ...]
    listeners: tuple[str, ...]
    folder: str


@dataclass(frozen=True)
class Heard:
    """What one listener made of one sentence at one pace."""

    listener: str
    sentence: Sentence
    level: str
    wpm: int
    errors: int
    words: int


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--sentences", type=int, default=12, help="of each kind and language")
    parser.add_argument("--listeners", nargs="+", choices=LISTENERS, default=USUAL)
    parser.add_argument("--half", choices=("choosing", "quoting"), default="quoting")
    parser.add_argument("--folder", type=Path, default=FOLDER, help="where rendered speech is kept")


class _Facts:
    def __init__(self) -> None:
        self.said: list[Said] = []

    def fact(self, fact: Fact) -> None:
        if isinstance(fact, Said) and fact.text:
            self.said.append(fact)


def sentences(language: str, seeds: Iterable[int]) -> Iterator[Sentence]:
    """What rehearsed jobs say, each once, by what it is for."""
    said = assembly.language(language)
    loaded = assembly.load(JobPaths(), said)
    found: dict[str, str] = {}
    for seed in seeds:
        for route in ROUTES:
            facts = _Facts()
            rehearsal = make_rehearsal(
                loaded,
                seed,
                spread=HARDER,
                scenario=Scenario(answers={"aim_route": route}),
                language=said,
            )
            run_rehearsal(loaded, said, rehearsal, SilentVoice(), MemoryLog(), watcher=facts)
            for fact in facts.said:
                if kind := _kind(fact):
                    found.setdefault(fact.text, kind)
    return (Sentence(language, kind, text) for text, kind in found.items())


def _kind(said: Said) -> str:
    if said.prompt is None or said.prompt.again:
        return ""
    if said.prompt.behind is not None:
        return "with the next"
    if said.prompt.to_confirm:
        return "choices" if said.prompt.to_confirm[0].choice is not None else "figures"
    return {"ask": "questions", "instruct": "instructions"}.get(said.purpose, "")


def is_in_half(text: str, half: str) -> bool:
    """Half of all sentences are chosen on, the others told of."""
    return (zlib.crc32(text.encode()) % 2 == 1) == (half == "choosing")


def trials(options: argparse.Namespace) -> list[Trial]:
    """Every sentence that is heard, at every level."""
    made: list[Trial] = []
    for language in ("en", "es"):
        every = [s for s in sentences(language, (1, 2)) if len(s.words) <= _LONGEST_ROW]
        rows = {word for s in every if s.kind in ROWS for word in s.words}
        prompts = {word for s in every for word in s.words}
        drawn = random.Random(f"{options.seed} {language}")
        for kind in KINDS:
            of_kind = [s for s in every if s.kind == kind and is_in_half(s.text, options.half)]
            for sentence in drawn.sample(of_kind, min(options.sentences, len(of_kind))):
                number = zlib.crc32(f"{options.seed} {sentence.text}".encode())
                made += [
                    Trial(
                        sentence,
                        level,
                        number,
                        options.half,
                        tuple(sorted(rows)),
                        tuple(sorted(prompts)),
                        tuple(options.listeners),
                        str(options.folder),
                    )
                    for level in LEVELS_DB
                ]
    return made


def run_trial(trial: Trial) -> list[Heard]:
    """What every listener makes of the sentence at every pace, under the same noise."""
    heard: list[Heard] = []
    for wpm in PACES_WPM:
        sound = as_sound(_in_noise(_rendered(trial, wpm), trial))
        for name in trial.listeners:
            if name.endswith("row") and trial.sentence.kind not in ROWS:
                continue
            listen = _listener(name, trial)
            if listen is None:
                continue
            words = listen(sound).split()
            said = trial.sentence.words
            errors = word_errors(said, words)
            heard.append(Heard(name, trial.sentence, trial.level, wpm, errors, len(said)))
    return heard


def _rendered(trial: Trial, wpm: int) -> Samples:
    voice = assembly.language(trial.sentence.language).vocabulary.voice.espeak_ng
    cache = PromptCache(Path(trial.folder), MakerChain([EspeakMaker(voice=voice)]))
    samples, rate_hz = read_prompt(cache.prompt(trial.sentence.text, wpm).path, 1.0)
    return as_heard(Playing(samples, rate_hz)).astype(np.float64)


def _in_noise(speech: Samples, trial: Trial) -> Samples:
    generator = np.random.default_rng([trial.number, 7])
    seed = trial.number % _NOISE_SEEDS + _NOISES_OF_HALF[trial.half]
    models = made_noises(seed, each=1)
    noise = models[int(generator.integers(len(models)))].samples()
    count = len(speech) + round((_LEAD_S + _TAIL_S) * SAMPLE_RATE_HZ)
    stretch = stretch_of(noise, count, generator)
    return mixed(speech, stretch, LEVELS_DB[trial.level], generator, _LEAD_S, _TAIL_S)


Listen = Callable[[bytes], str]


def _listener(name: str, trial: Trial) -> Listen | None:
    """None where there is none: other than our own ears they know English alone."""
    language = trial.sentence.language
    if name == "own row":
        return _own(language, trial.rows)
    if language != "en":
        return None
    if name == "whisper":
        return _whisper()
    return _sphinx(trial.rows if name == "sphinx row" else trial.prompts)


@lru_cache(maxsize=1)
def _whisper() -> Listen | None:
    try:
        return WhisperRecogniser().written
    except EarsError:  # The extra `candidates` is not installed: the others listen alone.
        return None


@lru_cache(maxsize=2)
def _own(language: str, words: tuple[str, ...]) -> Listen:
    recogniser: Recogniser = assembly.make_recogniser(
        assembly.EarsChoice("own"), assembly.language(language)
    )
    known = frozenset(words) - recogniser.missing_words(frozenset(words))
    recogniser.load(NumberLoop(known, _LONGEST_ROW))
    return lambda sound: recogniser.recognise(sound).words


@lru_cache(maxsize=2)
def _sphinx(words: tuple[str, ...]) -> Listen:
    """PocketSphinx as it comes, with any row of these words."""
    decoder = pocketsphinx.Decoder(lm=None, loglevel="FATAL", cmn="batch")
    for word, phones in pronunciations("en").items():
        if decoder.lookup_word(word) is None:
            decoder.add_word(word, phones, True)
    known = " | ".join(word for word in words if decoder.lookup_word(word) is not None)
    decoder.add_jsgf_string("row", f"#JSGF V1.0;\ngrammar row;\npublic <row> = ({known})+;\n")
    decoder.activate_search("row")

    def listen(sound: bytes) -> str:
        decoder.reinit_feat()
        decoder.start_utt()
        decoder.process_raw(sound, False, True)
        decoder.end_utt()
        best = decoder.hyp()
        return best.hypstr if best is not None else ""

    return listen


def run(options: argparse.Namespace) -> Results:
    """All sentences at all paces and levels."""
    heard = [h for each in on_all_cores(run_trial, trials(options), at_a_time=1) for h in each]
    listeners = sorted({(h.sentence.language, h.listener) for h in heard})
    return {
        "benchmark": NAME,
        "half": options.half,
        "sentences": len({h.sentence for h in heard}),
        "heard": {
            f"{language} {listener}": _told(
                [h for h in heard if (h.sentence.language, h.listener) == (language, listener)]
            )
            for language, listener in listeners
        },
        "errors": [],
    }


def _told(heard: Sequence[Heard]) -> Results:
    kinds = [kind for kind in KINDS if any(h.sentence.kind == kind for h in heard)]
    return {
        "all": _paces(heard),
        **{kind: _paces([h for h in heard if h.sentence.kind == kind]) for kind in kinds},
        **{f"at {level}": _paces([h for h in heard if h.level == level]) for level in LEVELS_DB},
    }


def _paces(heard: Sequence[Heard]) -> Results:
    """The word error rate at each pace, and how much more it is than at the usual one.

    With the middle 95 % of that difference, sentences drawn anew a thousand times (bootstrap).
    """
    told: Results = {}
    for wpm in PACES_WPM:
        more, low, high = _more_than_usual(heard, wpm)
        told[str(wpm)] = {
            "word_error_rate": rounded(_rate([h for h in heard if h.wpm == wpm]), 3),
            "more": [rounded(value, 2) for value in (more, low, high)],
        }
    return told


def _rate(heard: Sequence[Heard]) -> float:
    return sum(h.errors for h in heard) / max(1, sum(h.words for h in heard))


def _more_than_usual(heard: Sequence[Heard], wpm: int) -> tuple[float, float, float]:
    by_sentence: defaultdict[Sentence, list[int]] = defaultdict(lambda: [0, 0])
    for h in heard:
        if h.wpm == wpm:
            by_sentence[h.sentence][0] += h.errors
            by_sentence[h.sentence][1] += h.words
        if h.wpm == USUAL_WPM:
            by_sentence[h.sentence][0] -= h.errors
    pairs = np.array(list(by_sentence.values()), dtype=float)
    drawn = np.random.default_rng(1).integers(len(pairs), size=(_DRAWN, len(pairs)))
    sums = pairs[drawn].sum(axis=1)
    low, high = np.percentile(sums[:, 0] / sums[:, 1], (2.5, 97.5))
    return float(pairs[:, 0].sum() / pairs[:, 1].sum()), float(low), float(high)

"""How well the ears hear in a loud bay: human speech and real noise, at five levels.

A level is the active speech level by ITU-T P.56 (method B) over the noise's RMS. Each sound is
heard twice: cut out as the endpointer would ("recogniser"), and, for the words of the first three
kinds, as a stream through the endpointer as it is set out of the box ("whole chain").
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import beta

from companion import parts
from companion.ears.endpoint import EndpointSettings
from companion.ears.listening import StreamEars
from companion.ears.port import SAMPLE_RATE_HZ, Listening, Recogniser, Refusal, SoundEnded
from companion.ears.source import MemorySource
from companion.errors import EarsError
from companion.words.meanings import Command
from tests.benchmarks.bay_sound import ROOM_DBFS, as_sound
from tests.benchmarks.common import Results, percentile, rounded
from tests.benchmarks.ears_trials import LEVELS, Trial, TrialMaker, missing_speech, prompts
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, Noise, read_clips, read_noises

NAME = "ears"
WHAT = "how well speech is heard in noise, how often refused, and how often wrong"

OUT_OF_GRAMMAR = ("other", "noise")
IN_CHAIN = ("digits", "yes_no", "commands")
_QUICK_MOST = 6
_BYTES_PER_S = 2 * SAMPLE_RATE_HZ

_MEMORY = """
import resource, sys
from companion import parts
from companion.dialogue.asking import PAUSED
recogniser = parts.make_recogniser(parts.EarsChoice(sys.argv[1]))
recogniser.load(parts.grammar().for_step(PAUSED))
recogniser.recognise(bytes(96000))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--speech", type=Path, default=DEFAULT_FOLDER, help="speech.tsv's folder")
    parser.add_argument(
        "--ears", action="append", choices=parts.RECOGNISERS, help="default: all that need no model"
    )
    parser.add_argument("--quick", action="store_true", help=f"{_QUICK_MOST} trials a cell")
    parser.add_argument("--most", type=int, default=0, help="trials a cell at most; 0: all")
    parser.add_argument("--half", choices=("scoring", "tuning"), default="scoring")


def run(options: argparse.Namespace) -> Results:
    """Hear everything with each recogniser."""
    common: Results = {"benchmark": NAME, "default": parts.default_recogniser()}
    if reason := missing_speech(options.speech):
        return {**common, "skipped": reason, "recognisers": {}}
    most = _QUICK_MOST if options.quick else options.most
    clips, noises = read_clips(options.speech), read_noises(options.speech)
    maker = TrialMaker(clips, noises, options.half, options.seed, most)
    told: Results = {}
    for name in options.ears or [n for n in parts.RECOGNISERS if n != "vosk"]:
        try:
            recogniser = parts.make_recogniser(parts.EarsChoice(name))
        except EarsError as error:
            told[name] = {"skipped": str(error)}
            continue
        stream = [n for n in noises if n.half == options.half]
        told[name] = scored(name, recogniser, maker, stream[: most or None])
    return {
        **common,
        "half": options.half,
        "speakers": len({clip.speaker for clip in clips if clip.half == options.half}),
        "level": "active speech level by ITU-T P.56 method B over the noise's RMS",
        "wrong_upper95": "one-sided 95 % bound, exact (Clopper-Pearson)",
        "recognisers": told,
    }


@dataclass
class Cell:
    """The trials of one kind of step at one level."""

    counts: Counter[str] = field(default_factory=Counter)

    def add(self, outcome: str) -> None:
        self.counts[outcome] += 1

    def told(self) -> Results:
        """Right, refused and wrong as counts, with the bound on the share of wrong ones."""
        n = self.counts.total()
        wrong = self.counts["wrong"]
        return {
            "right": self.counts["right"],
            "refused": self.counts["refused"],
            "wrong": wrong,
            "n": n,
            "wrong_upper95": rounded(upper_95(wrong, n)),
        }


def upper_95(wrong: int, n: int) -> float | None:
    """The share that `wrong` of `n` makes unlikely (5 %) to be exceeded, exact."""
    if n == 0:
        return None
    return 1.0 if wrong == n else float(beta.ppf(0.95, wrong + 1, n - wrong))


def scored(name: str, recogniser: Recogniser, maker: TrialMaker, stream: list[Noise]) -> Results:
    """All figures of one recogniser."""
    settings = parts.endpoint_settings(name)
    cells: dict[str, dict[str, Cell]] = {level: defaultdict(Cell) for level in LEVELS}
    chain: dict[str, dict[str, Cell]] = {level: defaultdict(Cell) for level in LEVELS}
    stops: dict[str, Cell] = {level: Cell() for level in LEVELS}
    spent_s: list[float] = []
    sound_s = 0.0
    reasons: Counter[str] = Counter()
    for level in LEVELS:
        for trial in maker.trials(level):
            recogniser.load(trial.grammar)
            began_s = time.perf_counter()
            recognition = recogniser.recognise(trial.sound)
            spent_s.append(time.perf_counter() - began_s)
            sound_s += len(trial.sound) / _BYTES_PER_S
            sure = recognition.confidence >= recogniser.least_confidence
            cells[level][trial.kind].add(outcome(trial, recognition.words, sure))
            if trial.kind == "commands":
                heard = outcome(trial, recognition.words, sure=True)
                stops[level].add("right" if heard == "right" else "refused")
            if trial.kind in IN_CHAIN:
                result, reason = through_chain(recogniser, settings, trial)
                chain[level][trial.kind].add(result)
                reasons[reason] += bool(reason)
    pause_ms = 1e3 * settings.end_pause_s
    return {
        "levels": _told(cells),
        "whole_chain": {"levels": _told(chain), "reasons_of_refusal": dict(reasons)},
        "oov_accepted": share(_all(cells, OUT_OF_GRAMMAR), "wrong"),
        "stop_heard": {level: share([cell], "right") for level, cell in stops.items()},
        **false_stops(recogniser, settings, stream),
        "decision_ms_median": rounded(pause_ms + 1e3 * (percentile(spent_s, 50) or 0.0)),
        "decision_ms_p95": rounded(pause_ms + 1e3 * (percentile(spent_s, 95) or 0.0)),
        "of_which_pause_ms": pause_ms,
        "rtf": rounded(sum(spent_s) / sound_s),
        "rss_mb": rounded(memory_mb(name)),
    }


def outcome(trial: Trial, words: str, sure: bool) -> str:
    """What came of one trial: the strict parser has the last word, as in a job."""
    meaning = trial.grammar.parse(words) if sure and words else None
    if meaning is None:
        return "refused"
    return "right" if meaning == trial.meaning else "wrong"


def through_chain(
    recogniser: Recogniser, settings: EndpointSettings, trial: Trial
) -> tuple[str, str]:
    """The same words in a longer stretch of the same noise, found by the endpointer itself."""
    ears = StreamEars(MemorySource(trial.stream), recogniser, settings)
    try:
        heard = ears.hear(Listening("bench", trial.grammar, 10.0))
    except SoundEnded:
        return "refused", "silence"
    if isinstance(heard, Refusal):
        return "refused", heard.reason
    return outcome(trial, heard.words, sure=True), ""


def false_stops(recogniser: Recogniser, settings: EndpointSettings, stream: list[Noise]) -> Results:
    """How often real noise, as it was recorded, stops the job: heard by ears that never pause."""
    grammar = prompts()["digit"]
    generator = np.random.default_rng(1)
    stops, seconds = 0, 0.0
    for noise in stream:
        samples = noise.samples()
        quiet = 10.0 ** (ROOM_DBFS / 20.0) * generator.normal(size=len(samples))
        seconds += len(samples) / SAMPLE_RATE_HZ
        ears = StreamEars(MemorySource(as_sound(samples + quiet)), recogniser, settings)
        while True:
            try:
                heard = ears.hear(Listening("bench", grammar, 10.0))
            except SoundEnded:
                break
            meaning = grammar.parse(heard.words) if heard.words else None
            stops += isinstance(meaning, Command) and meaning.name == "stop"
    return {
        "false_stops_per_hour": rounded(3600.0 * stops / seconds) if seconds else None,
        "false_stops": stops,
        "noise_minutes": rounded(seconds / 60.0),
    }


def memory_mb(name: str) -> float | None:
    """Peak memory of a process of its own that only hears."""
    done = subprocess.run(
        [sys.executable, "-c", _MEMORY, name], capture_output=True, text=True, check=False
    )
    return float(done.stdout) if done.returncode == 0 else None


def share(cells: Iterable[Cell], outcome: str) -> float | None:
    """The share of one outcome over all trials of the cells."""
    total: Counter[str] = Counter()
    for cell in cells:
        total.update(cell.counts)
    return rounded(total[outcome] / total.total()) if total.total() else None


def _all(cells: dict[str, dict[str, Cell]], kinds: Iterable[str]) -> list[Cell]:
    return [by_kind[kind] for by_kind in cells.values() for kind in kinds if kind in by_kind]


def _told(cells: dict[str, dict[str, Cell]]) -> dict[str, Any]:
    return {
        level: {kind: cell.told() for kind, cell in by_kind.items()}
        for level, by_kind in cells.items()
    }

"""Whole jobs from sound: a synthetic voice answers, a real recogniser hears, truth is compared.

The companion's own voice is silent; everything else is what runs in a bay. A reading is "right
first" when its first hearing was right, and so on; told that he is not heard well, the technician
types.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from companion import parts
from companion.ears.port import Recognition, SoundEnded, StepGrammarLike
from companion.errors import CompanionError
from companion.record import MemoryLog
from companion.rehearsal.rehearsal import Rehearsal
from companion.rehearsal.scenario import Scenario
from companion.rehearsal.speakers import VOICES, SyntheticSpeaker
from companion.rehearse import make_rehearsal, run_rehearsal
from companion.voice.silent import SilentVoice
from companion.words.grammar import StepGrammar
from tests.benchmarks.common import Results, on_all_cores, rounded
from tests.benchmarks.rehearse import loaded_job

NAME = "spoken"
WHAT = "whole jobs from sound: how readings are heard, and whether a wrong one is ever taken"

TYPED = "typed"
ATTEMPTS = ("right_first", "right_second", "right_third")
OF_JOBS = ("finished", "said_inside", "truly_inside", "false_inside", "gave_up")
OF_READINGS = ("readings", *ATTEMPTS, "right_later", TYPED, "never_right", "wrong_accepted")
OF_HEARINGS = ("heard", "wrong_heard", "refused", "typed_answers", "wrong_choices_accepted")
COUNTS = (*OF_JOBS, *OF_READINGS, *OF_HEARINGS)


@dataclass(frozen=True)
class Job:
    """One job: who speaks, and the seed of everything else."""

    speaker: str
    seed: int
    ears: str


@dataclass(frozen=True)
class Outcome:
    """What came of one job; `counts` as they are printed."""

    job: Job
    counts: Mapping[str, int]
    seconds: float
    error: str = ""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--speakers", default=",".join(VOICES), help="voices, with commas between")
    parser.add_argument("--seeds", type=int, default=5, help="jobs of each speaker")
    parser.add_argument("--ears", default=parts.default_recogniser(), help="own or sphinx")


class Overheard:
    """The recogniser of the job, remembering which grammar it last listened for."""

    def __init__(self, ears: str) -> None:
        self._inner = parts.make_recogniser(parts.EarsChoice(ears))
        self.name = self._inner.name
        self.least_confidence = self._inner.least_confidence
        self.least_resemblance = self._inner.least_resemblance
        self.grammar: StepGrammar | None = None

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        return self._inner.missing_words(words)

    def load(self, grammar: StepGrammarLike) -> None:
        assert isinstance(grammar, StepGrammar)
        self.grammar = grammar
        self._inner.load(grammar)

    def recognise(self, sound: bytes) -> Recognition:
        return self._inner.recognise(sound)

    def means_the_same(self, heard: str, said: str | None) -> bool:
        """Whether both mean the same under that grammar; silence means nothing."""
        if said is None or self.grammar is None:
            return False
        return self.grammar.parse(heard) == self.grammar.parse(said)


@dataclass
class Hearings:
    """A watcher that compares every hearing, and all that is taken, with what was meant."""

    rehearsal: Rehearsal
    recogniser: Overheard
    counts: Counter[str] = field(default_factory=Counter)
    _purpose: str = ""
    _attempts: int = 0
    _right_at: str = ""

    def fact(self, kind: str, body: Mapping[str, Any]) -> None:
        match kind:
            case "said":
                self._purpose = body["purpose"]
            case "heard":
                self._heard(body)
            case "refused":
                self.counts["refused"] += 1
                self._attempt(right="")
            case "accepted":
                self._accepted(Decimal(body["value"]))
            case "answered":
                wrong = body["choice"] != self.rehearsal.choice_meant
                self.counts["wrong_choices_accepted"] += wrong
            case _:
                pass

    def _heard(self, body: Mapping[str, Any]) -> None:
        if str(body["ears"]).startswith(TYPED):
            self.counts["typed_answers"] += 1
            self._attempt(right=TYPED)
            return
        self.counts["heard"] += 1
        right = self.recogniser.means_the_same(body["words"], self.rehearsal.answer_text())
        self.counts["wrong_heard"] += not right
        self._attempt(right="yes" if right else "")

    def _attempt(self, right: str) -> None:
        """Count a hearing of the reading itself; yes and no to its read-back are not counted."""
        if self._purpose != "ask" or self._right_at or self.rehearsal.reading_meant is None:
            return
        self._attempts += 1
        if right == TYPED:
            self._right_at = TYPED
        elif right:
            place = min(self._attempts, len(ATTEMPTS) + 1)
            self._right_at = (*ATTEMPTS, "right_later")[place - 1]

    def _accepted(self, value: Decimal) -> None:
        self.counts["readings"] += 1
        self.counts["wrong_accepted"] += value != self.rehearsal.reading_meant
        self.counts[self._right_at or "never_right"] += 1
        self._attempts, self._right_at = 0, ""


def run_job(job: Job) -> Outcome:
    """One whole job from sound; what goes wrong in the program is told, not raised."""
    speaker = SyntheticSpeaker(job.speaker, job.seed)  # type: ignore[arg-type]
    rehearsal = make_rehearsal(
        loaded_job(), job.seed, scenario=Scenario(consent="words_only"), speaker=speaker
    )
    recogniser = Overheard(job.ears)
    hearings = Hearings(rehearsal, recogniser)
    began_s = time.perf_counter()
    error = ""
    try:
        rehearsed = run_rehearsal(
            loaded_job(),
            parts.grammar(),
            rehearsal,
            SilentVoice(),
            MemoryLog(),
            recogniser=recogniser,
            watcher=hearings,
        )
        score = rehearsed.score
        hearings.counts["finished"] += score.finished
        hearings.counts["said_inside"] += score.companion_said == "inside"
        hearings.counts["truly_inside"] += score.truly_inside
        hearings.counts["false_inside"] += score.false_inside
    except SoundEnded:
        hearings.counts["gave_up"] += 1
    except (CompanionError, ArithmeticError, LookupError, TypeError, ValueError) as caught:
        error = f"{job.speaker} {job.seed}: {type(caught).__name__}: {caught}"
    return Outcome(job, hearings.counts, time.perf_counter() - began_s, error)


def run(options: argparse.Namespace) -> Results:
    """All jobs of all speakers."""
    speakers = options.speakers.split(",")
    unknown = set(speakers) - set(VOICES)
    if unknown:
        raise SystemExit(f"speakers {sorted(unknown)}: unknown; wanted some of {list(VOICES)}")
    jobs = [Job(s, options.seed + n, options.ears) for n in range(options.seeds) for s in speakers]
    began_s = time.perf_counter()
    outcomes = list(on_all_cores(run_job, jobs))
    wall_s = time.perf_counter() - began_s
    return {
        "benchmark": NAME,
        "ears": options.ears,
        **summed_up(outcomes),
        "per_speaker": {
            s: summed_up([o for o in outcomes if o.job.speaker == s]) for s in speakers
        },
        "wall_s": rounded(wall_s),
        "errors": [o.error for o in outcomes if o.error][:10],
    }


def summed_up(outcomes: Sequence[Outcome]) -> Results:
    """The sums over some jobs."""
    counts: Counter[str] = Counter()
    for outcome in outcomes:
        counts.update(outcome.counts)
    return {
        "jobs": len(outcomes),
        **{name: counts[name] for name in COUNTS},
        "seconds_per_job": rounded(sum(o.seconds for o in outcomes) / max(1, len(outcomes))),
    }

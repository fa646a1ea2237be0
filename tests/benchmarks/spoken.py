"""Whole jobs from sound: a synthetic voice answers, a real recogniser hears, truth is compared.

The companion's own voice is silent; everything else is what runs in a bay. A reading is "right
first" when its first hearing was right, and so on; told that he is not heard well, the technician
types. In noise (`--levels 20,10,5,0`; the speech's active level over the noise's RMS, in dB) the
recordings are those that took no part in training. `--readings-alone` leaves out everything of the
job but its readings (no verdict, then), which gives many of them sooner.

`wrong_accepted` counts readings that passed read-back and yes and were not what was meant; its
bound is exact, over what was taken by voice.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from decimal import Decimal
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

from companion.errors import CompanionError
from companion.facts.answers import Accepted, Answered
from companion.facts.kinds import Fact
from companion.facts.meanings import Command, Confirmed
from companion.facts.talking import Heard, Refused, Said
from companion.language.grammar import StepGrammar
from companion.recognition.port import Recognition, SoundEnded, SoundSource, StepGrammarLike
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.over_prompts import TechnicianInAir
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.sources import TechnicianSource
from companion.simulation.speakers import VOICES, SyntheticSpeaker
from companion.speech.silent import SilentVoice
from tests.benchmarks.bay_sound import Samples
from tests.benchmarks.common import Results, on_all_cores, rounded
from tests.benchmarks.ears_jobs import what_decides
from tests.benchmarks.ears_tally import upper_95
from tests.benchmarks.ears_trials import LEVELS, NOT_MIXED, missing_speech
from tests.benchmarks.noisy_speaker import NoisySpeaker
from tests.benchmarks.over_prompts import HEADSET_DB, Rendered, in_air, known_after_a_job
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, read_noises
from tests.benchmarks.spoken_job import spoken_job

NAME = "spoken"
WHAT = "whole jobs from sound: how readings are heard, and whether a wrong one is ever taken"

_LISTED = 40
PROMPTS = Path(tempfile.gettempdir()) / "companion-prompts"

SCENARIO = Scenario(carries_on_at_most=50)
"""In noise "done" is at times taken for "stop"; he carries on."""
TYPED = "typed"
ATTEMPTS = ("right_first", "right_second", "right_third")
OF_JOBS = ("finished", "said_inside", "truly_inside", "false_inside", "gave_up")
OF_READINGS = ("readings", *ATTEMPTS, "right_later", TYPED, "never_right", "wrong_accepted")
OF_HEARINGS = (
    "heard",
    "into_prompts",
    "wrong_heard",
    "stop_misheard",
    "refused",
    "refused_into_prompts",
    "typed_answers",
    "wrong_choices_accepted",
)
COUNTS = (*OF_JOBS, *OF_READINGS, *OF_HEARINGS)


@dataclass(frozen=True)
class Job:
    """One job: who speaks in what noise (a level of the ears' benchmark, "" for none at all)."""

    speaker: str
    seed: int
    ears: str
    level: str = ""
    speech: str = ""
    keep: str = ""
    readings_alone: bool = False
    into_prompts: bool = False
    echo_db: float = HEADSET_DB


@dataclass(frozen=True)
class Outcome:
    """What came of one job; `counts` as they are printed, `misheard` said and heard words."""

    job: Job
    counts: Mapping[str, int]
    seconds: float
    error: str = ""
    misheard: tuple[str, ...] = ()


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--speakers", default=",".join(VOICES), help="voices, with commas between")
    parser.add_argument("--seeds", type=int, default=5, help="jobs of each speaker")
    parser.add_argument("--ears", default=assembly.DEFAULT_RECOGNISER, help="own or sphinx")
    parser.add_argument("--levels", default="", help=f"noise, some of {','.join(LEVELS)}")
    parser.add_argument("--speech", type=Path, default=DEFAULT_FOLDER, help="noise.tsv's folder")
    parser.add_argument(
        "--readings-alone", action="store_true", help="a job of readings and nothing else"
    )
    parser.add_argument(
        "--answers-into-prompts",
        action="store_true",
        help="prompts sound at the same time; those known from an earlier job are answered early",
    )
    parser.add_argument(
        "--echo-db",
        type=float,
        default=HEADSET_DB,
        help="how the loudspeaker arrives at the microphone, less what is played",
    )
    parser.add_argument("--workers", type=int, default=0, help="processes; 0: one a core")
    parser.add_argument("--keep", type=Path, help="folder of what came of jobs, to go on from")


class Overheard:
    """The recogniser of the job, remembering which grammar it last listened for.

    Whatever else the recogniser can do it still can.
    """

    def __init__(self, ears: str) -> None:
        self._inner = assembly.make_recogniser(assembly.EarsChoice(ears), assembly.language())
        self.name = self._inner.name
        self.least_confidence = self._inner.least_confidence
        self.least_resemblance = self._inner.least_resemblance
        self.grammar: StepGrammar | None = None

    def __getattr__(self, name: str) -> Any:
        return getattr(self._inner, name)

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
    misheard: list[str] = field(default_factory=list)
    _purpose: str = ""
    _attempts: int = 0
    _right_at: str = ""
    _taken: bool = False
    _behind: str | None = None

    def fact(self, fact: Fact) -> None:
        match fact:
            case Said(purpose=purpose):
                self._purpose = purpose
                if self._behind is not None:
                    # The reading that was said behind a yes is read back now.
                    self._attempts, self._right_at, self._taken = 0, "", False
                    self._attempt(self._behind, asked=True)
                    self._behind = None
                if purpose == "ask" and self._taken:
                    self._attempts, self._right_at, self._taken = 0, "", False
            case Heard():
                self._heard(fact)
            case Refused(how=how):
                self.counts["refused"] += 1
                self.counts["refused_into_prompts"] += how.into is not None
                self._attempt(right="")
            case Accepted():
                self._accepted(fact)
            case Answered(step_id=step_id, choice=choice):
                wrong = choice != self.rehearsal.chosen(step_id)
                self.counts["wrong_choices_accepted"] += wrong
            case _:
                pass

    def _heard(self, heard: Heard) -> None:
        if heard.how.ears.startswith(TYPED):
            self.counts["typed_answers"] += 1
            self._attempt(right=TYPED)
            return
        self.counts["heard"] += 1
        self.counts["into_prompts"] += heard.how.into is not None
        said = self.rehearsal.answer_text()
        right = self.recogniser.means_the_same(heard.how.words, said)
        if not right:
            self.counts["wrong_heard"] += 1
            self.counts["stop_misheard"] += (
                isinstance(heard.meaning, Command) and heard.meaning.name == "stop"
            )
            self.misheard.append(f"{said or 'nothing'} -> {heard.how.words}")
        if isinstance(heard.meaning, Confirmed):
            # What it confirms is counted first, by how that was heard.
            self._behind = "yes" if right else ""
            return
        self._attempt(right="yes" if right else "")

    def _attempt(self, right: str, *, asked: bool = False) -> None:
        """Count a hearing of the reading itself; yes and no to its read-back are not counted."""
        if (
            not (asked or self._purpose == "ask")
            or self._right_at
            or not self.rehearsal.is_at_a_reading
        ):
            return
        self._attempts += 1
        if right == TYPED:
            self._right_at = TYPED
        elif right:
            place = min(self._attempts, len(ATTEMPTS) + 1)
            self._right_at = (*ATTEMPTS, "right_later")[place - 1]

    def _accepted(self, accepted: Accepted) -> None:
        """Count it; of several that were said in one answer each was heard as that answer was."""
        self.counts["readings"] += 1
        meant = self.rehearsal.meant(accepted.reading_id)
        self.counts["wrong_accepted"] += Decimal(accepted.value) != meant
        self.counts[self._right_at or "never_right"] += 1
        self._taken = True


def run_job(job: Job) -> Outcome:
    """One whole job from sound, or what was kept of it."""
    kept = _kept_file(job)
    if kept is not None and kept.is_file():
        return kept_outcome(job, kept)
    outcome = _run_job(job)
    if kept is not None:
        keep(outcome, kept)
    return outcome


def kept_outcome(job: Job, kept: Path) -> Outcome:
    """What `keep` wrote."""
    told = json.loads(kept.read_text(encoding="utf-8"))
    return Outcome(job, told["counts"], told["seconds"], told["error"], tuple(told["misheard"]))


def keep(outcome: Outcome, kept: Path) -> None:
    """Write what came of a job, so that a run that was stopped goes on behind it."""
    kept.parent.mkdir(parents=True, exist_ok=True)
    half_written = kept.with_suffix(".part")
    told = {
        "counts": dict(outcome.counts),
        "seconds": outcome.seconds,
        "error": outcome.error,
        "misheard": outcome.misheard,
    }
    half_written.write_text(json.dumps(told), encoding="utf-8")
    half_written.replace(kept)


def _kept_file(job: Job) -> Path | None:
    if not job.keep:
        return None
    asked = {name: value for name, value in asdict(job).items() if name != "keep"}
    told = json.dumps([asked, what_decides()], sort_keys=True)
    name = hashlib.sha256(told.encode()).hexdigest()[:16]
    return Path(job.keep) / f"{job.ears}_{job.level or 'none'}_{job.speaker}_{job.seed}_{name}.json"


@lru_cache(maxsize=1)
def _recordings(speech: str) -> list[Samples]:
    """Noise without long gaps that took no part in training; none where there is no folder."""
    folder = Path(speech)
    if missing_speech(folder):
        return []
    noises = read_noises(folder)
    return [n.samples() for n in noises if n.half == "scoring" and n.sort not in NOT_MIXED]


def _speaker(job: Job) -> SyntheticSpeaker | NoisySpeaker:
    speaker = SyntheticSpeaker(job.speaker, job.seed)  # type: ignore[arg-type]
    if not job.level:
        return speaker
    return NoisySpeaker(speaker, _recordings(job.speech), LEVELS[job.level], job.seed)


def _same(air: TechnicianInAir, rehearsal: Rehearsal) -> SoundSource:
    """The air of the one rehearsal."""
    return air


def _run_job(job: Job) -> Outcome:
    """What goes wrong in the program is told, not raised."""
    speaker = _speaker(job)
    loaded = spoken_job(readings_alone=job.readings_alone)
    recogniser = Overheard(job.ears)
    # Without the synonyms that these ears do not know, as a job is done with them.
    language = assembly.check_words(recogniser, loaded, assembly.language()).language
    rehearsal = make_rehearsal(
        loaded, job.seed, scenario=SCENARIO, speaker=speaker, language=language
    )
    hearings = Hearings(rehearsal, recogniser)
    source: Callable[[Rehearsal], SoundSource] = TechnicianSource
    over_prompts = None
    if job.into_prompts:
        known = known_after_a_job(loaded, language, job.seed)
        rendered = Rendered(PROMPTS, language)
        air, over_prompts = in_air(rehearsal, rendered, echo_db=job.echo_db, known=known)
        source = partial(_same, air)
    began_s = time.perf_counter()
    error = ""
    try:
        rehearsed = run_rehearsal(
            loaded,
            language,
            rehearsal,
            SilentVoice(),
            MemoryLog(),
            recogniser=recogniser,
            watcher=hearings,
            source=source,
            over_prompts=over_prompts,
        )
        score = rehearsed.score
        hearings.counts["finished"] += score.finished
        if not job.readings_alone:
            hearings.counts["said_inside"] += score.companion_said == "inside"
            hearings.counts["truly_inside"] += score.truly_inside
            hearings.counts["false_inside"] += score.false_inside
    except SoundEnded:
        hearings.counts["gave_up"] += 1
    except (CompanionError, ArithmeticError, LookupError, TypeError, ValueError) as caught:
        error = f"{job.speaker} {job.seed}: {type(caught).__name__}: {caught}"
    spent_s = time.perf_counter() - began_s
    return Outcome(job, hearings.counts, spent_s, error, tuple(hearings.misheard))


def run(options: argparse.Namespace) -> Results:
    """All jobs of all speakers."""
    speakers = options.speakers.split(",")
    unknown = set(speakers) - set(VOICES)
    if unknown:
        raise SystemExit(f"speakers {sorted(unknown)}: unknown; wanted some of {list(VOICES)}")
    levels = [level for level in options.levels.split(",") if level] or [""]
    if unknown := set(levels) - {"", *LEVELS}:
        raise SystemExit(f"levels {sorted(unknown)}: unknown; wanted some of {list(LEVELS)}")
    jobs = [
        Job(
            speaker=s,
            seed=options.seed + n,
            ears=options.ears,
            level=level,
            speech=str(options.speech),
            keep=str(options.keep or ""),
            readings_alone=options.readings_alone,
            into_prompts=options.answers_into_prompts,
            echo_db=options.echo_db,
        )
        for n in range(options.seeds)
        for level in levels
        for s in speakers
    ]
    began_s = time.perf_counter()
    outcomes = list(on_all_cores(run_job, jobs, options.workers or None, at_a_time=1))
    wall_s = time.perf_counter() - began_s
    return {
        "benchmark": NAME,
        "ears": options.ears,
        **summed_up(outcomes),
        "per_level": {
            level or "none": summed_up([o for o in outcomes if o.job.level == level])
            for level in levels
        },
        "per_speaker": {
            s: summed_up([o for o in outcomes if o.job.speaker == s]) for s in speakers
        },
        "misheard": dict(Counter(m for o in outcomes for m in o.misheard).most_common(_LISTED)),
        "wall_s": rounded(wall_s),
        "errors": [o.error for o in outcomes if o.error][:10],
    }


def summed_up(outcomes: Sequence[Outcome]) -> Results:
    """The sums over some jobs."""
    counts: Counter[str] = Counter()
    for outcome in outcomes:
        counts.update(outcome.counts)
    by_voice = counts["readings"] - counts[TYPED]
    return {
        "jobs": len(outcomes),
        **{name: counts[name] for name in COUNTS},
        "taken_by_voice": by_voice,
        "wrong_accepted_upper95": rounded(upper_95(counts["wrong_accepted"], by_voice)),
        "seconds_per_job": rounded(sum(o.seconds for o in outcomes) / max(1, len(outcomes))),
    }

"""Readings said back together: what goes through unnoticed, and what catches it later.

Whole typed jobs in which numbers are misheard: one digit is another. The simulated technician says
a wrong yes in 1 % of all read-backs and overlooks a wrong figure among several in 3 %
(`--overlooks 1` has every wrong figure of a set go through: that tells what the arithmetic notices
by itself). A wrong reading that was taken is `noticed` when it is asked for again before anything
rests on it, `measured_anew` when the next set of readings took its place, and else it `stayed`.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random
from typing import Any

from companion.errors import CompanionError
from companion.facts.aim import AimDecided
from companion.facts.answers import Accepted, TakenBack
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.recognition.port import SoundEnded
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.technician import Answer
from companion.speech.silent import SilentVoice
from tests.benchmarks.common import Results, on_all_cores, rounded
from tests.benchmarks.rehearse import loaded_job, upper_bound

NAME = "together"
WHAT = "readings said back together: wrong ones that go through, and what catches them later"

LARGE_IN_STEPS = 10
"""A digit other than the last one: ten steps of the scale or more."""


@dataclass(frozen=True)
class Job:
    """One job: how often a number is misheard, and how often that is overlooked."""

    seed: int
    misheard: float
    confirms: float
    overlooks: float


@dataclass
class Outcome:
    """What came of one job. `taken`: (set, large or small, what became of it), counted."""

    job: Job
    taken: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    readings: int = 0
    inside: bool = False
    false_inside: bool = False
    error: str = ""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--jobs", type=int, default=400)
    parser.add_argument("--misheard", type=float, default=0.05, help="of the numbers heard")
    parser.add_argument("--confirms", type=float, default=0.01, help="wrong yes")
    parser.add_argument("--overlooks", type=float, default=0.03, help="a wrong figure of several")


class Misheard(Rehearsal):
    """The same rehearsal, some of whose numbers are heard with another digit."""

    def __init__(self, other: Rehearsal, job: Job) -> None:
        self.__dict__.update(other.__dict__)
        self._mishearing = Random(f"{job.seed} misheard")
        self._share = job.misheard
        self.slips.chances = {"confirms_wrong": job.confirms, "overlooks_in_group": job.overlooks}

    def heard(self, said: Said) -> None:
        super().heard(said)
        asks = said.prompt.answer if said.prompt is not None else ""
        answer = self.answer()
        if asks == "number" and answer.text and self._mishearing.random() < self._share:
            self._answer = Answer(self._other(answer.text), answer.delay_s)

    def _other(self, text: str) -> str:
        """The words with one digit as another; unchanged where none is said by itself."""
        digits = assembly.language().vocabulary.numbers.digits
        words = text.split()
        places = [place for place, word in enumerate(words) if word in digits[1:]]
        if not places:
            return text
        place = self._mishearing.choice(places)
        words[place] = self._mishearing.choice([d for d in digits[1:] if d != words[place]])
        return " ".join(words)

    def meant(self, step_id: str) -> Decimal | None:
        """What was read at this step last."""
        read = self._technician._newest.get(step_id)
        return None if read is None else read.value


class Watching:
    """Follows each wrong reading that was taken."""

    def __init__(self, rehearsal: Misheard, outcome: Outcome, sets: Mapping[str, str]) -> None:
        self._rehearsal = rehearsal
        self._outcome = outcome
        self._sets = sets
        self._open: dict[str, tuple[str, bool]] = {}

    def fact(self, fact: Fact) -> None:
        match fact:
            case Accepted(reading_id=reading, value=value):
                self._accepted(reading, Decimal(value))
            case TakenBack(step_ids=ids):
                for reading in [name for name in self._open if name in ids]:
                    size, rested_on = self._open.pop(reading)
                    became = "measured_anew" if rested_on else "noticed"
                    self._count(reading, size, became)
            case AimDecided():
                self._open = {name: (size, True) for name, (size, _) in self._open.items()}
            case _:
                pass

    def close(self) -> None:
        for reading, (size, _) in self._open.items():
            self._count(reading, size, "stayed")

    def _accepted(self, reading: str, value: Decimal) -> None:
        self._outcome.readings += 1
        meant = self._rehearsal.meant(reading)
        if meant is None or meant == value:
            return
        step: Any = loaded_job().plan.step(reading)
        steps = abs(float(meant - value)) / step.resolution
        self._open[reading] = ("large" if steps >= LARGE_IN_STEPS - 0.5 else "small", False)

    def _count(self, reading: str, size: str, became: str) -> None:
        self._outcome.taken[self._sets.get(reading, "alone"), size, became] += 1


def run_job(job: Job) -> Outcome:
    """One job; what goes wrong in the program is told, not raised."""
    outcome = Outcome(job)
    loaded = loaded_job()
    rehearsal = Misheard(make_rehearsal(loaded, job.seed), job)
    sets = {
        step.id: name
        for step in loaded.plan.steps
        if (name := getattr(step, "read_back_together", None)) is not None
    }
    watching = Watching(rehearsal, outcome, sets)
    log = MemoryLog()
    try:
        rehearsed = run_rehearsal(
            loaded, assembly.language(), rehearsal, SilentVoice(), log, watcher=watching
        )
        outcome.inside = rehearsed.score.companion_said == "inside"
        outcome.false_inside = rehearsed.score.false_inside
    except SoundEnded:
        pass
    except (CompanionError, ArithmeticError, LookupError, TypeError, ValueError) as error:
        outcome.error = f"seed {job.seed}: {type(error).__name__}: {error}"
    watching.close()
    return outcome


def run(options: argparse.Namespace) -> Results:
    """All jobs, and what became of what went through."""
    first = options.seed * 1_000_000
    jobs = [
        Job(first + n, options.misheard, options.confirms, options.overlooks)
        for n in range(options.jobs)
    ]
    outcomes = list(on_all_cores(run_job, jobs))
    counts: Counter[tuple[str, str, str]] = Counter()
    for outcome in outcomes:
        counts.update(outcome.taken)
    readings = sum(outcome.readings for outcome in outcomes)
    inside = sum(outcome.inside for outcome in outcomes)
    false = sum(outcome.false_inside for outcome in outcomes)
    sets = sorted({name for name, _, _ in counts})
    return {
        "benchmark": NAME,
        "jobs": len(outcomes),
        "misheard": options.misheard,
        "confirms_wrong": options.confirms,
        "overlooks_in_group": options.overlooks,
        "readings_taken": readings,
        "wrong_taken": sum(counts.values()),
        "wrong_stayed": sum(n for (_, _, became), n in counts.items() if became == "stayed"),
        "by_set": {
            name: {
                size: {
                    became: counts[name, size, became]
                    for became in ("noticed", "measured_anew", "stayed")
                }
                for size in ("large", "small")
            }
            for name in sets
        },
        "inside": inside,
        "false_inside": false,
        "false_inside_upper95": rounded(upper_bound(false, inside)),
        "errors": [outcome.error for outcome in outcomes if outcome.error][:10],
    }

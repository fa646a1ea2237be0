"""A visit of two sensors: how many of the answers that the second asks alone it asks in the visit.

Seeded, typed, without slips. In the visit the second job takes over what the first found and still
holds; alone it is the same job in the same simulated bay with an empty record.
"""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import dataclass
from pathlib import Path

from companion.facts.car import Car
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.record import MemoryLog, SqliteLog, open_record
from companion.record.cars import CarStore, cars_folder
from companion.record.port import Log
from companion.record.visits import open_visit
from companion.runtime import assembly
from companion.runtime.loop import OfVisit
from companion.runtime.rehearsing import TECHNICIAN, Rehearsed, make_rehearsal, run_rehearsal
from companion.runtime.taking_over import Validity
from companion.runtime.visiting import of_visit
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from tests.benchmarks.common import Results, on_all_cores, percentile, rounded
from tests.benchmarks.rehearse import SIDES, loaded_job

NAME = "visits"
WHAT = "the second sensor of a visit: its answers as a part of those that it asks for alone"


@dataclass(frozen=True)
class Pair:
    """Two jobs on one car, in this order."""

    seed: int
    first: str
    second: str


@dataclass
class _Asked:
    """Counts prompts that want an answer."""

    prompts: int = 0

    def fact(self, fact: Fact) -> None:
        if isinstance(fact, Said) and fact.prompt_id:
            self.prompts += 1


@dataclass(frozen=True)
class Outcome:
    """How often the technician was asked, and whether any job was falsely called inside."""

    seed: int
    first: int
    second: int
    alone: int
    false_inside: bool


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--visits", type=int, default=20, help="so many visits")
    parser.add_argument("--first", default="front_radar", help="the first sensor's shipped job")
    parser.add_argument("--second", default="forward_camera", help="the second sensor's")


def run_visit(pair: Pair) -> Outcome:
    """Both jobs in one visit, then the second alone."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.sqlite"
        with open_record(path) as database:
            visit = open_visit(database, CarStore(cars_folder(path)), Car())
            counts, false = [], False
            for name in (pair.first, pair.second):
                belongs = of_visit(
                    database,
                    visit,
                    loaded_job(name=name),
                    assembly.language(),
                    Validity(),
                    rehearsal=True,
                    technician=TECHNICIAN,
                )
                log = SqliteLog(database, database.create_session())
                asked, done = _rehearse(name, pair.seed, log, belongs)
                counts.append(asked)
                false = false or done.score.false_inside
    alone, done = _rehearse(pair.second, pair.seed, MemoryLog(), OfVisit())
    return Outcome(pair.seed, counts[0], counts[1], alone, false or done.score.false_inside)


def _rehearse(name: str, seed: int, log: Log, visit: OfVisit) -> tuple[int, Rehearsed]:
    loaded, asked = loaded_job(name=name), _Asked()
    scenario = Scenario(answers={"side": SIDES[seed % 2]})
    rehearsal = make_rehearsal(loaded, seed, scenario=scenario)
    done = run_rehearsal(
        loaded, assembly.language(), rehearsal, SilentVoice(), log, watcher=asked, visit=visit
    )
    return asked.prompts, done


def run(options: argparse.Namespace) -> Results:
    """All visits, and what they came to."""
    first = options.seed * 1_000_000
    pairs = [Pair(first + n, options.first, options.second) for n in range(options.visits)]
    found = list(on_all_cores(run_visit, pairs))
    parts = [one.second / one.alone for one in found]
    return {
        "benchmark": NAME,
        "first": options.first,
        "second": options.second,
        "visits": len(found),
        "asked_first_mean": rounded(sum(one.first for one in found) / len(found)),
        "asked_second_mean": rounded(sum(one.second for one in found) / len(found)),
        "asked_alone_mean": rounded(sum(one.alone for one in found) / len(found)),
        "part_of_all": rounded(sum(o.second for o in found) / sum(o.alone for o in found)),
        "part_median": rounded(percentile(parts, 50)),
        "part_p95": rounded(percentile(parts, 95)),
        "part_max": rounded(max(parts)),
        "false_inside_seeds": [one.seed for one in found if one.false_inside],
    }

"""A visit of two sensors: how many of the answers that the second asks alone it asks in the visit.

Seeded, typed, without slips. The visit lists its two sensors, so what is the car's (codes after,
switching off, road test) is asked once, at the second. The second job takes over what the first
found and still holds. Alone each is the same job in the same simulated bay with an empty record.

| figure | is |
| --- | --- |
| `added_part` | what the second sensor adds to the visit, of what it asks alone |
| `session_part` | all that is asked in its own job, the end of the visit with it, of the same |
| `visit_of_first_alone` | the whole visit, of the first sensor alone: half again is 1.5 |
"""

from __future__ import annotations

import argparse
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from companion.facts.car import Car
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.facts.visit_end import Sensor
from companion.record import MemoryLog, SqliteLog, open_record
from companion.record.cars import CarStore, cars_folder
from companion.record.port import Log
from companion.record.visits import keep_sensors, open_visit
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
    first_alone: int
    second_alone: int
    false_inside: bool

    @property
    def added(self) -> float:
        """What the second sensor adds to the visit, as a part of what it asks alone."""
        return (self.first + self.second - self.first_alone) / self.second_alone


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--visits", type=int, default=20, help="so many visits")
    parser.add_argument("--first", default="front_radar", help="the first sensor's shipped job")
    parser.add_argument("--second", default="forward_camera", help="the second sensor's")


def run_visit(pair: Pair) -> Outcome:
    """Both jobs in one visit, then each alone."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "record.sqlite"
        with open_record(path) as database:
            listed = tuple(Sensor(name, name) for name in (pair.first, pair.second))
            visit = open_visit(database, CarStore(cars_folder(path)), Car())
            visit = keep_sensors(database, visit, listed)
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
    alone = []
    for name in (pair.first, pair.second):
        asked, done = _rehearse(name, pair.seed, MemoryLog(), OfVisit())
        alone.append(asked)
        false = false or done.score.false_inside
    return Outcome(pair.seed, counts[0], counts[1], alone[0], alone[1], false)


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
    added = [one.added for one in found]
    session = [one.second / one.second_alone for one in found]
    whole = [(one.first + one.second) / one.first_alone for one in found]
    return {
        "benchmark": NAME,
        "first": options.first,
        "second": options.second,
        "visits": len(found),
        "asked_first_mean": _mean(one.first for one in found),
        "asked_second_mean": _mean(one.second for one in found),
        "asked_first_alone_mean": _mean(one.first_alone for one in found),
        "asked_second_alone_mean": _mean(one.second_alone for one in found),
        "added_part_of_all": rounded(
            sum(o.first + o.second - o.first_alone for o in found)
            / sum(o.second_alone for o in found)
        ),
        "added_part_mean": _mean(added),
        "added_part_median": rounded(percentile(added, 50)),
        "added_part_p95": rounded(percentile(added, 95)),
        "session_part_of_all": rounded(
            sum(o.second for o in found) / sum(o.second_alone for o in found)
        ),
        "session_part_mean": _mean(session),
        "session_part_median": rounded(percentile(session, 50)),
        "session_part_max": rounded(max(session)),
        "visit_of_first_alone_mean": _mean(whole),
        "false_inside_seeds": [one.seed for one in found if one.false_inside],
    }


def _mean(values: Iterable[float]) -> float | None:
    told = list(values)
    return rounded(sum(told) / len(told))

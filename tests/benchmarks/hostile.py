"""Every disturbance at the size that is stated, and at three times it: does the doubt still hold?

At the limit: one axis a ten-thousandth of a degree outside. An "inside" there is false.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np

from companion.errors import CompanionError
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.truth import Spread
from companion.speech.silent import SilentVoice
from tests.benchmarks.common import Results, on_all_cores, percentile, rate_at_most, rounded
from tests.benchmarks.hostile_bay import DISTURBANCES, larger, stated_by
from tests.benchmarks.hostile_decisions import Outcome, decisions
from tests.benchmarks.rehearse import loaded_job

NAME = "hostile"
WHAT = "each error as large as stated and three times as large: false inside, coverage, refusals"

TIMES = {"stated": 1.0, "three times": 3.0}
AT_ONCE = 250
# Locking comes before the sets that count, and the tool's angle is another route: in jobs alone.
JOBS_ALONE = ("locking", "tool")


@dataclass(frozen=True)
class Row:
    """One row's task, a part of its decisions."""

    disturbance: str
    size: str
    count: int
    seed: tuple[int, ...]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--decisions", type=int, default=20_000, help="emulated, a row")
    parser.add_argument("--jobs", type=int, default=300, help="whole rehearsed jobs, a row")
    parser.add_argument("--only", help="these disturbances alone, with commas between")
    parser.add_argument("--workers", type=int, help="processes at once")


def run(options: argparse.Namespace) -> Results:
    """All rows; `all` last."""
    names = (*DISTURBANCES, *JOBS_ALONE, "all")
    if options.only:
        names = tuple(options.only.split(","))
    rows = []
    for number, name in enumerate(names):
        for size in TIMES:
            count = 0 if name in JOBS_ALONE else options.decisions
            pieces = -(-count // AT_ONCE)
            tasks = [
                Row(name, size, -(-count // pieces), (options.seed, number, len(size), piece))
                for piece in range(pieces)
            ]
            parts_done = on_all_cores(run_part, tasks, options.workers)
            told = tell(name, size, [item for piece in parts_done for item in piece])
            jobs = [(options.seed * 1_000_000 + n, name, TIMES[size]) for n in range(options.jobs)]
            rows.append(told | tell_jobs(list(on_all_cores(run_job, jobs, options.workers))))
    return {"benchmark": NAME, "rows": rows}


def run_part(task: Row) -> list[Outcome]:
    """Some of a row's decisions, from their own seed."""
    stated = stated_by(loaded_job().plan.files.bay)
    real = larger(stated, task.disturbance, TIMES[task.size])
    return decisions(np.random.default_rng(task.seed), real, stated, task.count)


# What a row of decisions is called in the whole bay; the others are noise of single scales there.
IN_THE_BAY = {
    "echo_noise_db": "echo_noise",
    "head_out_deg": "head_out",
    "plate_to_bar_deg": "plate_to_bar",
    "settled_toe_deg": "settled_toe",
    "wheel_back_deg": "wheel_back",
    "plumb_scale_mm_per_m": "level",
    "settled_pitch_deg": "settled_pitch",
    "hinge_mm": "hinge",
    "flatness_mm": "flatness",
    "ripple_db": "ripple",
    "plate_span_mm": "plate_size",
    "locking": "lock",
    "tool": "tool",
    "all": "all",
}


@dataclass(frozen=True)
class Job:
    """What came of one whole job."""

    said_inside: bool
    false_inside: bool
    rounds: int
    error: str = ""


def run_job(task: tuple[int, str, float]) -> Job | None:
    """One rehearsal, typed, with this disturbance so many times as large; None: not in the bay."""
    seed, name, times = task
    if name not in IN_THE_BAY:
        return None
    spread = Spread(times={IN_THE_BAY[name]: times})
    scenario = Scenario(answers={"aim_route": "tool_angle" if name == "tool" else "echo_levels"})
    rehearsal = make_rehearsal(loaded_job(), seed, spread=spread, scenario=scenario)
    try:
        done = run_rehearsal(
            loaded_job(), assembly.language(), rehearsal, SilentVoice(), MemoryLog()
        )
    except CompanionError as error:
        return Job(said_inside=False, false_inside=False, rounds=0, error=str(error))
    score = done.score
    return Job(score.companion_said == "inside", score.false_inside, score.rounds)


def tell_jobs(found: list[Job | None]) -> dict[str, object]:
    """The jobs of one row."""
    jobs = [job for job in found if job is not None]
    return {
        "jobs": len(jobs),
        "jobs_false_inside": sum(job.false_inside for job in jobs),
        "jobs_inside": sum(job.said_inside for job in jobs),
        "rounds_p95": percentile([float(job.rounds) for job in jobs if job.said_inside], 95),
        "jobs_with_errors": sum(bool(job.error) for job in jobs),
    }


def tell(name: str, size: str, found: list[Outcome]) -> dict[str, object]:
    """One row of the answer; rates as parts of one."""
    count = len(found)
    false = sum(item.inside for item in found)
    would = [item for item in found if item.would_be_inside]
    if not found:
        return {"disturbance": name, "size": size, "decisions": 0}
    return {
        "disturbance": name,
        "size": size,
        "decisions": count,
        "false_inside": rounded(false / count),
        "false_inside_upper95": rounded(rate_at_most(false, count)),
        "coverage95": rounded(sum(item.covered for item in found) / (2 * count)),
        "refused_or_noticed": rounded(sum(item.noticed for item in found) / count),
        "noticed_of_false": rounded(
            sum(item.noticed for item in would) / len(would) if would else 1.0
        ),
    }

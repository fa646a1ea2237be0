"""Every disturbance at the size that is stated, and at three times it: does the doubt still hold?

At the limit: one axis a ten-thousandth of a degree outside. An "inside" there is false. A row's
draws follow from its own name, its size and the seed: rows may be run apart, by `--rows`, and with
several seeds; `validation` puts what they printed together.
"""

from __future__ import annotations

import argparse
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from companion.errors import CompanionError
from companion.recognition.port import SoundEnded
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.truth import Spread
from companion.speech.silent import SilentVoice
from tests.benchmarks.common import Results, on_all_cores, percentile, rate_at_most, rounded
from tests.benchmarks.hostile_at_once import (
    ManyOutcomes,
    decide_many,
    measured_by_echo,
    measured_by_tool,
)
from tests.benchmarks.hostile_bay import DISTURBANCES, draw, larger, stated_by
from tests.benchmarks.hostile_decisions import MOST_LOOKS, at_the_limit
from tests.benchmarks.hostile_short import SLIPS, ShortOutcome, decide_part, slipped_part
from tests.benchmarks.rehearse import JOB, SIDES, loaded_job

AimRoute = Literal["echo_levels", "tool_angle"]

NAME = "hostile"
WHAT = "each error as large as stated and three times as large: false inside, coverage, refusals"

STATED = "stated"
TIMES = {STATED: 1.0, "three times": 3.0}
AT_ONCE = 2_000
SHORT_AT_ONCE = 500
ROW = (
    *("disturbance", "size", "decisions", "false_inside", "false_inside_upper95", "coverage95"),
    *("refused_or_noticed", "jobs", "jobs_false_inside"),
)
"""What every row tells; rates as parts of one, of nothing where there were no decisions."""
# What is wrong with a scan tool is seen where its angles are used.
BY_TOOL = "tool_off_deg"

# What a row is called in the whole bay.
IN_THE_BAY = {
    "echo_noise_db": "echo",
    "echo_step_db": "echo_step",
    "detent_deg": "detents",
    "spot_noise_mm": "spot",
    "run_out_noise_mm": "arm",
    "head_out_deg": "head_out",
    "plate_to_bar_deg": "plate_to_bar",
    "settled_toe_deg": "settled_toe",
    "wheel_back_deg": "wheel_back",
    "plumb_scale_mm_per_m": "level",
    "line_laser_deg": "line_laser",
    "settled_pitch_deg": "settled_pitch",
    "ride_height_mm": "ride_height",
    "hinge_mm": "hinge",
    "flatness_mm": "flatness",
    "ripple_db": "ripple",
    "beam_width_share": "beam_width",
    "plate_span_mm": "plate_size",
    "lock_deg": "lock",
    BY_TOOL: "tool",
    "all": "all",
}
# What is made larger for another sensor's job, by the names of `Spread.times`.
OF_OTHER_JOBS = {
    "forward_camera": (
        "floor_rule",
        "line_laser",
        "ride_height",
        "arm",
        "head_out",
        "wheel_back",
        "settled_toe",
        "settled_pitch",
        "level",
        "spot",
        "board_tape",
        "board_height",
        "plumb_mark",
        "sensor_place",
        "camera_yaw",
        "camera_elevation",
        "tool",
        "all",
    ),
    "rear_corner_radar": (
        "ride_height",
        "settled_toe",
        "marks_apart",
        "corner_tape",
        "bar_tape",
        "corner_height",
        "plumb_mark",
        "corner_yaw",
        "tool",
        "all",
    ),
    "surround_mats": ("ride_height", "mat_tape", "field_tape", "plumb_mark", "all"),
}


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
    parser.add_argument(
        "--job", default=JOB, choices=(JOB, *OF_OTHER_JOBS), help="whole jobs of this sensor"
    )
    parser.add_argument(
        "--rows",
        "--only",
        type=lambda text: tuple(text.split(",")),
        help="these alone, with commas between: a disturbance, or one of its sizes as NAME:stated "
        "or NAME:three",
    )
    parser.add_argument(
        "--short-sets",
        action="store_true",
        help="decisions right behind a fine turn, the first look by five levels; no whole jobs",
    )
    parser.add_argument("--workers", type=int, help="processes at once")


def run(options: argparse.Namespace) -> Results:
    """All rows; `all` last."""
    if options.job != JOB:
        return run_other(options)
    if options.short_sets:
        return run_short(options)
    rows = chosen((*DISTURBANCES, "all"), options.rows)
    pieces = -(-options.decisions // AT_ONCE)
    tasks = [
        Row(
            name,
            size,
            -(-options.decisions // pieces),
            (*_seed_of(options.seed, name, size), piece),
        )
        for name, size in rows
        for piece in range(pieces)
    ]
    jobs = [
        (options.seed * 1_000_000 + n, name, TIMES[size])
        for name, size in rows
        for n in range(options.jobs)
    ]
    decided = list(on_all_cores(run_part, tasks, options.workers, 1))
    done = list(on_all_cores(run_job, jobs, options.workers))
    told = []
    for number, (name, size) in enumerate(rows):
        parts = decided[number * pieces : (number + 1) * pieces]
        of_jobs = done[number * options.jobs : (number + 1) * options.jobs]
        found = (tell(parts) if parts else {"decisions": 0}) | tell_jobs(of_jobs)
        told.append({"disturbance": name, "size": size} | found)
    return {"benchmark": NAME} | _in_two(told)


def chosen(names: Sequence[str], wanted: Sequence[str] | None) -> list[tuple[str, str]]:
    """The rows that are wanted, as disturbance and size, in the order of all of them.

    Ends the program where there is no such row, with those that there are.
    """
    rows = {(name, size): f"{name}:{size.split()[0]}" for name in names for size in TIMES}
    if wanted is None:
        return list(rows)
    kept = [row for row, called in rows.items() if row[0] in wanted or called in wanted]
    known = {*names, *rows.values()}
    if unknown := [item for item in wanted if item not in known]:
        raise SystemExit(
            f"hostile: no row {', '.join(unknown)}; wanted: {', '.join(sorted(known))}"
        )
    return kept


def _seed_of(seed: int, name: str, size: str) -> tuple[int, int]:
    """A row is the same whichever rows are run beside it."""
    return seed, zlib.crc32(f"{name} {size}".encode())


def run_short(options: argparse.Namespace) -> Results:
    """All rows but the scan tool's, and slips at the five levels; one decision at a time."""
    names = tuple(name for name in (*DISTURBANCES, "all") if name != BY_TOOL)
    rows = chosen((*names, *SLIPS), options.rows)
    rows = [(name, size) for name, size in rows if name in names or size == STATED]
    pieces = -(-options.decisions // SHORT_AT_ONCE)
    tasks = [
        Row(name, size, -(-options.decisions // pieces), (*_seed_of(options.seed, name, size), n))
        for name, size in rows
        for n in range(pieces)
    ]
    done = list(on_all_cores(run_short_part, tasks, options.workers, 1))
    told = [
        {"disturbance": name, "size": size}
        | tell_short(
            [one for part in done[number * pieces : (number + 1) * pieces] for one in part]
        )
        for number, (name, size) in enumerate(rows)
    ]
    return {"benchmark": NAME, "short_sets": True} | _in_two(told)


def run_short_part(task: Row) -> list[ShortOutcome]:
    """Some of a row's decisions, from their own seed."""
    files = loaded_job().plan.files
    stated = stated_by(files.bay, files.mount)
    if task.disturbance in SLIPS:
        return slipped_part(task.disturbance, stated, task.count, task.seed)
    real = larger(stated, task.disturbance, TIMES[task.size])
    return decide_part(real, stated, task.count, task.seed)


def tell_short(found: Sequence[ShortOutcome]) -> Results:
    """One row; false insides of all decisions, by five levels and by nine."""
    count, false = len(found), sum(one.inside for one in found)
    short = sum(one.short for one in found)
    return {
        "decisions": count,
        "false_inside": rounded(false / count),
        "false_inside_upper95": rounded(rate_at_most(false, count)),
        "coverage95": rounded(sum(one.covered for one in found) / (2 * count)),
        "refused_or_noticed": rounded(sum(one.noticed for one in found) / count),
        "false_by_five": rounded(short / count),
        "false_by_five_upper95": rounded(rate_at_most(short, count)),
    }


def run_other(options: argparse.Namespace) -> Results:
    """The rows of another sensor's job: whole jobs, each a draw of its own of the hidden truth."""
    rows = chosen(OF_OTHER_JOBS[options.job], options.rows)
    jobs = [
        (options.job, options.seed * 1_000_000 + n, name, TIMES[size])
        for name, size in rows
        for n in range(options.jobs)
    ]
    done = list(on_all_cores(run_other_job, jobs, options.workers))
    told = []
    for number, (name, size) in enumerate(rows):
        of_jobs = done[number * options.jobs : (number + 1) * options.jobs]
        told.append({"disturbance": name, "size": size} | tell_jobs(of_jobs))
    return {"benchmark": NAME, "job": options.job} | _in_two(told)


def _in_two(told: Sequence[Results]) -> Results:
    """`rows`, each with the same keys whatever was run; what else is known of them, `beside`."""
    return {
        "rows": [{key: row.get(key) for key in ROW} for row in told],
        "beside": [
            {key: value for key, value in row.items() if key in ROW[:2] or key not in ROW}
            for row in told
        ],
    }


def run_other_job(task: tuple[str, int, str, float]) -> Job:
    """One rehearsal of that job, typed, on either side of the car in turn."""
    job, seed, name, times = task
    scenario = Scenario(answers={"side": SIDES[seed % 2]})
    return _rehearsed(job, seed, Spread(times={name: times}), scenario)


def run_part(task: Row) -> ManyOutcomes:
    """Some of a row's decisions, from their own seed; every second one was foreseen."""
    files = loaded_job().plan.files
    stated = stated_by(files.bay, files.mount)
    real = larger(stated, task.disturbance, TIMES[task.size])
    generator = np.random.default_rng(task.seed)
    drawn = draw(generator, real, at_the_limit(generator, task.count), MOST_LOOKS)
    by_tool = task.disturbance == BY_TOOL
    found = (measured_by_tool if by_tool else measured_by_echo)(drawn, stated)
    return decide_many(found, drawn, stated, np.arange(task.count) % 2 == 0)


@dataclass(frozen=True)
class Job:
    """What came of one whole job."""

    said_inside: bool
    false_inside: bool
    rounds: int
    error: str = ""


def run_job(task: tuple[int, str, float]) -> Job:
    """One rehearsal, typed, with this disturbance so many times as large as stated."""
    seed, name, times = task
    spread = Spread(times={IN_THE_BAY[name]: times})
    route: AimRoute = "tool_angle" if name == BY_TOOL else "echo_levels"
    scenario = Scenario(answers={"aim_route": route})
    return _rehearsed(JOB, seed, spread, scenario)


def _rehearsed(name: str, seed: int, spread: Spread, scenario: Scenario) -> Job:
    """A job of the shipped files; one that was given up by its technician was not inside."""
    loaded = loaded_job(name=name)
    rehearsal = make_rehearsal(loaded, seed, spread=spread, scenario=scenario)
    try:
        done = run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), MemoryLog())
    except SoundEnded:
        return Job(said_inside=False, false_inside=False, rounds=0)
    except CompanionError as error:
        return Job(said_inside=False, false_inside=False, rounds=0, error=str(error))
    score = done.score
    return Job(score.companion_said == "inside", score.false_inside, score.rounds)


def tell(parts: Sequence[ManyOutcomes]) -> Results:
    """The decisions of one row; rates as parts of one, false insides of all decisions."""
    inside, noticed, would, covered = (
        np.concatenate([getattr(part, name) for part in parts])
        for name in ("inside", "noticed", "would_be_inside", "covered")
    )
    count, false = len(inside), int(inside.sum())
    return {
        "decisions": count,
        "false_inside": rounded(false / count),
        "false_inside_upper95": rounded(rate_at_most(false, count)),
        "coverage95": rounded(float(covered.sum()) / (2 * count)),
        "refused_or_noticed": rounded(float(noticed.mean())),
        # Of those that would be false, were nothing noticed; 1 where there is none.
        "noticed_of_false": rounded(float(noticed[would].mean()) if would.any() else 1.0),
    }


def tell_jobs(jobs: Sequence[Job]) -> Results:
    """The whole jobs of one row."""
    return {
        "jobs": len(jobs),
        "jobs_false_inside": sum(job.false_inside for job in jobs),
        "jobs_inside": sum(job.said_inside for job in jobs),
        "rounds_p95": percentile([float(job.rounds) for job in jobs if job.said_inside], 95),
        "jobs_with_errors": sum(bool(job.error) for job in jobs),
    }

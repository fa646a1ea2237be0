"""Whole typed jobs in the rehearsal bay: how often "inside" is said, and how often it is false.

Seeded, without sound, on all cores. Jobs are spread over what the scan tool gives, over how the toe
is told, and over slips. Truth is the bay's own, which the companion never sees.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from random import Random

from scipy.stats import beta  # type: ignore[import-untyped]

from companion.errors import CompanionError
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.recognition.port import SoundEnded
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import SLIPS_TO_CHOOSE, make_rehearsal, run_rehearsal
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.slips import ACTING_SLIPS, PlannedSlip
from companion.simulation.truth import Spread
from companion.speech.silent import SilentVoice
from tests.benchmarks.common import Results, on_all_cores, percentile, rounded
from tests.benchmarks.screw_slips import JudgedSlip, ScrewSlips
from tests.benchmarks.slips import LARGER_THAN_DOUBT_IN_U

NAME = "rehearse"
WHAT = "whole typed jobs with slips: said inside, falsely inside, rounds, seconds a job"

MOST_SLIPS = 4
# A job has few turns of the screws and many readings: a later occasion might never come.
LATEST_ACT, LATEST_OTHER = 4, 12
MEAN_OF_ONE_TO_FOUR = 2.5
# Of five jobs four have the scan tool give echo levels, one an angle.
AIM_ROUTES = ("echo_levels", "echo_levels", "echo_levels", "echo_levels", "tool_angle")
TOE_ROUTES = ("degrees", "millimetres")
SIDES = ("side_left", "side_right")
JOB = "front_radar"
BOUND = 0.95
MOUNT_FILES = {"two": "mount.yaml", "three": "mount_three_screws.yaml"}


@dataclass(frozen=True)
class Job:
    """One job to rehearse."""

    seed: int
    mean_slips: float
    pitch_wrong: float | None
    mount: str = "two"
    name: str = JOB
    route: str | None = None


@dataclass(frozen=True)
class Outcome:
    """What came of one job. `judged`: each slip at the screws, as the next judgement told it."""

    seed: int
    said_inside: bool = False
    truly_inside: bool = False
    gave_up: bool = False
    rounds: int = 0
    slips_made: int = 0
    slips_harmful: int = 0
    judged: tuple[JudgedSlip, ...] = ()
    seconds: float = 0.0
    error: str = ""

    @property
    def inside(self) -> bool:
        return self.said_inside and self.truly_inside

    @property
    def false_inside(self) -> bool:
        return self.said_inside and not self.truly_inside


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--jobs", "--count", type=int, default=1000, help="so many jobs")
    parser.add_argument(
        "--job", default=JOB, help="which of the shipped jobs; default: %(default)s"
    )
    parser.add_argument("--route", help="the same answer to the question aim_route in every job")
    parser.add_argument(
        "--slips",
        type=float,
        default=MEAN_OF_ONE_TO_FOUR / 2,
        metavar="MEAN",
        help="slips planned a job, on average, 0 to 2.5; a job has none or one to four",
    )
    parser.add_argument(
        "--pitch-wrong",
        type=float,
        metavar="PART",
        help="screws and levers differ from the file by about this part (0.2: mostly up to 20 %%)",
    )
    parser.add_argument(
        "--screws", choices=MOUNT_FILES, default="two", help="how many screws the mount has"
    )


@cache
def loaded_job(mount: str = "two", name: str = JOB) -> LoadedJob:
    """A shipped job with one of the shipped mounts, read once a process."""
    return assembly.load(
        JobPaths(job=EXAMPLES / f"{name}.yaml", mount=EXAMPLES / MOUNT_FILES[mount])
    )


def planned_slips(random: Random, mean: float) -> tuple[PlannedSlip, ...]:
    """None or one to four, so that their number comes to `mean` on average."""
    if random.random() >= mean / MEAN_OF_ONE_TO_FOUR:
        return ()
    kinds = random.choices(SLIPS_TO_CHOOSE, k=random.randint(1, MOST_SLIPS))
    return tuple(
        PlannedSlip(kind, random.randint(1, LATEST_ACT if kind in ACTING_SLIPS else LATEST_OTHER))
        for kind in kinds
    )


def spread_of(pitch_wrong: float | None) -> Spread:
    """The usual spread of hidden truths, with mounts as wrong as asked for."""
    if pitch_wrong is None:
        return Spread()
    return Spread(mount_relative_sd=pitch_wrong, mount_relative_most=1.5 * pitch_wrong)


def rehearsal_of(job: Job) -> Rehearsal:
    """The bay, car and technician of this job; all follow from its seed."""
    random = Random(f"{job.seed} which job")
    answers = {"aim_route": random.choice(AIM_ROUTES), "toe_route": random.choice(TOE_ROUTES)}
    slips = planned_slips(random, job.mean_slips)
    answers["side"] = random.choice(SIDES)
    if job.route is not None:
        answers["aim_route"] = job.route
    return make_rehearsal(
        loaded_job(job.mount, job.name),
        job.seed,
        scenario=Scenario(answers=answers),
        slips=slips,
        spread=spread_of(job.pitch_wrong),
    )


def run_job(job: Job) -> Outcome:
    """Rehearse one job; what goes wrong in the program is told, not raised."""
    rehearsal = rehearsal_of(job)
    screws = ScrewSlips(rehearsal)
    began_s = time.perf_counter()
    try:
        rehearsed = run_rehearsal(
            loaded_job(job.mount, job.name),
            assembly.language(),
            rehearsal,
            SilentVoice(),
            MemoryLog(),
            watcher=screws,
        )
    except SoundEnded:
        made = rehearsal.slips.made
        screws.close()
        return Outcome(
            job.seed,
            gave_up=True,
            slips_made=len(made),
            slips_harmful=sum(slip.harmful for slip in made),
            judged=tuple(screws.judged),
            seconds=time.perf_counter() - began_s,
        )
    except (CompanionError, ArithmeticError, LookupError, TypeError, ValueError) as error:
        return Outcome(job.seed, error=f"seed {job.seed}: {type(error).__name__}: {error}")
    screws.close()
    score = rehearsed.score
    return Outcome(
        seed=job.seed,
        said_inside=score.companion_said == "inside",
        truly_inside=score.truly_inside,
        rounds=score.rounds,
        slips_made=score.slips_made,
        slips_harmful=score.slips_harmful,
        judged=tuple(screws.judged),
        seconds=time.perf_counter() - began_s,
    )


def upper_bound(found: int, of: int, level: float = BOUND) -> float | None:
    """One-sided exact (Clopper-Pearson) upper bound of a rate; None where nothing was tried."""
    if of == 0:
        return None
    return 1.0 if found == of else float(beta.ppf(level, found + 1, of - found))


def told_of(slips: Iterable[JudgedSlip]) -> dict[str, int]:
    """How often each slip was told as what."""
    pairs = Counter(f"{slip.made}: {slip.told}" for slip in slips)
    return dict(sorted(pairs.items()))


def run(options: argparse.Namespace) -> Results:
    """All jobs, and what they came to."""
    first = options.seed * 1_000_000
    jobs = [
        Job(
            first + n,
            options.slips,
            options.pitch_wrong,
            options.screws,
            options.job,
            options.route,
        )
        for n in range(options.jobs)
    ]
    began_s = time.perf_counter()
    outcomes = list(on_all_cores(run_job, jobs))
    wall_s = time.perf_counter() - began_s
    return summed_up(outcomes, options, wall_s)


def summed_up(outcomes: list[Outcome], options: argparse.Namespace, wall_s: float) -> Results:
    """The sums over all jobs."""
    ended = [o for o in outcomes if not o.error]
    said = [o for o in ended if o.said_inside]
    false = [o for o in said if o.false_inside]
    judged = [slip for o in ended for slip in o.judged]
    large = [slip for slip in judged if slip.is_larger_than_doubt and not slip.aim_misread]
    misread = [slip for slip in judged if slip.is_larger_than_doubt and slip.aim_misread]
    named = sum(slip.named_right for slip in large)
    return {
        "benchmark": NAME,
        "job": options.job,
        "route": options.route,
        "jobs": len(outcomes),
        "inside": sum(o.inside for o in ended),
        "false_inside": len(false),
        "refused": sum(not o.said_inside for o in ended),
        "gave_up": sum(o.gave_up for o in ended),
        "rounds_median": percentile((o.rounds for o in said), 50),
        "rounds_p95": percentile((o.rounds for o in said), 95),
        "rounds_max": max((o.rounds for o in said), default=None),
        "jobs_with_slips": sum(o.slips_made > 0 for o in ended),
        "slips_made": sum(o.slips_made for o in ended),
        "slips_harmful": sum(o.slips_harmful for o in ended),
        "slips_caught": sum(o.slips_harmful for o in ended if not o.false_inside),
        "screw_slips": len(judged),
        "screw_slips_judged": told_of(judged),
        "screw_slips_larger_than_doubt": len(large),
        "screw_slips_larger_than_doubt_named": named,
        "screw_slips_larger_than_doubt_named_share": rounded(named / len(large)) if large else None,
        "screw_slips_larger_than_doubt_unnamed_upper95": rounded(
            upper_bound(len(large) - named, len(large))
        ),
        "screw_slips_larger_than_doubt_judged": told_of(large),
        # Beside a misread aim no name can be had from the aim: told apart from those above.
        "screw_slips_beside_misread_aim": len(misread),
        "screw_slips_beside_misread_aim_named": sum(slip.named_right for slip in misread),
        "screw_slips_beside_misread_aim_judged": told_of(misread),
        "larger_than_doubt_in_u": LARGER_THAN_DOUBT_IN_U,
        "false_inside_upper95": rounded(upper_bound(len(false), len(said))),
        "false_inside_of": len(said),
        "false_inside_seeds": [o.seed for o in false],
        "stated_risk": rounded(1 - loaded_job().plan.files.vehicle.aim.confidence),
        "seconds_per_job": rounded(sum(o.seconds for o in ended) / max(1, len(ended))),
        "wall_s": rounded(wall_s),
        "mean_slips_planned": options.slips,
        "pitch_wrong": options.pitch_wrong,
        "screws": options.screws,
        "errors": [o.error for o in outcomes if o.error][:10],
    }

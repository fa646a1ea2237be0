"""What a rehearsed job came to: what the companion said against what is true."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from companion.rehearsal.rehearsal import Rehearsal
from companion.rehearsal.slips import SlipKind
from companion.rehearsal.world import TruthNow

Said = Literal["inside", "outside", "stopped", "nothing"]


@dataclass(frozen=True, slots=True)
class Hearing:
    """How the answers were heard, as counted by whoever ran the job."""

    right: int = 0
    refused: int = 0
    wrong: int = 0
    wrong_accepted: int = 0


@dataclass(frozen=True, slots=True)
class JobScore:
    """One job. `false_inside`: the one unforgivable result."""

    finished: bool
    companion_said: Said
    truth: TruthNow
    truly_inside: bool
    false_inside: bool
    rounds: int
    prompts: int
    slips_made: int
    slips_harmful: int
    slips: Mapping[SlipKind, int]
    hearing: Hearing


@dataclass(frozen=True, slots=True)
class RunScore:
    """Many jobs together; `mean_rounds` is over those that ended inside, 0 if none did."""

    jobs: int
    finished: int
    said_inside: int
    truly_inside: int
    false_inside: int
    jobs_with_harmful_slips: int
    mean_rounds: float
    most_rounds: int
    worst_yaw_said_inside_deg: float
    worst_elevation_said_inside_deg: float
    hearing: Hearing


def score_job(
    rehearsal: Rehearsal,
    *,
    finished: bool,
    companion_said: Said,
    rounds: int,
    hearing: Hearing | None = None,
) -> JobScore:
    """Compare what the companion said at the end with the bay as it stands now."""
    truth = rehearsal.world.truth_now()
    limits = rehearsal.setting.vehicle.aim
    inside = (
        abs(truth.aim_yaw_deg) <= limits.yaw_tolerance_deg
        and abs(truth.aim_elevation_deg) <= limits.elevation_tolerance_deg
    )
    made = rehearsal.slips.made
    return JobScore(
        finished=finished,
        companion_said=companion_said,
        truth=truth,
        truly_inside=inside,
        false_inside=companion_said == "inside" and not inside,
        rounds=rounds,
        prompts=rehearsal.prompts_heard,
        slips_made=len(made),
        slips_harmful=sum(slip.harmful for slip in made),
        slips=Counter(slip.kind for slip in made),
        hearing=hearing or Hearing(),
    )


def score_run(jobs: Sequence[JobScore]) -> RunScore:
    """The sums over all jobs."""
    inside = [job for job in jobs if job.companion_said == "inside"]
    return RunScore(
        jobs=len(jobs),
        finished=sum(job.finished for job in jobs),
        said_inside=len(inside),
        truly_inside=sum(job.truly_inside for job in jobs),
        false_inside=sum(job.false_inside for job in jobs),
        jobs_with_harmful_slips=sum(job.slips_harmful > 0 for job in jobs),
        mean_rounds=sum(job.rounds for job in inside) / len(inside) if inside else 0.0,
        most_rounds=max((job.rounds for job in inside), default=0),
        worst_yaw_said_inside_deg=max((abs(job.truth.aim_yaw_deg) for job in inside), default=0.0),
        worst_elevation_said_inside_deg=max(
            (abs(job.truth.aim_elevation_deg) for job in inside), default=0.0
        ),
        hearing=Hearing(
            right=sum(job.hearing.right for job in jobs),
            refused=sum(job.hearing.refused for job in jobs),
            wrong=sum(job.hearing.wrong for job in jobs),
            wrong_accepted=sum(job.hearing.wrong_accepted for job in jobs),
        ),
    )

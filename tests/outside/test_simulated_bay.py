"""The doubt that is stated against the truth of the simulated bay, which shares no arithmetic.

The bay traces beams and mirrors in three dimensions and keeps its truth to itself; what the job
computes from the readings taken there must lie as far from the truth as its doubt says.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

import companion.job
from companion.facts.kinds import Fact
from companion.facts.workings import Computed
from companion.job.loader import JobPaths
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import Rehearsed, make_rehearsal, run_rehearsal
from companion.simulation.rehearsal import Rehearsal
from companion.speech.silent import SilentVoice

EXAMPLES = Path(companion.job.__file__).parent / "examples"
JOBS = 40
RESULTS = {
    "aim_yaw_deg": "aim_yaw_deg",
    "aim_elevation_deg": "aim_elevation_deg",
    "stand_turn_deg": "stand_turn_deg",
    "stand_offset_left_mm": "stand_left_mm",
}


class Comparing:
    """Holds every computed result against the truth at that moment, in units of its doubt."""

    def __init__(self, rehearsal: Rehearsal) -> None:
        self._rehearsal = rehearsal
        self.off_in_u: list[tuple[str, float]] = []

    def fact(self, fact: Fact) -> None:
        if not isinstance(fact, Computed):
            return
        truth = self._rehearsal.world.truth_now()
        for name, output in fact.outputs.items():
            if name in RESULTS:
                off = output.value - getattr(truth, RESULTS[name])
                self.off_in_u.append((name, off / output.u))


@pytest.fixture(scope="module")
def jobs() -> tuple[list[Rehearsed], list[tuple[str, float]]]:
    """Forty whole jobs, typed, without slips."""
    paths = JobPaths(*(EXAMPLES / f"{n}.yaml" for n in ("front_radar", "vehicle", "mount", "bay")))
    loaded = assembly.load(paths)
    done, off = [], []
    for seed in range(JOBS):
        rehearsal = make_rehearsal(loaded, seed)
        comparing = Comparing(rehearsal)
        done.append(
            run_rehearsal(
                loaded,
                assembly.language(),
                rehearsal,
                SilentVoice(),
                MemoryLog(),
                watcher=comparing,
            )
        )
        off += comparing.off_in_u
    return done, off


@pytest.mark.parametrize("name", sorted(RESULTS))
def test_results_lie_as_far_from_the_truth_as_their_doubt_says(
    name: str, jobs: tuple[list[Rehearsed], list[tuple[str, float]]]
) -> None:
    off = [value for result, value in jobs[1] if result == name]
    assert len(off) >= JOBS
    spread = math.sqrt(math.fsum(value**2 for value in off) / len(off))
    assert 0.75 < spread < 1.25
    assert sum(abs(value) > 3.0 for value in off) <= 0.02 * len(off)


def test_every_stand_ends_inside_its_tolerances(
    jobs: tuple[list[Rehearsed], list[tuple[str, float]]],
) -> None:
    for job in jobs[0]:
        stand = job.state.plan.files.bay.stand
        truth = job.score.truth
        assert abs(truth.stand_left_mm) <= stand.sideways_tolerance_mm
        assert abs(truth.stand_turn_deg) <= stand.turn_tolerance_deg
        assert abs(truth.plate_distance_mm - stand.plate_distance_mm) <= stand.distance_tolerance_mm


def test_what_is_said_to_be_inside_is_inside(
    jobs: tuple[list[Rehearsed], list[tuple[str, float]]],
) -> None:
    assert all(job.state.result == "inside" for job in jobs[0])
    assert not any(job.score.false_inside for job in jobs[0])

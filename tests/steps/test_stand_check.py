"""The stand's monthly check, rehearsed: heads changed over, and a known turn that comes out so."""

from __future__ import annotations

import math
from collections.abc import Mapping

import pytest

from companion.calibration.known_turn import known_turn
from companion.errors import MeasureError
from companion.facts.ending import Finished
from companion.facts.kinds import Fact
from companion.facts.workings import Computed
from companion.job.loader import STAND_CHECK, JobPaths, LoadedJob
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.truth import Spread
from companion.simulation.world import World
from companion.speech.silent import SilentVoice
from companion.statistics.summary import summary

SEEDS = range(60)


@pytest.fixture(scope="module")
def loaded() -> LoadedJob:
    return assembly.load(JobPaths(job=STAND_CHECK))


def checked(
    loaded: LoadedJob, seed: int, times: Mapping[str, float] | None = None
) -> tuple[str, MemoryLog, World]:
    log = MemoryLog()
    rehearsal = make_rehearsal(
        loaded, seed, spread=Spread(times=times or {}), scenario=Scenario(), slips=()
    )
    run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    ended = [event.fact for event in log.events(log.session_id) if isinstance(event.fact, Finished)]
    return ended[-1].result if ended else "stopped", log, rehearsal.world


def last(log: MemoryLog, result: str) -> tuple[float, float]:
    facts: list[Fact] = [event.fact for event in log.events(log.session_id)]
    found = [
        fact.outputs[result]
        for fact in facts
        if isinstance(fact, Computed) and result in fact.outputs
    ][-1]
    assert found.value is not None
    assert found.u is not None
    return found.value, found.u


def test_an_ordinary_stand_comes_out_as_known(loaded: LoadedJob) -> None:
    said = [checked(loaded, seed)[0] for seed in SEEDS]
    # Twice beyond U, or heads beyond their limits: once in some hundred times.
    assert said.count("stand_as_known") >= len(SEEDS) - 2


def test_what_it_finds_of_the_heads_is_true_within_its_doubt(loaded: LoadedJob) -> None:
    off = []
    for seed in SEEDS:
        _, log, world = checked(loaded, seed)
        unseen = world._truth.unseen
        value, u = last(log, "heads_out_left_deg")
        off.append((value - (unseen.head_left_deg + unseen.head_right_deg) / 2.0) / u)
    # The seat of a head scatters in the files' figures, and not in the simulated bay.
    assert math.sqrt(sum(x * x for x in off) / len(off)) < 1.1


def test_heads_far_out_of_square_are_found(loaded: LoadedJob) -> None:
    for seed in range(20):
        said, log, world = checked(loaded, seed, {"head_out": 8.0})
        unseen = world._truth.unseen
        mean = (unseen.head_left_deg + unseen.head_right_deg) / 2.0
        if abs(mean) > 0.05:
            assert said != "stand_as_known"
        assert last(log, "heads_out_left_deg")[0] == pytest.approx(mean, abs=0.02)


def test_a_turn_that_is_not_as_known_stops_the_work(
    loaded: LoadedJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    honest = World.shim_bar

    def off(self: World, *, is_in: bool) -> None:
        honest(self, is_in=is_in)
        self._bar_left_deg += 0.04 if is_in else 0.0

    monkeypatch.setattr(World, "shim_bar", off)
    for seed in range(8):
        said, log, _ = checked(loaded, seed)
        assert said != "stand_as_known"
        assert last(log, "turn_error_deg")[0] == pytest.approx(0.04, abs=0.025)


def test_both_are_charted_over_time(loaded: LoadedJob) -> None:
    _, log, _ = checked(loaded, 3)
    measures = summary(list(log.events(log.session_id))).measures
    assert set(measures) >= {"turn_error_deg", "heads_out_left_deg"}


def test_a_shim_that_is_larger_than_its_base_is_no_turn() -> None:
    with pytest.raises(MeasureError, match="smaller than the base"):
        known_turn(
            spot_left_mm=0,
            spot_right_mm=0,
            shimmed_left_mm=0,
            shimmed_right_mm=0,
            path_mm=4700,
            shim_mm=700,
            base_mm=700,
        )

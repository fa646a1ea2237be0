"""Whole jobs, rehearsed: every kind of fact that they come to."""

from __future__ import annotations

import pytest

from companion.job.loader import EXAMPLES, JobPaths
from companion.record import MemoryLog, StoredEvent
from companion.runtime import assembly
from companion.runtime.rehearsing import choose_slips, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice

MOUNTS = ("mount.yaml", "mount_three_screws.yaml")


@pytest.fixture(scope="session")
def rehearsed_events() -> tuple[StoredEvent, ...]:
    """The events of a few jobs, by both routes to the aim, on both mounts, with slips.

    One begins with a voice check.
    """
    told: list[StoredEvent] = []
    for seed in range(6):
        log = MemoryLog(f"job {seed}")
        loaded = assembly.load(JobPaths(mount=EXAMPLES / MOUNTS[seed % 2]))
        scenario = Scenario(answers={"aim_route": "tool_angle" if seed == 3 else "echo_levels"})
        slips = choose_slips(seed, seed)
        rehearsal = make_rehearsal(loaded, seed, scenario=scenario, slips=slips)
        run_rehearsal(
            loaded, assembly.language(), rehearsal, SilentVoice(), log, voice_check=seed == 4
        )
        told += log.events(log.session_id)
    return tuple(told)

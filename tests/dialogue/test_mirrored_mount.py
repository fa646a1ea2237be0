"""A mount file that is the wrong way round is doubted aloud, and no screw is run into its end."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from companion.facts.aim import MoveJudged
from companion.facts.instructions import TurnScrew
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.job.loader import JobPaths, LoadedJob
from companion.job.plan import make_plan
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.slips import PlannedSlip
from companion.speech.silent import SilentVoice

ASKED = "Is the mount file mirrored?"
TRAVEL = 5.0


class Looking:
    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def fact(self, fact: Fact) -> None:
        self.facts.append(fact)


def mirrored(loaded: LoadedJob) -> LoadedJob:
    """The same job with a mount file in which every thread runs the other way."""
    files = loaded.plan.files
    assert files.mount is not None
    screws = tuple(s.model_copy(update={"hand": "left"}) for s in files.mount.screws)
    mount = files.mount.model_copy(update={"screws": screws})
    return replace(loaded, plan=make_plan(replace(files, mount=mount)))


def rehearse(told: LoadedJob, seed: int, slips: tuple[PlannedSlip, ...] = ()) -> list[Fact]:
    looking = Looking()
    rehearsal = make_rehearsal(
        assembly.load(JobPaths()), seed, slips=slips, scenario=Scenario(carries_on_at_most=0)
    )
    run_rehearsal(told, assembly.language(), rehearsal, SilentVoice(), MemoryLog(), watcher=looking)
    return looking.facts


@pytest.mark.parametrize("seed", [2, 3, 4])
def test_a_mirrored_file_is_doubted_the_second_time(seed: int) -> None:
    facts = rehearse(mirrored(assembly.load(JobPaths())), seed)
    wrong = [i for i, f in enumerate(facts) if isinstance(f, MoveJudged) and f.kind == "wrong_way"]
    asked = [i for i, f in enumerate(facts) if isinstance(f, Said) and ASKED in f.text]
    assert len(wrong) >= 2
    assert len(asked) == 1
    assert asked[0] > wrong[1]


@pytest.mark.parametrize("seed", [2, 3, 4])
def test_no_screw_is_asked_beyond_its_travel(seed: int) -> None:
    facts = rehearse(mirrored(assembly.load(JobPaths())), seed)
    stands: Counter[str] = Counter()
    for fact in facts:
        asks = fact.prompt.instruction if isinstance(fact, Said) and fact.prompt else None
        if isinstance(asks, TurnScrew):
            stands[asks.screw_id] += float(asks.clockwise_turns)  # type: ignore[assignment]
            assert abs(stands[asks.screw_id]) <= TRAVEL


def test_one_slip_of_the_hand_doubts_no_file() -> None:
    facts = rehearse(assembly.load(JobPaths()), 2, (PlannedSlip("screw_wrong_way", 1),))
    assert not any(isinstance(f, Said) and ASKED in f.text for f in facts)

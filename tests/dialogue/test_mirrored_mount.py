"""A mount file that is the wrong way round is doubted aloud, and no screw is run into its end."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from companion.facts.aim import MoveJudged
from companion.facts.instructions import TurnScrew
from companion.facts.kinds import Fact
from companion.facts.message import Message
from companion.facts.talking import Said
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
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


def with_travel(loaded: LoadedJob, turns: float) -> LoadedJob:
    """The same job with screws that turn so far and no further."""
    files = loaded.plan.files
    assert files.mount is not None
    travel = {"travel_clockwise_turns": turns, "travel_anticlockwise_turns": turns}
    screws = tuple(s.model_copy(update=travel) for s in files.mount.screws)
    mount = files.mount.model_copy(update={"screws": screws})
    return replace(loaded, plan=make_plan(replace(files, mount=mount)))


def rehearse(
    told: LoadedJob,
    seed: int,
    slips: tuple[PlannedSlip, ...] = (),
    true: LoadedJob | None = None,
    language: str = "en",
) -> list[Fact]:
    looking, spoken = Looking(), assembly.language(language)
    rehearsal = make_rehearsal(
        true or assembly.load(JobPaths()),
        seed,
        slips=slips,
        scenario=Scenario(carries_on_at_most=0),
        language=spoken,
    )
    run_rehearsal(told, spoken, rehearsal, SilentVoice(), MemoryLog(), watcher=looking)
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
    assert turned(facts, TRAVEL)


def turned(facts: list[Fact], travel: float) -> bool:
    """Whether anything was turned at all; by no screw more than its travel."""
    stands: Counter[str] = Counter()
    for fact in facts:
        asks = fact.prompt.instruction if isinstance(fact, Said) and fact.prompt else None
        if isinstance(asks, TurnScrew):
            stands[asks.screw_id] += float(asks.clockwise_turns)  # type: ignore[assignment]
            assert abs(stands[asks.screw_id]) <= travel
    return bool(stands)


@pytest.mark.parametrize("travel", [1.0, 2.0, 3.0])
def test_with_little_travel_no_more_is_asked_than_is_left(travel: float) -> None:
    whole = assembly.load(JobPaths())
    facts = rehearse(with_travel(mirrored(whole), travel), 3, true=with_travel(whole, travel))
    turned(facts, travel)


def test_three_screws_of_a_mirrored_file_are_doubted_and_kept_within_their_travel() -> None:
    whole = assembly.load(JobPaths(mount=EXAMPLES / "mount_three_screws.yaml"))
    mount = whole.plan.files.mount
    assert mount is not None
    facts = rehearse(mirrored(whole), 3, true=whole)
    assert sum(isinstance(f, Said) and ASKED in f.text for f in facts) == 1
    assert turned(facts, min(s.travel_clockwise_turns for s in mount.screws))


def test_it_is_doubted_in_spanish_too() -> None:
    told = assembly.load(JobPaths(), assembly.language("es"))
    facts = rehearse(mirrored(told), 3, true=told, language="es")
    asked = assembly.language("es").say(Message("mount-doubted"))
    assert sum(isinstance(f, Said) and asked in f.text for f in facts) == 1


def test_a_hand_that_turns_the_wrong_way_twice_also_doubts_the_file() -> None:
    """By the readings it cannot be told from a mirrored file: it is asked, and nothing overrun."""
    slips = (PlannedSlip("screw_wrong_way", 1), PlannedSlip("screw_wrong_way", 2))
    facts = rehearse(assembly.load(JobPaths()), 2, slips)
    wrong = sum(isinstance(f, MoveJudged) and f.kind == "wrong_way" for f in facts)
    assert (wrong >= 2) == any(isinstance(f, Said) and ASKED in f.text for f in facts)
    turned(facts, TRAVEL)


def test_one_slip_of_the_hand_doubts_no_file() -> None:
    facts = rehearse(assembly.load(JobPaths()), 2, (PlannedSlip("screw_wrong_way", 1),))
    assert not any(isinstance(f, Said) and ASKED in f.text for f in facts)

"""Targets that nobody has put near their places: every move of the job brings them there.

The technician says done to what is to be placed by tapes and does nothing. The bay is points in
three dimensions, so a move the wrong way, or a tape taken for another, ends nowhere near.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from companion.facts.aim import MoveJudged
from companion.facts.instructions import MoveStand
from companion.facts.kinds import Entry, Fact
from companion.facts.workings import CannotPass, Corrected
from companion.job.loader import EXAMPLES, JobPaths
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import Rehearsed, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from companion.steps.stand_moves.model import Moves
from tests.steps.test_more_sensors import JOBS, Looking, load

BAYS = [
    ("forward_camera", "side_left"),
    ("rear_corner_radar", "side_left"),
    ("rear_corner_radar", "side_right"),
    ("surround_mats", "side_left"),
]


@pytest.mark.parametrize(("name", "side"), BAYS)
def test_every_move_goes_the_right_way(
    name: str, side: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    loaded, moved = load(name), set[tuple[str, str]]()
    for seed in (21, 22, 23):
        looking = Looking()
        rehearsal = make_rehearsal(loaded, seed, scenario=Scenario(answers={"side": side}))
        monkeypatch.setattr(rehearsal.world, "place_by", lambda reads: None)
        found = run_rehearsal(
            loaded, assembly.language(), rehearsal, SilentVoice(), MemoryLog(), watcher=looking
        )
        assert found.state.result == JOBS[name]
        assert found.score.truly_inside
        assert not any(isinstance(fact, MoveJudged) for fact in looking.facts)
        moved |= {
            (fact.step_id, str(fact.instruction.direction))
            for fact in looking.facts
            if isinstance(fact, Corrected) and isinstance(fact.instruction, MoveStand)
        }
    parts = {
        part.id for step in loaded.plan.steps if isinstance(step, Moves) for part in step.parts
    }
    # The camera's board is turned before where it stands is read.
    parts -= {"board_turn_decision"}
    assert {part for part, _ in moved} >= parts


def test_marks_that_are_not_as_far_apart_as_the_track_are_made_anew() -> None:
    """A plumb mark two centimetres off: nothing is judged that rests on the track."""
    loaded, looking = load("rear_corner_radar"), Looking()
    rehearsal = make_rehearsal(loaded, 21, scenario=Scenario(answers={"side": "side_left"}))
    bay = rehearsal.world
    plumbed = {"times": 0}

    def plumb() -> None:
        plumbed["times"] += 1
        type(bay).plumb_marks(bay)
        if plumbed["times"] == 1:
            bay._marks["left"][1] += 20.0

    bay.plumb_marks = plumb  # type: ignore[method-assign]
    found = run_rehearsal(
        loaded, assembly.language(), rehearsal, SilentVoice(), MemoryLog(), watcher=looking
    )
    assert plumbed["times"] >= 3
    assert found.state.result == "corner_inside"
    assert found.score.truly_inside


def with_sideways_tolerance(tolerance_mm: float, folder: Path) -> tuple[Rehearsed, list[Fact]]:
    vehicle = yaml.safe_load((EXAMPLES / "vehicle.yaml").read_text(encoding="utf-8"))
    vehicle["camera"]["sideways_tolerance_mm"] = tolerance_mm
    path = folder / "vehicle.yaml"
    path.write_text(yaml.safe_dump(vehicle), encoding="utf-8")
    paths = JobPaths(job=EXAMPLES / "forward_camera.yaml", vehicle=path, mount=None)
    loaded, looking = assembly.load(paths, assembly.language()), Looking()
    rehearsal = make_rehearsal(loaded, 1)
    found = run_rehearsal(
        loaded, assembly.language(), rehearsal, SilentVoice(), MemoryLog(), watcher=looking
    )
    return found, looking.facts


def put_right_sideways_mm(facts: list[Fact]) -> list[float]:
    return [
        abs(fact.move.error or 0.0)
        for fact in facts
        if isinstance(fact, Corrected) and fact.step_id == "board_sideways_decision"
    ]


def test_a_doubt_that_more_sets_settle_moves_nothing_that_stands_right(tmp_path: Path) -> None:
    """So near is the limit that two sets can never do, also of a board in its exact place."""
    found, facts = with_sideways_tolerance(4.1, tmp_path)
    assert found.state.result == "camera_inside"
    assert found.score.truly_inside
    assert min(put_right_sideways_mm(facts)) > 0.5
    assert max(f.body["sets"] for f in facts if isinstance(f, Entry) and f.kind == "verdict") > 2


def test_where_no_set_could_ever_settle_it_that_is_said_and_nothing_is_moved_for_it(
    tmp_path: Path,
) -> None:
    found, facts = with_sideways_tolerance(3.3, tmp_path)
    told = [fact for fact in facts if isinstance(fact, CannotPass)]
    assert {fact.result for fact in told} == {"board_offset_left_mm"}
    assert found.state.result == "stopped"
    assert min(put_right_sideways_mm(facts)) > 0.5

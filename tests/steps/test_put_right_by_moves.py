"""Targets that nobody has put near their places: every move of the job brings them there.

The technician says done to what is to be placed by tapes and does nothing. The bay is points in
three dimensions, so a move the wrong way, or a tape taken for another, ends nowhere near.
"""

from __future__ import annotations

import pytest

from companion.facts.aim import MoveJudged
from companion.facts.instructions import MoveStand
from companion.facts.workings import Corrected
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
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

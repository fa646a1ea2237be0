"""A whole typed job on a mount that three screws carry, with and without slips at them."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Any

import pytest

from companion.facts.instructions import TurnScrew
from companion.facts.talking import Said
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import Rehearsed, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.slips import PlannedSlip
from companion.speech.silent import SilentVoice


@cache
def loaded() -> LoadedJob:
    return assembly.load(JobPaths(mount=EXAMPLES / "mount_three_screws.yaml"))


def job(seed: int, slips: Sequence[PlannedSlip] = ()) -> tuple[Rehearsed, list[Any]]:
    log = MemoryLog()
    rehearsal = make_rehearsal(loaded(), seed, slips=slips)
    done = run_rehearsal(loaded(), assembly.language(), rehearsal, SilentVoice(), log)
    return done, list(log.events(log.session_id))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_aim_comes_inside_with_three_screws(seed: int) -> None:
    done, events = job(seed)
    assert (done.score.companion_said, done.score.truly_inside) == ("inside", True)
    plan = next(event.body for event in events if event.kind == "screw_plan")
    assert set(plan["turns"]) == {"upper_left_screw", "upper_right_screw", "lower_screw"}
    moves = [event.body for event in events if event.kind == "move_judged"]
    assert [move["kind"] for move in moves] == ["as_planned"] * len(moves)


@pytest.mark.parametrize("kind", ["screw_wrong_way", "other_screw"])
def test_a_slip_at_three_screws_is_put_right(kind: Any) -> None:
    for seed in (4, 5):
        done, events = job(seed, [PlannedSlip(kind)])
        assert done.score.slips_made == 1
        assert (done.score.companion_said, done.score.truly_inside) == ("inside", True)
        assert any(event.kind == "move_judged" for event in events)


def test_the_scan_tools_turns_are_asked_for_every_screw_of_the_mount() -> None:
    log = MemoryLog()
    rehearsal = make_rehearsal(loaded(), 2, scenario=Scenario(answers={"aim_route": "tool_turns"}))
    done = run_rehearsal(loaded(), assembly.language(), rehearsal, SilentVoice(), log)
    assert (done.score.companion_said, done.score.truly_inside) == ("inside", True)
    said = [event.fact for event in log.events(log.session_id) if isinstance(event.fact, Said)]
    for screw in ("upper left screw", "upper right screw", "lower screw"):
        wanted = f"Scan tool's turns for the {screw}. Clockwise or anticlockwise."
        asked = next(place for place, each in enumerate(said) if each.text == wanted)
        turned = next(each for each in said[asked:] if each.prompt and each.prompt.instruction)
        assert isinstance(turned.prompt.instruction, TurnScrew)
        assert turned.prompt.instruction.screw_id == screw.replace(" ", "_")
        assert turned.text.startswith(f"{screw.capitalize()}, ")

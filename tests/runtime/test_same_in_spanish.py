"""A job is the same in Spanish: the same seed, the same readings, answers, decisions and result."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.facts.answers import Accepted, Answered
from companion.facts.ending import Finished
from companion.facts.workings import Decided
from companion.job.loader import EXAMPLES, JobPaths
from companion.record import FixedClock, MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, choose_slips, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice


def what_came_of(code: str, job: Path, seed: int, route: str) -> list[tuple[object, ...]]:
    language = assembly.language(code)
    loaded = assembly.load(JobPaths(job=job), language)
    rehearsal = make_rehearsal(
        loaded,
        seed,
        slips=choose_slips(seed, 2),
        spread=HARDER,
        language=language,
        scenario=Scenario(answers={"aim_route": route} if route else {}),
    )
    log = MemoryLog("s1", FixedClock(step_ms=700))
    run_rehearsal(loaded, language, rehearsal, SilentVoice(), log)
    found: list[tuple[object, ...]] = []
    for event in log.events("s1"):
        match event.fact:
            case Accepted() as taken:
                found.append((taken.reading_id, taken.value, taken.unit, taken.direction))
            case Answered(step_id=step_id, choice=choice):
                found.append((step_id, choice))
            case Decided(step_id=step_id, answer=answer, value=value):
                found.append((step_id, answer, value))
            case Finished(result):
                found.append((result,))
            case _:
                pass
    return found


@pytest.mark.parametrize(
    ("job", "seed", "route"),
    [
        ("front_radar", 3, "echo_levels"),
        ("front_radar", 4, "tool_angle"),
        ("front_radar", 5, "tool_turns"),
        ("forward_camera", 2, ""),
        ("rear_corner_radar", 1, ""),
    ],
)
def test_a_job_in_spanish_takes_the_same_readings_to_the_same_end(
    job: str, seed: int, route: str
) -> None:
    file = EXAMPLES / f"{job}.yaml"
    english = what_came_of("en", file, seed, route)
    assert english[-1][0] not in ("stopped", "not_aimed")
    assert what_came_of("es", file, seed, route) == english

"""A rehearsed job on a floor with more twist than a car may stand on."""

from __future__ import annotations

from dataclasses import replace

from companion.job.plan import make_plan
from companion.job.setup_files import Range
from companion.record import MemoryLog
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice


def test_the_technician_shims_the_floor_and_the_job_ends_inside(shipped, grammar):
    files = shipped.plan.files
    floor = files.bay.floor.model_copy(update={"twist_mm": Range(low=3.0, high=6.0)})
    twisted = replace(files, bay=files.bay.model_copy(update={"floor": floor}))
    loaded = replace(shipped, plan=make_plan(twisted))
    log = MemoryLog("shims")
    rehearsal = make_rehearsal(loaded, 3)
    rehearsed = run_rehearsal(loaded, grammar, rehearsal, SilentVoice(), log)
    assert rehearsed.score.companion_said == "inside"
    assert rehearsed.score.truly_inside
    advice = [event.body for event in log.events("shims") if event.kind == "shims"]
    assert [body["needed"] for body in advice] == [True, False]
    assert set(advice[0]["under"]) == {"the rear right wheel", "the front left wheel"}
    assert abs(advice[1]["value"]) < 1

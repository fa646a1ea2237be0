"""The budget of the final aim, and what the report says of instruments: from whole typed jobs."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from scipy.stats import beta

from companion.errors import FileProblem
from companion.facts.ending import Finished
from companion.facts.opening import Opened, Overdue
from companion.job.setup_files import Instrument
from companion.record import MemoryLog
from companion.report.budget import budget_table
from companion.report.fold import fold
from companion.report.trusted import Trials, environment, instruments_table, trials, validation
from companion.report.wording import wording_in
from companion.runtime import assembly
from companion.runtime.preflight import refuse_overdue
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice
from tests.benchmarks.hostile_bay import DISTURBANCES
from tests.benchmarks.rehearse import loaded_job
from tests.benchmarks.validation import pooled, trials_of


@pytest.fixture(scope="module")
def done() -> MemoryLog:
    log = MemoryLog()
    loaded = loaded_job()
    run_rehearsal(loaded, assembly.language(), make_rehearsal(loaded, 5), SilentVoice(), log)
    return log


def finished(log: MemoryLog) -> Finished:
    return next(
        event.fact for event in log.events(log.session_id) if isinstance(event.fact, Finished)
    )


def test_every_line_together_is_the_uncertainty_of_the_result(done: MemoryLog) -> None:
    told = finished(done)
    assert told.yaw is not None
    assert told.elevation is not None
    for place, axis in enumerate((told.yaw, told.elevation)):
        together = math.hypot(*(term.contribution[place] for term in told.terms))
        assert together == pytest.approx(axis.u, rel=1e-5)


def test_a_line_is_its_uncertainty_times_its_sensitivity(done: MemoryLog) -> None:
    told = finished(done)
    (heads,) = [t for t in told.terms if t.entered_in == "bay.stand.head_mean_doubt_deg"]
    assert heads.u == loaded_job().plan.files.bay.stand.head_doubt_deg / math.sqrt(2.0)
    # Half of each head's error turns the stand, whatever the numbers are.
    assert abs(heads.sensitivity[0]) == pytest.approx(1.0, rel=1e-3)
    assert heads.distribution == "normal"
    for term in told.terms:
        assert term.u > 0.0
        assert term.unit


def test_distributions_are_those_that_the_doubts_come_from(done: MemoryLog) -> None:
    by_part = {term.part: term.distribution for term in finished(done).terms}
    assert (by_part["rounding"], by_part["scatter"]) == ("rectangular", "normal")
    by_file = {term.entered_in: term.distribution for term in finished(done).terms}
    assert by_file["bay.stand.ripple_doubt_db"] == "u_shaped"
    assert by_file["swing_flatness_doubt_deg"] == "rectangular"
    assert by_file["lean_edge_doubt_deg"] == "u_shaped"


@pytest.mark.parametrize("code", ["en", "es"])
def test_the_report_has_every_line_and_the_expanded_uncertainty(done: MemoryLog, code: str) -> None:
    view = fold("s1", done.events(done.session_id))
    words = wording_in(code).of(view.opened)
    table = budget_table(view, words)
    told = finished(done)
    assert len(table.rows) == len(told.terms) + 2
    assert "k = 2" in table.rows[-1][0]
    assert told.yaw is not None
    assert told.yaw.u is not None
    assert table.rows[-1][5] == words.with_unit(words.number(2 * told.yaw.u, 4), "deg")
    assert len({row[0] + row[-1] for row in table.rows}) == len(table.rows)
    assert instruments_table(view, words).rows[0][2:4] == ("L-0001", "EX-101")
    assert any("°C" in sentence for sentence in environment(view, words))


def test_what_is_overdue_is_said_before_the_work_and_stands_on_the_report(done: MemoryLog) -> None:
    bay = loaded_job().plan.files.bay
    late = bay.overdue(date(2031, 1, 1))
    assert [one.name for one in late] == [one.name for one in bay.instruments]
    assert bay.overdue(date(2030, 12, 31)) == ()
    with pytest.raises(FileProblem, match=r"Line laser \(2030-12-31\).*wanted: certificates"):
        refuse_overdue(bay, date(2031, 1, 1), Path("bay.yaml"))
    refuse_overdue(bay, date(2030, 12, 31), Path("bay.yaml"))
    view = fold("s1", done.events(done.session_id))
    opened = replace(view.opened, overdue=(Overdue("Level", "2030-12-31"),))
    rows = instruments_table(replace(view, opened=opened), wording_in("en")).rows
    assert [row[-1] for row in rows if row[0] == "Level"] == [
        "2030-12-31, expired on the day of this job"
    ]


def test_an_instrument_without_a_date_is_not_overdue_and_said_to_lack_one() -> None:
    bay = loaded_job().plan.files.bay
    bay = bay.model_copy(update={"instruments": (Instrument(name="Tape"),)})
    assert bay.overdue(date(2099, 1, 1)) == ()
    opened = Opened(bay=bay.model_dump(mode="json"))
    view = replace(fold("s1", ()), opened=opened)
    assert instruments_table(view, wording_in("en")).rows == (
        ("Tape", "not entered", "not entered", "not entered", "not entered"),
    )


def test_trials_are_told_from_a_whole_run_alone() -> None:
    row = {
        "size": "stated",
        "decisions": 2000,
        "false_inside": 0.004,
        "false_inside_upper95": 0.007,
        "coverage95": 0.95,
        "jobs": 30,
        "jobs_false_inside": 0,
    }
    rows = [row | {"disturbance": name} for name in (*DISTURBANCES, "all")]
    rows[3] |= {"false_inside": 0.01, "false_inside_upper95": 0.0149, "coverage95": 0.97}
    found = trials_of({"rows": rows}, "1.2.3", "2026-01-02")
    assert (found.false_inside_worst_at, found.decisions) == (DISTURBANCES[3], 2000)
    said = validation(wording_in("en"), found)
    for part in ("1.00 %", "1.49 %", "95.0 %", "97.0 %", "1.2.3", "2026-01-02"):
        assert part in said.replace("\u00a0", " ")
    with pytest.raises(ValueError, match="without all"):
        trials_of({"rows": rows[:-1]}, "1.2.3", "2026-01-02")
    with pytest.raises(ValueError, match="5 decisions"):
        trials_of({"rows": [row | {"decisions": 5} for row in rows]}, "1.2.3", "2026-01-02")


def test_runs_of_some_rows_and_of_several_seeds_become_one() -> None:
    def run(seed: int, false: float, size: str = "stated", decisions: int = 1000) -> dict[str, Any]:
        row = {
            "disturbance": "all",
            "size": size,
            "decisions": decisions,
            "false_inside": false,
            "false_inside_upper95": 1.0,
            "coverage95": 0.9 + false,
            "refused_or_noticed": 0.1,
            "jobs": 3,
            "jobs_false_inside": 1,
        }
        return {"rows": [row], "seed": seed}

    both = pooled([run(1, 0.01), run(2, 0.03), run(1, 0.5, "three times")])
    one, other = both["rows"]
    assert (one["decisions"], one["false_inside"], one["jobs_false_inside"]) == (2000, 0.02, 2)
    assert one["coverage95"] == pytest.approx(0.92)
    # Exact bound of 40 of 2,000 (Clopper and Pearson), as scipy has it.
    assert one["false_inside_upper95"] == pytest.approx(beta.ppf(0.95, 41, 1960))
    assert other["size"] == "three times"
    with pytest.raises(ValueError, match="all stated twice with seed 1"):
        pooled([run(1, 0.01), run(1, 0.01)])
    with_jobs_alone = pooled([run(1, 0.01), run(2, 0.0, decisions=0)])["rows"][0]
    assert (with_jobs_alone["jobs"], with_jobs_alone["false_inside"]) == (6, 0.01)


def test_without_trials_the_report_says_so() -> None:
    assert validation(wording_in("en"), None) == "No trials of this job ship with this version."
    assert trials("another_job") is None
    assert isinstance(trials("front_radar"), Trials)

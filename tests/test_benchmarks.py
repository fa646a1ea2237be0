"""The benchmarks keep their promise: names without a name, one JSON object as the last line."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.slips import PlannedSlip, SlipKind
from companion.speech.silent import SilentVoice
from companion.steps.reading.model import Reading
from tests.benchmarks.__main__ import BENCHMARKS
from tests.benchmarks.rehearse import loaded_job, upper_bound
from tests.benchmarks.screw_slips import ScrewSlips
from tests.benchmarks.spoken import Job, Outcome, keep, kept_outcome
from tests.benchmarks.spoken_job import spoken_job

ROOT = Path(__file__).resolve().parent.parent


def bench(*arguments: str) -> list[str]:
    ended = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    return ended.stdout.splitlines()


def test_without_a_name_every_benchmark_is_listed_with_a_line() -> None:
    lines = bench()
    names = [line.split()[0] for line in lines]
    assert names == list(BENCHMARKS)
    assert all(len(line.split()) > 4 for line in lines)


@pytest.mark.parametrize(
    ("arguments", "keys"),
    [
        (("evaluate", "--times", "3"), {"ms_median", "ms_p95"}),
        (
            ("drift", "--pages", "2", "--watched", "1"),
            {"rest_100", "rest_400", "rest_2000", "rest_rounded"}
            | {"step_1_5", "step_2", "ramp_2", "ramp_2_slow", "watch_jobs_a_false_alarm"},
        ),
        (
            ("record", "--sessions", "1"),
            {"append_events_per_s", "verify_events_per_s", "replay_s", "report_s"},
        ),
        (
            ("review", "--sessions", "6"),
            {"list_ms", "search_ms", "session_ms", "report_s", "verify_events_per_s"}
            | {"bytes_per_event"},
        ),
        (
            ("pages", "--sessions", "6"),
            {"list_ms", "search_ms", "session_ms", "compare_ms", "statistics_ms"},
        ),
        (
            ("rehearse", "--jobs", "4", "--slips", "2.5", "--pitch-wrong", "0.2"),
            {"inside", "false_inside", "refused", "rounds_p95", "false_inside_upper95"},
        ),
        (
            ("rehearse", "--jobs", "4", "--screws", "three"),
            {"screw_slips_larger_than_doubt", "screw_slips_larger_than_doubt_named"},
        ),
        (("slips", "--trials", "4"), {"two_screws", "three_screws", "larger_than_doubt_in_u"}),
    ],
)
def test_the_last_line_is_one_json_object_with_the_machine(
    arguments: tuple[str, ...], keys: set[str]
) -> None:
    alone = bench(*arguments, "--seed", "7", "--json")
    assert len(alone) == 1
    told: dict[str, Any] = json.loads(alone[0])
    assert keys <= told.keys()
    assert told["seed"] == 7
    assert told["machine"]["cores"] >= 1
    assert told["python"].count(".") == 2


def test_every_job_is_either_inside_or_falsely_inside_or_refused() -> None:
    lines = bench("rehearse", "--jobs", "6")
    told = json.loads(lines[-1])
    assert len(lines) > len(told) - 1
    assert told["jobs"] == told["inside"] + told["false_inside"] + told["refused"] == 6
    assert told["errors"] == []


@pytest.mark.parametrize(
    ("kind", "name"), [("screw_wrong_way", "wrong_way"), ("other_screw", "wrong_screw")]
)
def test_a_slip_at_a_screw_is_followed_to_what_was_said_of_it(kind: SlipKind, name: str) -> None:
    found = []
    for seed in (1, 2, 3):
        rehearsal = make_rehearsal(loaded_job(), seed, slips=(PlannedSlip(kind),))
        watcher = ScrewSlips(rehearsal)
        run_rehearsal(
            loaded_job(),
            assembly.language(),
            rehearsal,
            SilentVoice(),
            MemoryLog(),
            watcher=watcher,
        )
        watcher.close()
        found += watcher.judged
    assert [slip.made for slip in found] == [kind] * 3
    assert all(slip.apart_in_u is not None for slip in found)
    assert all(slip.told == name for slip in found if slip.named_right)
    assert all(slip.named_right for slip in found if slip.is_larger_than_doubt)


def test_the_bound_of_a_rate_is_exact() -> None:
    # Nothing found in n: the bound is the rate at which that happens one time in twenty.
    for tried in (1, 60, 1000):
        bound = upper_bound(0, tried)
        assert bound is not None
        assert (1 - bound) ** tried == pytest.approx(0.05)
    assert upper_bound(3, 3) == 1.0
    assert upper_bound(0, 0) is None


def test_what_came_of_a_spoken_job_is_read_back_as_it_was_kept(tmp_path):
    outcome = Outcome(Job("slt", 1, "own", "10"), Counter(readings=40), 1.5, "", ("two -> ten",))
    keep(outcome, tmp_path / "kept" / "job.json")
    assert kept_outcome(outcome.job, tmp_path / "kept" / "job.json") == outcome


def test_a_spoken_job_of_readings_alone_asks_for_each_reading_of_the_shipped_job_once():
    readings = {step.id for step in loaded_job().plan.steps if isinstance(step, Reading)}
    alone = list(spoken_job(readings_alone=True).plan.steps)
    asked = [step.id for step in alone if isinstance(step, Reading)]
    assert len(asked) == len(set(asked)) == len(alone) - 2
    # Not those that are asked for each screw: which they are follows from the aim.
    assert {name for name in readings - set(asked) if not name.startswith("tool_turns")} == set()

"""How fast a job is kept, checked, replayed and reported.

Appends are those of rehearsed jobs, one transaction for each answer, each on the disk (SQLite's
`synchronous = FULL`) before the next: the figure is that of the disk as much as of the program.
"""

from __future__ import annotations

import argparse
import itertools
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from companion.facts.kinds import Fact
from companion.record import MemoryLog, SqliteLog, StoredEvent, open_for_reading, open_record
from companion.record.audit.verify import verify
from companion.report.report import write_report
from companion.runtime import assembly
from companion.runtime.loop import replay_record
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice
from tests.benchmarks.common import Results, percentile, rounded
from tests.benchmarks.rehearse import loaded_job

NAME = "record"
WHAT = "events kept a second with full sync, verified a second; replay and report of a job"


class GroupedLog(MemoryLog):
    """A log that also remembers which facts came together."""

    def __init__(self) -> None:
        super().__init__()
        self.groups: list[tuple[Fact, ...]] = []

    def append(self, facts: Sequence[Fact]) -> tuple[StoredEvent, ...]:
        self.groups.append(tuple(facts))
        return super().append(facts)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--sessions", type=int, default=10, help="jobs to keep in one file")
    parser.add_argument("--folder", type=Path, help="where to write; default: a temporary folder")


def run(options: argparse.Namespace) -> Results:
    """Keep, verify, replay and report, in a folder that is removed afterwards."""
    log = GroupedLog()
    rehearsal = make_rehearsal(loaded_job(), options.seed)
    run_rehearsal(loaded_job(), assembly.language(), rehearsal, SilentVoice(), log)
    with tempfile.TemporaryDirectory(dir=options.folder) as name:
        path = Path(name) / "bench.sqlite"
        session_id, appends_ms = kept(path, log.groups, options.sessions)
        events = sum(map(len, log.groups)) * options.sessions
        began_s = time.perf_counter()
        findings = verify(path)
        verify_s = time.perf_counter() - began_s
        assert not findings, findings
        return {
            "benchmark": NAME,
            "sessions": options.sessions,
            "events": events,
            "appends": len(appends_ms),
            "append_events_per_s": rounded(events / (sum(appends_ms) / 1e3)),
            "append_ms_median": rounded(percentile(appends_ms, 50)),
            "append_ms_p95": rounded(percentile(appends_ms, 95)),
            "verify_events_per_s": rounded(events / verify_s),
            "replay_s": rounded(replay_seconds(path, session_id)),
            "report_s": rounded(report_seconds(path, session_id)),
            "record_bytes_per_job": path.stat().st_size // options.sessions,
        }


def kept(path: Path, groups: Sequence[Sequence[Fact]], sessions: int) -> tuple[str, list[float]]:
    """Append the same job so many times; the last session's id, and milliseconds an append."""
    appends_ms = []
    session_id = ""
    with open_record(path) as database:
        for _ in range(sessions):
            session_id = database.create_session()
            log = SqliteLog(database, session_id)
            for group in groups:
                began_ns = time.perf_counter_ns()
                log.append(group)
                appends_ms.append((time.perf_counter_ns() - began_ns) / 1e6)
    return session_id, appends_ms


def replay_seconds(path: Path, session_id: str) -> float:
    """Reading a job up to its last answer and replaying it, checked against its facts."""
    began_s = time.perf_counter()
    with open_for_reading(path) as database:
        events = list(database.events(session_id))
    last_heard = max(event.seq for event in events if event.kind == "heard")
    broken_off = itertools.takewhile(lambda event: event.seq < last_heard, events)
    replay_record(loaded_job(), assembly.language(), broken_off)
    return time.perf_counter() - began_s


def report_seconds(path: Path, session_id: str) -> float:
    """Writing the report of one job."""
    began_s = time.perf_counter()
    write_report(path, session_id, path.with_suffix(".html"))
    return time.perf_counter() - began_s

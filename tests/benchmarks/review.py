"""How long a person waits who lists, searches and reads a record of very many sessions.

Each figure in milliseconds is the median over several requests of one kind, each with the record
and its index opened anew, as a page does for each request; `_worst_ms` is the slowest of all kinds.
`verify` reads and hashes every event. What the pages take is that and a request's way over
loopback. The record is made as `many_sessions` says.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from random import Random
from statistics import median
from typing import TypeVar

from companion.archive.changes import SETTLED_AFTER_S
from companion.archive.digest import BROKEN_OFF, Digest
from companion.archive.index import index_path
from companion.archive.listing import Filters, choices, digest_of, list_sessions
from companion.archive.opening import open_archive, session_events
from companion.archive.search import search
from companion.record import open_record
from companion.record.audit.seal import make_seal
from companion.record.audit.verify import verify
from companion.report.report import write_report
from companion.report.timeline import line_of
from companion.report.wording import wording_in
from tests.benchmarks.common import Results, rounded
from tests.benchmarks.many_sessions import BAYS, TECHNICIANS, VEHICLES, make_record

NAME = "review"
WHAT = "list, search and read a record of many sessions; report; verified a second; bytes"

REPEATS = 7
Done = TypeVar("Done")
LISTS = (
    Filters(),
    Filters(since="2031-03-01", until="2031-03-31"),
    Filters(technician=TECHNICIANS[1], vehicle=VEHICLES[2]),
    Filters(bay=BAYS[0], result="inside"),
)
# The commonest answer, a common word of the companion, several words, a phrase, a beginning, a
# word that occurs once in a session, one that nobody said; then common words under a filter.
SEARCHES = (
    ("yes", Filters()),
    ("millimetres", Filters()),
    ("bring left end up", Filters()),
    ('"four one nine"', Filters()),
    ("thrus*", Filters()),
    ("chocked", Filters()),
    ("giraffe", Filters()),
    ("yes", Filters(technician=TECHNICIANS[0], vehicle=VEHICLES[0], bay=BAYS[0])),
    ("trial", Filters(technician=TECHNICIANS[0])),
)


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--sessions", type=int, default=10_000, help="sessions in the record")
    parser.add_argument(
        "--record", type=Path, help="a record that 'many_sessions' made earlier, to be asked again"
    )
    parser.add_argument("--folder", type=Path, help="where to write; default: a temporary folder")


def run(options: argparse.Namespace) -> Results:
    """Make the record, index it, then ask of it; the folder is removed afterwards."""
    with tempfile.TemporaryDirectory(dir=options.folder) as name:
        path = options.record or Path(name) / "bench.sqlite"
        made_s, _ = timed(
            lambda: options.record or make_record(path, options.sessions, options.seed)
        )
        index_path(path).unlink(missing_ok=True)
        index_s, _ = timed(lambda: _listed(path, Filters()))
        with open_archive(path) as archive:
            every = list_sessions(archive, limit=sys.maxsize).sessions
        events = sum(session.event_count for session in every)
        verify_s, findings = timed(lambda: verify(path))
        assert not findings, findings
        with open_record(path) as database:
            seal_s, _ = timed(lambda: make_seal(database))
        # As a page that was opened some time after the last job.
        time.sleep(2 * SETTLED_AFTER_S)
        _listed(path, Filters())
        lists = [_median_ms(lambda f=f: _listed(path, f)) for f in LISTS]  # type: ignore[misc]
        searches = [
            _median_ms(lambda t=t, f=f: _searched(path, t, f))  # type: ignore[misc]
            for t, f in SEARCHES
        ]
        read, whole = _some_sessions(every, options.seed)
        sessions = [_median_ms(lambda s=s: _read(path, s)) for s in read]  # type: ignore[misc]
        reports = [
            timed(lambda s=s: write_report(path, s, path.with_suffix(".html")))[0] for s in whole
        ]  # type: ignore[misc]
        return {
            "benchmark": NAME,
            "sessions": len(every),
            "events": events,
            "events_per_session": rounded(events / len(every), 3),
            "list_ms": rounded(median(lists)),
            "list_worst_ms": rounded(max(lists)),
            "search_ms": rounded(median(searches)),
            "search_worst_ms": rounded(max(searches)),
            "session_ms": rounded(median(sessions)),
            "session_worst_ms": rounded(max(sessions)),
            "report_s": rounded(median(reports)),
            "verify_events_per_s": rounded(events / verify_s),
            "bytes_per_event": rounded(path.stat().st_size / events),
            "record_bytes": path.stat().st_size,
            "index_bytes_per_event": rounded(index_path(path).stat().st_size / events),
            "first_index_s": rounded(index_s),
            "seal_s": rounded(seal_s),
            "made_s": None if options.record else rounded(made_s),
        }


def timed(do: Callable[[], Done]) -> tuple[float, Done]:
    """Seconds that it took, and what came of it."""
    began_s = time.perf_counter()
    done = do()
    return time.perf_counter() - began_s, done


def _median_ms(do: Callable[[], object]) -> float:
    return median(timed(do)[0] for _ in range(REPEATS)) * 1e3


def _listed(path: Path, filters: Filters) -> None:
    with open_archive(path) as archive:
        list_sessions(archive, filters)
        choices(archive)


def _searched(path: Path, typed: str, filters: Filters) -> None:
    with open_archive(path) as archive:
        search(archive, typed, filters)


def _read(path: Path, session_id: str) -> None:
    with open_archive(path) as archive:
        digest_of(archive, session_id)
        for event in session_events(archive, session_id):
            line_of(event, wording_in())


def _some_sessions(every: Sequence[Digest], seed: int) -> tuple[list[str], list[str]]:
    """Some sessions to read, and some whole ones to report."""
    random = Random(seed)
    whole = [session.session_id for session in every if session.result != BROKEN_OFF]
    ids = [session.session_id for session in every]
    return random.sample(ids, min(9, len(ids))), random.sample(whole, min(5, len(whole)))

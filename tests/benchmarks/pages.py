"""How long a person waits for a page of the review, in a real browser.

From the click to the end of loading (the browser's own navigation timing), with the server on the
same machine; medians. The record is made as `many_sessions` says and indexed before, as
`companion review serve` has it after its first page.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path
from statistics import median

from playwright.sync_api import Page

from companion.archive.listing import Filters, list_sessions
from companion.archive.opening import open_archive
from companion.browse.server import page_server
from companion.statistics.figures_check import open_summaries
from tests.benchmarks.common import Results, rounded
from tests.benchmarks.many_sessions import make_record
from tests.browsers import running_browser, serving_on_free_port

NAME = "pages"
WHAT = "the review's pages of many sessions in a real browser: milliseconds until loaded"
REPEATS = 7
TIMING = "const t = performance.getEntriesByType('navigation')[0]; t.loadEventEnd - t.startTime"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--sessions", type=int, default=10_000, help="sessions in the record")
    parser.add_argument("--record", type=Path, help="a record made before, instead of a new one")


def run(options: argparse.Namespace) -> Results:
    """Make the record (unless given), index it, serve it, and go through its pages."""
    with tempfile.TemporaryDirectory() as name:
        path = options.record or Path(name) / "bench.record"
        if options.record is None:
            make_record(path, options.sessions, options.seed)
        began_s = time.perf_counter()
        with open_archive(path) as archive, open_summaries(archive):
            sessions = list_sessions(archive, limit=1).total
            whole = list_sessions(archive, Filters(result="inside"), limit=2).sessions
        prepared_s = time.perf_counter() - began_s
        first, second = (session.session_id for session in whole)
        addresses = {
            "list": "/",
            "filtered_list": "/?bay=Bay+one&page=20",
            "search": "/search?q=millimetres",
            "session": f"/session?id={first}",
            "compare": f"/compare?session={first}&session={second}",
            "statistics": "/statistics",
        }
        with serving_on_free_port(page_server(path)) as address, running_browser() as browser:
            page = browser.new_page()
            found = {
                f"{what}_ms": rounded(median(_load_ms(page, address + where)))
                for what, where in addresses.items()
            }
    return {"benchmark": NAME, "sessions": sessions, "prepared_s": rounded(prepared_s), **found}


def _load_ms(page: Page, address: str) -> list[float]:
    times = []
    for _ in range(REPEATS):
        page.goto(address)
        times.append(float(page.evaluate(TIMING)))
    return times

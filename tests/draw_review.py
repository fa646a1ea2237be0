"""The pictures of a report and of the review's pages, drawn anew: `python -m tests.draw_review`.

One rehearsed job in which a screw is first turned the wrong way gives the report; a record of many
sessions, as `tests/benchmarks/many_sessions.py` makes it, the pages. A real browser draws both.
"""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path

import numpy as np
from PIL import Image
from playwright.sync_api import Browser

from companion.browse.server import page_server, prepare
from companion.job.loader import JobPaths
from companion.record import open_record
from companion.record.clock import FixedClock
from companion.record.journal import SqliteLog
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, make_rehearsal, run_rehearsal
from companion.simulation.slips import PlannedSlip
from companion.speech.silent import SilentVoice
from tests.benchmarks.many_sessions import make_record
from tests.browsers import running_browser, serving_on_free_port
from tests.rendered import render_report

FOLDER = Path(__file__).parents[1] / "docs"
SEED, SESSIONS = 2, 300
REPORT_SIZE, REPORT_SCALE = {"width": 1040, "height": 1960}, 860 / 1040
LIST_SIZE = {"width": 1100, "height": 760}
STATISTICS_SIZE = {"width": 1100, "height": 1250}
PAGES_OF_PAPER = 3
MARGIN, PAPER = 16, 235


def main() -> None:
    """Draw all four."""
    with tempfile.TemporaryDirectory() as name, running_browser() as browser:
        draw_report(browser, Path(name))
        draw_pages(browser, Path(name))


def draw_report(browser: Browser, folder: Path) -> None:
    """The top of a report on a screen, and its pages on paper without the appendix."""
    page = browser.new_page(viewport=REPORT_SIZE, device_scale_factor=REPORT_SCALE)
    page.set_content(rehearsed_report(folder / "report.record"))
    page.screenshot(path=FOLDER / "report.png")
    page.pdf(path=folder / "report.pdf", format="A4", prefer_css_page_size=True)
    subprocess.run(
        ["pdftoppm", "-r", "50", "-l", str(PAGES_OF_PAPER), "report.pdf", "page"],
        cwd=folder,
        check=True,
    )
    sheets = [np.asarray(Image.open(path)) for path in sorted(folder.glob("page*"))]
    framed = [
        np.pad(sheet, ((MARGIN, MARGIN), (MARGIN, MARGIN), (0, 0)), constant_values=PAPER)
        for sheet in sheets
    ]
    Image.fromarray(np.hstack(framed)).save(FOLDER / "report-pages.png", optimize=True)


def rehearsed_report(record: Path) -> str:
    """The report of one job in the rehearsal bay."""
    loaded = assembly.load(JobPaths())
    slips = (PlannedSlip("screw_wrong_way", 1),)
    rehearsal = make_rehearsal(loaded, SEED, spread=HARDER, slips=slips)
    with open_record(record, FixedClock(step_ms=800)) as database:
        session_id = database.create_session()
        log = SqliteLog(database, session_id)
        run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    return render_report(record, session_id)


def draw_pages(browser: Browser, folder: Path) -> None:
    """The list of sessions, and what many sessions say together."""
    record = folder / "many.record"
    make_record(record, SESSIONS, SEED)
    prepare(record)
    with serving_on_free_port(page_server(record)) as address:
        for path, name, size in (
            ("/", "review-sessions", LIST_SIZE),
            ("/statistics", "review-statistics", STATISTICS_SIZE),
        ):
            page = browser.new_page(viewport=size)
            page.goto(address + path)
            page.screenshot(path=FOLDER / f"{name}.png")


if __name__ == "__main__":
    main()

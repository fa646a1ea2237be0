"""The report on paper: three pages that say it all, the appendix from a new page on."""

from __future__ import annotations

import subprocess
from pathlib import Path
from typing import Any

import pypdf
import pytest

from companion.job.loader import JobPaths
from companion.record import FixedClock, SqliteLog, open_record
from companion.report.report import write_report
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, choose_slips, make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice
from companion.steps.aim.state import aim_round
from tests.browsers import CHROMIUM, FLAGS

MOST_MAIN_PAGES = 3


def printed(report: Path) -> list[str]:
    """The text of each page, printed by the browser's own command line."""
    paper = report.with_suffix(".pdf")
    profile = f"--user-data-dir={report.parent / 'profile'}"
    to_paper = (f"--print-to-pdf={paper}", "--no-pdf-header-footer")
    subprocess.run(
        [CHROMIUM, "--headless", *FLAGS, profile, *to_paper, report.as_uri()],
        check=True,
        capture_output=True,
        timeout=120,
    )
    pages = pypdf.PdfReader(paper).pages
    width, height = pages[0].mediabox.width, pages[0].mediabox.height
    assert (float(width), float(height)) == pytest.approx((595, 842), abs=2)  # A4 in points
    return [page.extract_text() for page in pages]


def rehearsed(folder: Path, rounds: int) -> Path:
    """The report of the first job of a few that takes so many rounds on the screws."""
    loaded, grammar = assembly.load(JobPaths()), assembly.language()
    for seed in range(1, 60):
        path = folder / f"job{seed}.record"
        with open_record(path, FixedClock(step_ms=2300)) as database:
            log = SqliteLog(database, database.create_session())
            rehearsal = make_rehearsal(
                loaded, seed, spread=HARDER if rounds > 1 else None, slips=choose_slips(seed, 3)
            )
            aim = aim_round(run_rehearsal(loaded, grammar, rehearsal, SilentVoice(), log).state)
        if aim is not None and aim.round == rounds:
            return write_report(path, log.session_id, folder / "report.html")
    raise AssertionError(f"no job of 59 took {rounds} rounds")


@pytest.mark.usefixtures("chromium")
@pytest.mark.parametrize("rounds", [1, 3])
def test_the_main_part_is_three_pages_at_most_and_the_appendix_begins_anew(
    tmp_path: Path, rounds: int
) -> None:
    pages = printed(rehearsed(tmp_path, rounds))
    first_of_appendix = next(n for n, told in enumerate(pages) if "Appendix:" in told)
    assert first_of_appendix <= MOST_MAIN_PAGES
    assert pages[first_of_appendix].lstrip().startswith("Appendix:")
    main = " ".join(" ".join(pages[:first_of_appendix]).split())
    for told in ("Aim before and after", "Readings and decisions that count", "Cautions given"):
        assert told in main
    assert "Head hash of this session" in main
    assert f"Screws, round {rounds}" in main
    assert len(pages) < 20


@pytest.mark.usefixtures("chromium")
def test_a_job_with_sounds_prints_that_they_were_kept_and_no_players(
    finished_job: Any, tmp_path: Path
) -> None:
    report = write_report(finished_job.path, finished_job.session_id, tmp_path / "report.html")
    assert "sound kept" in "".join(printed(report))

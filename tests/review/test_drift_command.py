"""`companion review drift`: the table of bays in the terminal, and what the watch noticed."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner

from companion.cli import main
from companion.record import Entry, FixedClock, SqliteLog, open_record

STEADY = [0.1, -0.1, 0.2, -0.2, 0.15, -0.05, 0.25, -0.15, 0.05, -0.25]


def jobs(path: Path, values: list[float], bay: str) -> None:
    for number, value in enumerate(values):
        clock = FixedClock(f"2031-04-{number + 1:02}T08:00:00.000Z")
        with open_record(path, clock) as database:
            log = SqliteLog(database, database.create_session())
            log.append([Entry("opened", {"bay": {"name": bay}})])
            outputs = {"floor_twist_mm": {"value": value, "u": 0.2, "unit": "mm"}}
            log.append([Entry("computed", {"step_id": "floor", "outputs": outputs, "inputs": {}})])


def told(path: Path) -> str:
    ended = CliRunner().invoke(main, ["review", "drift", "--record", str(path)])
    assert ended.exit_code == 0, ended.output
    return ended.output


def test_of_few_jobs_nothing_is_said(tmp_path: Path) -> None:
    jobs(tmp_path / "shop.record", STEADY, "Bay two")
    assert "too few sessions to tell" in told(tmp_path / "shop.record")


def test_what_changed_is_told_with_its_day(tmp_path: Path) -> None:
    moved = [*STEADY, *STEADY, *(value + 2.0 for value in STEADY)]
    jobs(tmp_path / "shop.record", moved, "Bay one")
    assert "changed: Floor twist on 2031-04-21" in told(tmp_path / "shop.record")


def test_the_job_with_which_the_watch_signals_is_told_once(tmp_path: Path) -> None:
    noticed = []
    for count in range(20, 30):
        path = tmp_path / f"{count}.record"
        jobs(path, [*STEADY, *STEADY, *(value + 2.0 for value in STEADY[: count - 20])], "Bay one")
        noticed += [line for line in told(path).splitlines() if "latest job" in line]
    assert noticed == [
        "The latest job in Bay one: Floor twist has likely changed, since 2031-04-21."
    ]

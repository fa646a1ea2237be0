"""The figures beside the record are a file that anybody may change: they are held against it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.archive.opening import open_archive
from companion.cli import main
from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.statistics import figures_check
from companion.statistics.figures_check import figures_problems, open_summaries
from companion.statistics.store import summaries_path

JOBS = 80


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Eighty jobs of one bay, whose charts show the latest sixty."""
    path = tmp_path_factory.mktemp("shop") / "shop.record"
    with open_record(path, FixedClock("2031-04-01T08:00:00.000Z", step_ms=60_000)) as database:
        for number in range(JOBS):
            log = SqliteLog(database, database.create_session())
            outputs = {"floor_twist_mm": {"value": number / 100, "u": 0.2, "unit": "mm"}}
            log.append(
                [
                    Entry("opened", {"technician": "A. Example", "bay": {"name": "Bay one"}}),
                    Entry("stage", {"title": "Floor"}),
                    Entry("computed", {"step_id": "floor", "outputs": outputs}),
                    Entry("heard", {"meaning": {"kind": "yes"}, "ears": "own"}),
                    Entry("finished", {"result": "inside"}),
                ]
            )
    return path.read_bytes()


@pytest.fixture
def record(made: bytes, tmp_path: Path) -> Path:
    path = tmp_path / "shop.record"
    path.write_bytes(made)
    with opened(path):
        pass
    return path


@contextmanager
def opened(record: Path) -> Iterator[sqlite3.Connection]:
    with open_archive(record) as archive, open_summaries(archive) as store:
        yield store


def everything(record: Path) -> list[object]:
    with opened(record) as store:
        return [
            store.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall()
            for table in ("session", "measure", "stage", "heard")
        ]


def change(record: Path, statement: str) -> None:
    with closing(sqlite3.connect(summaries_path(record), isolation_level=None)) as stranger:
        stranger.execute(statement)


CHARTED = [
    "UPDATE measure SET value = 5.0 WHERE number = 80",
    "UPDATE measure SET value = 5.0 WHERE number = 21",
    "DELETE FROM measure WHERE number = 50",
    "DELETE FROM measure",
    "INSERT INTO measure VALUES (60, 'plate_plumb_deg', 0.5)",
    "INSERT INTO measure VALUES (999, 'floor_twist_mm', 0.5)",
    "UPDATE session SET id = 'another' WHERE number = 70",
    "UPDATE session SET bay = 'another' WHERE number = 75",
    "UPDATE session SET head = hex(zeroblob(32))",
    "UPDATE session SET opened_utc = '2040-01-01T00:00:00.000Z' WHERE number = 80",
    "UPDATE session SET number = 1000 WHERE number = 5",
    "DELETE FROM session WHERE number = 80",
    "CREATE TRIGGER moves AFTER INSERT ON measure BEGIN UPDATE measure SET value = 9; END",
    "CREATE VIEW other AS SELECT * FROM measure",
]


@pytest.mark.parametrize("statement", CHARTED)
def test_nothing_that_a_chart_shows_is_taken_from_a_changed_file(
    record: Path, statement: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even with luck on the stranger's side: no session is drawn."""
    monkeypatch.setattr(figures_check, "DRAWN", 0)
    before = everything(record)
    change(record, statement)
    assert everything(record) == before


NOT_CHARTED = [
    "UPDATE measure SET value = 5.0 WHERE number <= 20",
    "UPDATE session SET bay = 'another' WHERE number = 3",
    "UPDATE session SET technician = 'Somebody else'",
    "UPDATE stage SET seconds = 1000",
    "UPDATE heard SET outcome = 'refused'",
    "DELETE FROM heard",
]


@pytest.mark.parametrize("statement", NOT_CHARTED)
def test_of_what_no_chart_shows_some_sessions_are_drawn(
    record: Path, statement: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = everything(record)
    change(record, statement)
    monkeypatch.setattr(figures_check, "DRAWN", JOBS)
    assert everything(record) == before


@pytest.mark.parametrize("statement", [CHARTED[0], CHARTED[5], *NOT_CHARTED])
def test_verify_names_figures_that_say_otherwise_and_makes_them_anew(
    record: Path, statement: str
) -> None:
    assert figures_problems(record) == []
    change(record, statement)
    told = CliRunner().invoke(main, ["verify", "--record", str(record)])
    assert (told.exit_code, "figures beside the record" in told.output) == (7, True), told.output
    assert figures_problems(record) == []


def test_where_nobody_asked_for_statistics_there_is_nothing_to_check(record: Path) -> None:
    summaries_path(record).unlink()
    assert figures_problems(record) == []
    assert not summaries_path(record).exists()


def test_jobs_stand_in_the_order_of_recording_whatever_the_clock_said(tmp_path: Path) -> None:
    path = tmp_path / "shop.record"
    for day, value in (("2031-04-01", 0.1), ("2040-01-01", 0.2), ("2031-04-02", 0.3)):
        with open_record(path, FixedClock(f"{day}T08:00:00.000Z")) as database:
            log = SqliteLog(database, database.create_session())
            outputs = {"floor_twist_mm": {"value": value, "u": 0.2, "unit": "mm"}}
            log.append([Entry("opened", {"bay": {"name": "Bay one"}})])
            log.append([Entry("computed", {"step_id": "floor", "outputs": outputs})])
    with opened(path) as store:
        found = store.execute("SELECT value FROM measure ORDER BY number").fetchall()
    assert [value for (value,) in found] == [0.1, 0.2, 0.3]

"""The index is a file that anybody may change: what it says is held against the record."""

from __future__ import annotations

import resource
import signal
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.archive.index import index_path
from companion.archive.index_check import index_problems, is_as_recorded
from companion.archive.listing import list_sessions
from companion.archive.opening import open_archive
from companion.archive.search import search
from companion.cli import main
from companion.record import Entry, FixedClock, SqliteLog, open_for_reading, open_record


def companion(*arguments: str | Path, code: int = 0) -> Result:
    result = CliRunner().invoke(main, [str(a) for a in arguments])
    assert result.exit_code == code, result.output
    return result


@pytest.fixture
def record(two_jobs_copied: Path) -> Path:
    companion("review", "list", "--record", two_jobs_copied)
    # From here on the index counts as up to date, and is not looked through any more.
    with open_archive(two_jobs_copied):
        pass
    return two_jobs_copied


def change(record: Path, statement: str) -> None:
    with closing(sqlite3.connect(index_path(record), isolation_level=None)) as stranger:
        stranger.create_function("casefolded", 1, str.casefold, deterministic=True)
        stranger.execute(statement)


CHANGES = [
    "UPDATE digest SET technician = 'Somebody else'",
    "UPDATE digest SET result = 'outside' WHERE number = 2",
    "UPDATE digest SET vehicle = 'another', bay = 'another' WHERE number = 1",
    "UPDATE digest SET opened_utc = '2001-01-01T00:00:00.000Z'",
    "UPDATE digest SET signatures = 3",
    "UPDATE digest SET readings = readings + 1",
    "UPDATE digest SET clock_trusted = 1 - clock_trusted",
    "UPDATE digest SET event_count = event_count + 1",
    "UPDATE digest SET head_hash = hex(zeroblob(32))",
    "UPDATE digest SET is_rehearsal = 0",
    "DELETE FROM digest WHERE number = 1",
    "CREATE TRIGGER blames AFTER INSERT ON digest BEGIN UPDATE digest SET technician = 'X'; END",
    "CREATE TABLE other (n)",
]


@pytest.mark.parametrize("statement", CHANGES)
def test_one_line_in_the_index_blames_nobody(record: Path, statement: str) -> None:
    commands = (("review", "list"), ("review", "search", "chocked"), ("review", "show"))
    before = [companion(*command, "--record", record).output for command in commands]
    for command, told in zip(commands, before, strict=True):
        change(record, statement)
        assert companion(*command, "--record", record).output == told
        # What was wrong has been made anew, or is not there to be changed again.
        with closing(sqlite3.connect(index_path(record))) as index:
            index.execute("DROP TRIGGER IF EXISTS blames")
            index.execute("DROP TABLE IF EXISTS other")


@pytest.mark.parametrize(
    "statement",
    [
        *CHANGES[:2],
        "UPDATE digest SET unreadable = 3",
        "INSERT INTO words (rowid, said, heard, noted) VALUES ((1 << 24) | 3, 'giraffe', '', '')",
    ],
)
def test_verify_names_an_index_that_says_otherwise(record: Path, statement: str) -> None:
    assert index_problems(record) == []
    change(record, statement)
    told = companion("verify", "--record", record, code=7).output
    assert "the index beside the record" in told
    assert companion("verify", "--record", record).output.startswith("Unbroken")


def test_of_a_job_that_goes_on_only_what_was_indexed_is_compared(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session("s1"))
        log.append([Entry("opened", {"technician": "A. Example"}), Entry("stopped", {"why": "x"})])
        with open_archive(path) as archive:
            (digest,) = list_sessions(archive).sessions
        assert (digest.result, digest.technician) == ("stopped", "A. Example")
        log.append([Entry("accepted", {"reading_id": "x"}), Entry("finished", {"result": "y"})])
        with open_for_reading(path) as reading:
            assert is_as_recorded(digest, reading)
        with open_archive(path) as archive:
            assert list_sessions(archive).sessions[0].result == "y"


def test_where_the_disk_is_full_the_index_is_made_in_memory(record: Path) -> None:
    """A limit on the size of files stands for the full disk: SQLite says the same of both."""
    index_path(record).unlink()
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    ignored = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (8192, limits[1]))
    try:
        with open_archive(record) as archive:
            assert len(list_sessions(archive).sessions) == 2
            assert search(archive, "chocked").sessions
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, ignored)

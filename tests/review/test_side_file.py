"""Any number of programs and threads open a record's index and statistics at once."""

from __future__ import annotations

import os
import sqlite3
import stat
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from companion.archive import changes, side_file
from companion.archive.index import INDEX, index_path
from companion.archive.listing import Filters
from companion.archive.opening import open_archive
from companion.archive.side_file import NotThere, SideFile
from companion.browse.record_source import RecordSource
from companion.errors import RecordError
from companion.record import Database, Entry, SqliteLog, open_for_reading, open_record
from companion.statistics.figures_check import open_summaries
from companion.statistics.store import SUMMARIES, refresh_summaries, summaries_path

KINDS = [INDEX, SUMMARIES]


@pytest.mark.parametrize("kind", KINDS)
def test_it_waits_while_another_is_making_it(kind: SideFile, tmp_path: Path) -> None:
    path = tmp_path / "bay.record.side"
    other = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    # Before there is a write-ahead log, one who reads keeps another from starting one.
    other.executescript("BEGIN; SELECT * FROM sqlite_schema; CREATE TABLE half (n)")
    timer = threading.Timer(0.3, other.close)
    timer.start()
    began_s = time.monotonic()
    with closing(kind.open(path)) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert time.monotonic() - began_s >= 0.25
    timer.join()


@pytest.mark.parametrize("kind", KINDS)
def test_one_that_stays_busy_is_told_of(
    kind: SideFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(side_file, "BUSY_TIMEOUT_S", 0.2)
    path = tmp_path / "bay.record.side"
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(RecordError, match=r"side: another program is bringing it up to date"):
            kind.open(path)


@pytest.mark.parametrize("kind", KINDS)
def test_it_is_for_its_owner_alone_and_no_link(kind: SideFile, tmp_path: Path) -> None:
    path = tmp_path / "bay.record.side"
    kind.open(path).close()
    assert stat.S_IMODE(os.stat(path).st_mode) == 0o600
    link = tmp_path / "bay.record.link"
    link.symlink_to(path)
    with pytest.raises(NotThere, match="link"):
        kind.open(link)


@pytest.mark.parametrize("kind", KINDS)
def test_where_there_is_no_room_it_is_made_in_memory(kind: SideFile, tmp_path: Path) -> None:
    path = tmp_path / "bay.record.side"
    files: list[str] = []

    def refresh(connection: sqlite3.Connection) -> None:
        files.append(connection.execute("PRAGMA database_list").fetchone()[2])
        if files[-1]:
            # As full as a disk: no page more than there are.
            connection.execute("PRAGMA max_page_count = 1")
        with side_file.writing(connection):
            connection.execute("CREATE TEMP TABLE room (n)")
            connection.execute("CREATE TABLE more (n)")
            connection.execute("INSERT INTO more VALUES (zeroblob(100000))")

    with kind.kept(path, refresh) as connection:
        assert connection.execute("SELECT COUNT(*) FROM more").fetchone() == (1,)
    assert files == [str(path), ""]


@pytest.mark.parametrize("kind", KINDS)
def test_what_the_database_counts_of_itself_is_no_strangers(kind: SideFile, tmp_path: Path) -> None:
    path = tmp_path / "bay.record.side"
    for statement in ("INSERT INTO kept_here VALUES (1)", "ANALYZE"):
        with closing(kind.open(path)) as connection:
            connection.execute("CREATE TEMP TABLE kept_here (n)")
            connection.execute(statement)
    with closing(kind.open(path)) as connection:
        # It was not made anew: then what was counted would be gone.
        counted = "SELECT COUNT(*) FROM sqlite_schema WHERE name = 'sqlite_stat1'"
        assert connection.execute(counted).fetchone() == (1,)


def test_a_commit_is_noticed_that_the_files_do_not_show(
    two_jobs_copied: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A slow disk has a commit in its log a good while before anybody can see it."""
    monkeypatch.setattr(changes, "SETTLED_AFTER_S", -1.0)
    with open_record(two_jobs_copied) as written, open_for_reading(two_jobs_copied) as record:
        log = SqliteLog(written, written.create_session())
        states = {path: os.stat(path) for path in two_jobs_copied.parent.iterdir()}
        monkeypatch.setattr(changes, "os", SimpleNamespace(stat=lambda path: states[path]))
        before = changes.fingerprint(record)
        assert before == changes.fingerprint(record)
        log.append([Entry("said", {"text": "x"})])
        assert changes.fingerprint(record) != before


@pytest.mark.parametrize(
    "spoiled",
    ["CREATE TABLE strange (n)", "PRAGMA user_version = 3", "DELETE FROM digest", "ANALYZE"],
)
def test_pages_show_every_job_whatever_happens_to_the_index_meanwhile(
    two_jobs_copied: Path, spoiled: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(changes, "SETTLED_AFTER_S", -1.0)
    source = RecordSource(two_jobs_copied)

    def listed() -> int:
        with source.reading() as reading:
            return reading.listed(Filters(), limit=10, offset=0, order="newest").total

    assert (listed(), listed()) == (2, 2)
    with closing(sqlite3.connect(index_path(two_jobs_copied), isolation_level=None)) as stranger:
        stranger.execute(spoiled)
    assert (listed(), listed()) == (2, 2)


def test_a_summary_that_another_page_kept_meanwhile_is_kept_once(
    two_jobs_copied: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = summaries_path(two_jobs_copied)
    really = Database.read_what_can_be_read
    with (
        open_archive(two_jobs_copied) as archive,
        closing(SUMMARIES.open(path)) as store,
        closing(SUMMARIES.open(path)) as another,
    ):
        others = iter([another])

        def read(record: Database, *asked: Any) -> list[sqlite3.Row]:
            rows = really(record, *asked)
            # The other page's turn comes between what this one reads and what it writes.
            for other in others:
                refresh_summaries(other, record)
            return rows

        monkeypatch.setattr(Database, "read_what_can_be_read", read)
        assert refresh_summaries(store, archive.record) == 2
        assert store.execute("SELECT COUNT(*) FROM session").fetchone() == (2,)


def test_many_pages_at_once_of_a_record_that_was_never_listed(two_jobs_copied: Path) -> None:
    together = threading.Barrier(6)

    def sessions(_: int) -> int:
        together.wait(20)
        with open_archive(two_jobs_copied) as archive, open_summaries(archive) as store:
            (listed,) = archive.index.execute("SELECT COUNT(*) FROM digest").fetchone()
            (counted,) = store.execute("SELECT COUNT(*) FROM session").fetchone()
            assert listed == counted
            return int(listed)

    with ThreadPoolExecutor(6) as pages:
        assert list(pages.map(sessions, range(6))) == [2] * 6

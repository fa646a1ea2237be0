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
from typing import Any

import pytest

from companion.archive import side_file
from companion.archive.index import INDEX
from companion.archive.opening import open_archive
from companion.archive.side_file import SideFile
from companion.errors import RecordError
from companion.record import Database
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
    with pytest.raises(OSError, match="link"):
        kind.open(link)


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

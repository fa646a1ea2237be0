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
from click.testing import CliRunner

from companion.archive import changes, side_file
from companion.archive.index import INDEX, index_path
from companion.archive.listing import Filters
from companion.archive.opening import open_archive
from companion.archive.side_file import Damaged, NotThere, SideFile
from companion.browse.record_source import RecordSource
from companion.cli import main
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


def _cut_short(path: Path) -> None:
    os.truncate(path, os.stat(path).st_size // 2)


def _header_lost(path: Path) -> None:
    with path.open("r+b") as file:
        file.write(bytes(4096))


def _all_lost(path: Path) -> None:
    path.write_bytes(bytes(os.stat(path).st_size))


def _first_bytes_lost(path: Path) -> None:
    with path.open("r+b") as file:
        file.write(b"?" * 16)


def _schema_lost(path: Path) -> None:
    with path.open("r+b") as file:
        file.seek(100)
        file.write(b"\xff" * 3996)


def _pages_lost(path: Path) -> None:
    with path.open("r+b") as file:
        file.seek(4096)
        file.write(b"\xff" * (os.stat(path).st_size - 4096))


SPOILED = [_cut_short, _header_lost, _all_lost, _first_bytes_lost, _schema_lost, _pages_lost]


def _listed_and_counted(record: Path) -> tuple[int, int]:
    with open_archive(record) as archive, open_summaries(archive) as store:
        (listed,) = archive.index.execute("SELECT COUNT(*) FROM digest").fetchone()
        (counted,) = store.execute("SELECT COUNT(*) FROM session").fetchone()
        return listed, counted


def _settled(path: Path) -> None:
    """Everything in the file itself, as SQLite leaves it when the last one closes it."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    assert not path.with_name(path.name + "-wal").exists()


def _is_sound(path: Path) -> bool:
    with closing(sqlite3.connect(path)) as connection:
        return bool(connection.execute("PRAGMA integrity_check").fetchone() == ("ok",))


@pytest.mark.parametrize("log_left", [False, True])
@pytest.mark.parametrize("spoil", SPOILED)
@pytest.mark.parametrize("beside", [index_path, summaries_path])
def test_a_damaged_one_is_made_anew(
    two_jobs_copied: Path, beside: Any, spoil: Any, log_left: bool
) -> None:
    path = beside(two_jobs_copied)
    assert _listed_and_counted(two_jobs_copied) == (2, 2)
    _settled(path)
    spoil(path)
    if log_left:
        path.with_name(path.name + "-wal").write_bytes(b"half a log" * 500)
    assert _listed_and_counted(two_jobs_copied) == (2, 2)
    assert _is_sound(path)


@pytest.mark.parametrize("spoil", SPOILED)
@pytest.mark.parametrize("beside", [index_path, summaries_path])
def test_verify_goes_on_where_one_is_damaged(
    two_jobs_copied: Path, beside: Any, spoil: Any
) -> None:
    path = beside(two_jobs_copied)
    assert _listed_and_counted(two_jobs_copied) == (2, 2)
    _settled(path)
    spoil(path)
    told = CliRunner().invoke(main, ["verify", "--record", str(two_jobs_copied)])
    assert told.exit_code == 0, told.output
    assert _is_sound(path)


@pytest.mark.parametrize("spoil", [_schema_lost, _pages_lost, _header_lost])
def test_others_that_have_it_open_go_on_when_it_is_made_anew(
    two_jobs_copied: Path, spoil: Any
) -> None:
    path = index_path(two_jobs_copied)
    _listed_and_counted(two_jobs_copied)
    _settled(path)
    spoil(path)
    together = threading.Barrier(6)

    def page(_: int) -> tuple[int, int]:
        together.wait(20)
        return _listed_and_counted(two_jobs_copied)

    with ThreadPoolExecutor(6) as pages:
        assert list(pages.map(page, range(6))) == [(2, 2)] * 6
    assert _is_sound(path)


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_something_else_is_left_as_it_is(kind: SideFile, tmp_path: Path) -> None:
    path = tmp_path / "bay.record.side"
    another = KINDS[1 - KINDS.index(kind)]
    another.open(path).close()
    _schema_lost(path)
    damaged_other = path.read_bytes()
    for content in (b"a letter to somebody\n" * 100, b"\0", damaged_other):
        path.write_bytes(content)
        if content == b"\0":
            continue
        with pytest.raises(RecordError, match="cannot be used as"):
            kind.open(path)
        assert path.read_bytes() == content


def test_damage_that_shows_in_what_is_asked_is_mended_for_the_next(two_jobs_copied: Path) -> None:
    path = index_path(two_jobs_copied)

    def asked() -> None:
        with open_archive(two_jobs_copied) as archive:
            archive.index.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            archive.index.execute("PRAGMA shrink_memory")
            _pages_lost(path)
            archive.index.execute("SELECT * FROM digest").fetchall()

    with pytest.raises(Damaged):
        asked()
    assert _is_sound(path)


@pytest.mark.parametrize("kind", KINDS)
def test_one_that_cannot_be_made_anew_is_made_in_memory(
    kind: SideFile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "bay.record.side"
    kind.open(path).close()
    _all_lost(path)

    def refused(*_: Any) -> bool:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(side_file, "made_anew", refused)
    files = []
    with kind.kept(path, lambda _: None) as connection:
        files = connection.execute("PRAGMA database_list").fetchall()
    assert [name for _, _, name in files] == [""]


@pytest.mark.parametrize("length", [243, 246, 247])
def test_a_record_of_a_long_name_is_listed_out_of_memory(
    two_jobs_copied: Path, length: int
) -> None:
    record = two_jobs_copied.rename(two_jobs_copied.with_name("r" * length))
    assert _listed_and_counted(record) == (2, 2)
    told = CliRunner().invoke(main, ["verify", "--record", str(record)])
    assert told.exit_code == 0, told.output

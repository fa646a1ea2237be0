"""Opening a record file: made, reopened, shared, damaged, too new."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record import (
    Database,
    Entry,
    FixedClock,
    SqliteLog,
    SystemClock,
    open_for_reading,
    open_record,
)
from companion.record.audit.verify import verify
from companion.record.database import speaking_plainly
from companion.record.migrations import MIGRATIONS, TRIGGER_NAMES


def test_a_new_file_is_made_in_the_newest_shape(database: Database) -> None:
    versions = database.read("SELECT number FROM schema_version ORDER BY number")
    assert [row["number"] for row in versions] == [step.number for step in MIGRATIONS]
    names = {row["name"] for row in database.read("SELECT name FROM sqlite_schema")}
    assert names >= TRIGGER_NAMES | {"session", "event"}


def test_every_table_is_strict(database: Database) -> None:
    tables = database.read("PRAGMA table_list")
    ours = [row for row in tables if not row["name"].startswith("sqlite_")]
    assert len(ours) == 6
    assert all(row["strict"] for row in ours)


def test_commits_are_synced_through_a_write_ahead_log(database: Database) -> None:
    assert database.read("PRAGMA journal_mode")[0]["journal_mode"] == "wal"
    assert database.read("PRAGMA synchronous")[0]["synchronous"] == 2
    assert database.read("PRAGMA foreign_keys")[0]["foreign_keys"] == 1


def test_reopening_carries_the_chain_on(record_path: Path, three_entries: list[Entry]) -> None:
    with open_record(record_path, FixedClock()) as database:
        session_id = database.create_session()
        stored = SqliteLog(database, session_id).append(three_entries)
    with open_record(record_path, FixedClock()) as database:
        (resumed,) = SqliteLog(database, session_id).append([Entry("resumed", {})])
    assert (resumed.seq, resumed.previous_hash) == (4, stored[-1].hash)
    assert verify(record_path) == []


def test_the_second_writer_is_refused_until_the_first_closes(record_path: Path) -> None:
    first = open_record(record_path)
    with pytest.raises(RecordError, match="already open for writing"):
        open_record(record_path)
    first.close()
    open_record(record_path).close()


def test_a_writer_in_another_program_is_named_by_its_process(
    database: Database, record_path: Path
) -> None:
    script = (
        "import sys; from pathlib import Path; from companion.record import open_record\n"
        "from companion.errors import RecordError\n"
        "try: open_record(Path(sys.argv[1]))\n"
        "except RecordError as error: print(error); sys.exit(7)"
    )
    run = subprocess.run(
        [sys.executable, "-c", script, str(record_path)], capture_output=True, text=True
    )
    assert run.returncode == 7, run.stderr
    assert f"process {os.getpid()}" in run.stdout


def test_a_failed_opening_lets_the_next_writer_in(record_path: Path) -> None:
    record_path.write_bytes(b"not a database, just some text" * 40)
    with pytest.raises(RecordError):
        open_record(record_path)
    record_path.unlink()
    open_record(record_path).close()


@pytest.mark.parametrize("opening", [open_record, open_for_reading])
def test_a_file_of_something_else_is_named_with_what_to_do(
    opening: object, record_path: Path
) -> None:
    record_path.write_bytes(b"not a database, just some text" * 40)
    with pytest.raises(RecordError, match=r"bay\.record.*damaged.*begin a new record file"):
        opening(record_path)  # type: ignore[operator]


@pytest.mark.parametrize("opening", [open_record, open_for_reading])
def test_a_database_of_another_program_is_left_alone(opening: object, record_path: Path) -> None:
    other = sqlite3.connect(record_path)
    other.execute("CREATE TABLE recipe (name TEXT)")
    other.close()
    before = record_path.read_bytes()
    with pytest.raises(RecordError, match="not a record of this program"):
        opening(record_path)  # type: ignore[operator]
    assert record_path.read_bytes() == before


def marked_with_version(record_path: Path, number: int) -> None:
    open_record(record_path).close()
    with closing(sqlite3.connect(record_path)) as newer:
        newer.execute(
            "INSERT INTO schema_version VALUES (?, 'later', '2040-01-01T00:00:00Z')", (number,)
        )
        newer.commit()


@pytest.mark.parametrize("opening", [open_record, open_for_reading])
@pytest.mark.parametrize("ahead", [1, 2, 99])
def test_a_file_from_a_newer_program_is_refused_already_one_version_ahead(
    opening: Callable[[Path], object], ahead: int, record_path: Path
) -> None:
    newest = MIGRATIONS[-1].number
    marked_with_version(record_path, newest + ahead)
    before = record_path.read_bytes()
    with pytest.raises(RecordError, match=f"version {newest + ahead}.* knows up to {newest}"):
        opening(record_path)
    assert record_path.read_bytes() == before


def test_a_file_of_the_newest_version_is_opened(record_path: Path) -> None:
    open_record(record_path).close()
    with open_record(record_path) as database:
        assert database.sessions() == ()


def test_a_page_of_garbage_is_found_at_opening(record_path: Path) -> None:
    with open_record(record_path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session())
        for _ in range(40):
            log.append([Entry("said", {"text": "x" * 400})])
    content = bytearray(record_path.read_bytes())
    content[-8192:-4096] = b"\xa5" * 4096
    record_path.write_bytes(content)
    with pytest.raises(RecordError, match="damaged"):
        open_record(record_path)
    assert verify(record_path)[0].kind == "damaged"


def test_reading_a_file_that_is_not_there_makes_none(record_path: Path) -> None:
    with pytest.raises(RecordError, match="no such record file"):
        open_for_reading(record_path)
    assert not record_path.exists()


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="folder must exist"):
        open_record(tmp_path / "nowhere" / "bay.record")


def test_a_closed_file_is_one_file_that_can_be_copied(
    record_path: Path, tmp_path: Path, three_entries: list[Entry]
) -> None:
    with open_record(record_path) as database:
        session_id = database.create_session()
        SqliteLog(database, session_id).append(three_entries)
    copy = tmp_path / "copy.record"
    copy.write_bytes(record_path.read_bytes())
    with open_for_reading(copy) as database:
        assert len(list(database.events(session_id))) == 3


def test_session_ids_sort_by_time_and_never_repeat(database: Database) -> None:
    ids = [database.create_session() for _ in range(20)]
    assert [session.session_id for session in database.sessions()] == ids == sorted(ids)
    assert len(set(ids)) == 20


def test_a_session_id_is_opened_once(database: Database) -> None:
    database.create_session("s1")
    with pytest.raises(RecordError, match="only ever added to"):
        database.create_session("s1")


def test_the_system_clock_goes_forward() -> None:
    clock = SystemClock()
    first, second = clock.now(), clock.now()
    assert second.monotonic_ns >= first.monotonic_ns
    assert first.at_utc.endswith("Z")


def test_published_migrations_were_not_edited() -> None:
    digests = [
        hashlib.sha256("\0".join(step.statements).encode()).hexdigest() for step in MIGRATIONS
    ]
    assert [step.number for step in MIGRATIONS] == list(range(1, len(MIGRATIONS) + 1))
    assert digests[:1] == ["e27ee09efadbc84ec3a0e9f78ca226b9a8392f65117f1519302c29c0afa704f1"]


READ_IN_ARCHIVE = """
import os, sys
from pathlib import Path
from companion.record import open_for_reading
if os.geteuid() == 0:
    os.setuid(65534)  # the administrator may write anywhere, so read as nobody
with open_for_reading(Path(sys.argv[1])) as database:
    print(database.sessions()[0].event_count)
"""


def test_an_archive_that_may_not_be_written_can_be_read(three_entries: list[Entry]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "bay.record"
        with open_record(path) as database:
            SqliteLog(database, database.create_session()).append(three_entries)
        path.chmod(0o644)
        Path(folder).chmod(0o555)
        run = subprocess.run(
            [sys.executable, "-c", READ_IN_ARCHIVE, str(path)],
            capture_output=True,
            text=True,
        )
        assert run.stdout == "3\n", run.stderr
        assert sorted(entry.name for entry in Path(folder).iterdir()) == [
            path.name,
            path.name + ".lock",
            "box.key",
            "box.key.pub",
        ]


@pytest.mark.parametrize(
    ("error", "advice"),
    [
        (
            sqlite3.OperationalError("database is locked"),
            "check the disk and the file's permissions",
        ),
        (sqlite3.IntegrityError("append-only: an event is never changed"), "only ever added to"),
        (sqlite3.OperationalError("database or disk is full"), "free some disk space"),
        (sqlite3.OperationalError("unable to open database file"), "may not be read"),
        (sqlite3.DatabaseError("database disk image is malformed"), "begin a new record file"),
        (sqlite3.DatabaseError("file is not a database"), "begin a new record file"),
        (UnicodeDecodeError("utf-8", b"\xff", 0, 1, "invalid"), "begin a new record file"),
    ],
    ids=lambda given: str(given)[:30],
)
def test_each_kind_of_trouble_has_its_own_advice(
    record_path: Path, error: Exception, advice: str
) -> None:
    """Somebody who is told that a sound file is damaged throws a record away."""
    with (
        pytest.raises(RecordError, match=f"cannot read the record .*{advice}") as told,
        speaking_plainly(record_path, "read"),
    ):
        raise error
    assert ("damaged" in str(told.value)) == (advice == "begin a new record file")

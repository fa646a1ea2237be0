"""Following a record while another process or connection writes it."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record import Entry, SqliteLog, open_record
from companion.record.following import Follower

AS_NOBODY = """
import os, sys
from pathlib import Path
from companion.record.following import Follower
os.setgroups([])
os.setgid(65534)
os.setuid(65534)
follower = Follower(Path(sys.argv[1]))
seen = 0
while seen < 3:
    news = follower.look()
    if news is not None:
        seen += len(news.events)
        print(seen, flush=True)
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "record.sqlite"


@pytest.fixture
def follower(path: Path) -> Iterator[Follower]:
    made = Follower(path)
    yield made
    made.close()


def kinds(follower: Follower) -> list[str]:
    news = follower.look()
    return [] if news is None else [event.kind for event in news.events]


def test_it_waits_for_a_record_then_sees_each_event_once(path: Path, follower: Follower) -> None:
    assert follower.look() is None
    with open_record(path) as database:
        assert follower.look() is None
        log = SqliteLog(database, database.create_session())
        assert follower.look() is None
        log.append([Entry("opened", {}), Entry("said", {})])
        assert kinds(follower) == ["opened", "said"]
        assert follower.look() is None
        log.append([Entry("heard", {})])
        assert kinds(follower) == ["heard"]


def test_a_look_at_what_has_not_changed_reads_no_events(path: Path, follower: Follower) -> None:
    """Ten looks a second, all day long, must not cost the job its processor."""
    with open_record(path) as database:
        log = SqliteLog(database, database.create_session())
        log.append([Entry("opened", {})])
        assert kinds(follower) == ["opened"]
        asked: list[str] = []
        assert follower._database is not None
        follower._database._tables.conn.set_trace_callback(asked.append)
        assert follower.look() is None
        assert follower.look() is None
        assert asked == ["PRAGMA data_version"] * 2
        log.append([Entry("said", {})])
        assert kinds(follower) == ["said"]
        assert len(asked) > 3


def test_it_goes_over_to_a_new_session_from_its_beginning(path: Path, follower: Follower) -> None:
    with open_record(path) as database:
        for number in range(2):
            session = database.create_session(f"2031010{number + 1}-000000-00000000")
            SqliteLog(database, session).append([Entry("opened", {"number": number})])
            news = follower.look()
            assert news is not None
            assert (news.session_id, news.begins) == (session, True)


def test_it_goes_on_when_the_writer_is_gone_and_comes_back(path: Path, follower: Follower) -> None:
    with open_record(path) as database:
        session = database.create_session()
        SqliteLog(database, session).append([Entry("opened", {})])
        assert kinds(follower) == ["opened"]
        assert follower.writer_at_work() is True
    assert follower.look() is None
    assert follower.writer_at_work() is False
    with open_record(path) as database:
        SqliteLog(database, session).append([Entry("resumed", {})])
        assert kinds(follower) == ["resumed"]


def test_a_record_that_is_replaced_by_another_is_followed_anew(
    path: Path, follower: Follower, tmp_path: Path
) -> None:
    with open_record(path) as database:
        SqliteLog(database, database.create_session()).append([Entry("opened", {})])
        assert kinds(follower) == ["opened"]
    other = tmp_path / "other.sqlite"
    with open_record(other) as database:
        SqliteLog(database, database.create_session()).append([Entry("opened", {}), Entry("x", {})])
    for ending in ("-wal", "-shm"):
        path.with_name(path.name + ending).unlink(missing_ok=True)
    os.replace(other, path)
    assert kinds(follower) == ["opened", "x"]


def test_a_writer_is_not_kept_from_closing_or_opening(path: Path, follower: Follower) -> None:
    for _ in range(3):
        with open_record(path) as database:
            SqliteLog(database, database.create_session()).append([Entry("opened", {})])
            assert kinds(follower) == ["opened"]


def test_what_is_no_record_is_named(path: Path, follower: Follower) -> None:
    path.write_bytes(b"no database at all, but long enough to look at")
    with pytest.raises(RecordError, match="not a database"):
        follower.look()


@pytest.mark.skipif(os.geteuid() != 0, reason="wanted: root, to become somebody else")
def test_a_user_who_may_only_read_follows_too() -> None:
    """As on the box: the display is another user, who may write neither file nor folder."""
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)  # noqa: S103 -- another user has to look in
        path = Path(folder) / "record.sqlite"
        with open_record(path) as database:
            session = database.create_session()
            SqliteLog(database, session).append([Entry("opened", {})])
        path.chmod(0o644)
        # No writer, no write-ahead log: now the reader opens it, then the writer comes back.
        with subprocess.Popen(
            [sys.executable, "-c", AS_NOBODY, str(path)],
            stdout=subprocess.PIPE,
            text=True,
        ) as reader:
            assert reader.stdout is not None
            try:
                assert reader.stdout.readline() == "1\n"
                with open_record(path) as database:
                    log = SqliteLog(database, session)
                    log.append([Entry("resumed", {})])
                    assert reader.stdout.readline() == "2\n"
                    log.append([Entry("said", {})])
                    assert reader.stdout.readline() == "3\n"
                assert reader.wait(60) == 0
            finally:
                reader.kill()


def test_it_goes_back_to_an_older_session_that_is_gone_on_with(
    path: Path, follower: Follower
) -> None:
    with open_record(path) as database:
        older = SqliteLog(database, database.create_session("s1"))
        older.append([Entry("opened", {})])
        SqliteLog(database, database.create_session("s2")).append([Entry("opened", {})])
        news = follower.look()
        assert news is not None
        assert news.session_id == "s2"
        older.append([Entry("resumed", {})])
        news = follower.look()
        assert news is not None
        assert (news.session_id, news.begins, len(news.events)) == ("s1", True, 2)

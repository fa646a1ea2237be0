"""Whether a job is being done: what would end a companion asks first."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from companion.record import Database, Entry, SqliteLog, open_record
from companion.record.going_on import is_a_job_going_on, main
from companion.record.last_written import last_written_session_id


def begun(database: Database, session_id: str) -> SqliteLog:
    log = SqliteLog(database, database.create_session(session_id))
    log.append([Entry("opened", {"technician": "A. Example"})])
    return log


HEARD = Entry("heard", {"prompt_id": "p1", "words": "done", "meaning": {"done": True}})
OVER = (Entry("stopped", {"why": "x"}), Entry("finished", {"result": "inside"}))


def test_a_record_without_a_job_has_none_going_on(database: Database, record_path: Path) -> None:
    assert not is_a_job_going_on(record_path)
    database.create_session("s1")
    assert not is_a_job_going_on(record_path)


@pytest.mark.parametrize("over", OVER, ids=lambda entry: entry.kind)
def test_it_goes_on_from_the_first_answer_to_its_end(
    database: Database, record_path: Path, over: Entry
) -> None:
    log = begun(database, "s1")
    assert not is_a_job_going_on(record_path)
    log.append([HEARD])
    assert is_a_job_going_on(record_path)
    log.append([Entry("said", {"text": "Left spot."})])
    assert is_a_job_going_on(record_path)
    log.append([over])
    assert not is_a_job_going_on(record_path)
    # Stopped, and gone on with.
    log.append([HEARD])
    assert is_a_job_going_on(record_path)


def test_only_the_last_job_counts(database: Database, record_path: Path) -> None:
    begun(database, "s1").append([HEARD])
    log = begun(database, "s2")
    assert not is_a_job_going_on(record_path)
    log.append([HEARD])
    assert is_a_job_going_on(record_path)


def test_what_nobody_writes_any_more_does_not_go_on(record_path: Path) -> None:
    with open_record(record_path) as database:
        begun(database, "s1").append([HEARD])
        assert main([str(record_path)]) == 0
    assert not is_a_job_going_on(record_path)
    assert main([str(record_path)]) == 1


def test_a_program_is_told_by_how_it_ends(database: Database, tmp_path: Path) -> None:
    begun(database, "s1").append([HEARD])
    (tmp_path / "text").write_text("no record")
    for file, wanted in ((database.path, 0), (tmp_path / "text", 1), (tmp_path / "none", 1)):
        run = subprocess.run([sys.executable, "-m", "companion.record.going_on", str(file)])
        assert run.returncode == wanted, file


def test_an_older_job_that_is_gone_on_with_is_the_last(
    database: Database, record_path: Path
) -> None:
    older = begun(database, "s1")
    begun(database, "s2").append([HEARD, OVER[1]])
    assert not is_a_job_going_on(record_path)
    older.append([HEARD])
    assert is_a_job_going_on(record_path)


def test_what_is_added_afterwards_is_no_work_on_a_job(
    database: Database, record_path: Path
) -> None:
    older = begun(database, "s1")
    older.append([HEARD])
    begun(database, "s2").append([HEARD, OVER[1]])
    older.append([Entry("clips_expired", {"clips": [], "why": "x"})])
    assert not is_a_job_going_on(record_path)


def test_a_record_without_marks_has_its_newest_job_as_the_last(
    database: Database, record_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    older = begun(database, "s1")
    begun(database, "s2")
    older.append([HEARD])
    assert last_written_session_id(database) == "s1"
    really = Database.read
    monkeypatch.setattr(
        Database,
        "read",
        lambda self, sql, *asked: [] if "sqlite_schema" in sql else really(self, sql, *asked),
    )
    assert last_written_session_id(database) == "s2"

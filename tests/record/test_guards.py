"""Whatever is put into the file beside a record's own tables and guards is named, and nothing is
written into a file that may not keep it."""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record import Database, Entry, FixedClock, SqliteLog, open_for_reading, open_record
from companion.record.audit.seal import make_seal
from companion.record.audit.verify import verify
from companion.record.backup import back_up

SWALLOWS = "CREATE TRIGGER {name} BEFORE INSERT ON {table} BEGIN SELECT RAISE(IGNORE); END"


@pytest.fixture
def kept(record_path: Path, three_entries: list[Entry]) -> Path:
    with open_record(record_path, FixedClock()) as database:
        SqliteLog(database, database.create_session("s1")).append(three_entries)
    return record_path


@contextmanager
def schema_of(path: Path) -> Iterator[sqlite3.Connection]:
    """The file's own list of tables, to be written as SQLite itself does."""
    with closing(sqlite3.connect(path, isolation_level=None)) as stranger:
        stranger.execute("PRAGMA writable_schema = ON")
        yield stranger


def hide_a_trigger(path: Path, table: str, name: str = "sqlite_swallows") -> None:
    """A trigger under a name that SQLite keeps for itself, which only its own list can be given."""
    with schema_of(path) as stranger:
        stranger.execute(
            "INSERT INTO sqlite_schema VALUES ('trigger', ?, ?, 0, ?)",
            (name, table, SWALLOWS.format(name=name, table=table)),
        )


@pytest.mark.parametrize("name", ["sqlite_swallows", "sqlite_autoindex_event_9", "sqlite_stat1"])
def test_a_trigger_under_a_name_of_sqlite_s_own_is_named(kept: Path, name: str) -> None:
    hide_a_trigger(kept, "event", name)
    (finding,) = verify(kept)
    assert (finding.kind, repr(name) in finding.what) == ("guards", True)
    assert "put in" in finding.what


def test_nothing_is_written_into_such_a_file_nor_copied_from_it(kept: Path, tmp_path: Path) -> None:
    hide_a_trigger(kept, "event")
    with pytest.raises(RecordError, match=r"sqlite_swallows.*nothing is written into it"):
        open_record(kept)
    with pytest.raises(RecordError, match="sqlite_swallows"):
        back_up(kept, tmp_path / "copy")


@pytest.mark.parametrize("table", ["event", "session", "sealed_head"])
def test_what_a_trigger_swallows_is_not_reported_as_written(
    database: Database, record_path: Path, three_entries: list[Entry], table: str
) -> None:
    """Put in while the writer has the file open: each insertion is read back."""
    log = SqliteLog(database, database.create_session("s1"))
    with closing(sqlite3.connect(record_path)) as stranger:
        stranger.execute(SWALLOWS.format(name="swallows", table=table))
    writes = {
        "event": lambda: log.append(three_entries),
        "session": lambda: database.create_session("s2"),
        "sealed_head": lambda: make_seal(database),
    }
    with pytest.raises(RecordError, match="did not keep what was written"):
        writes[table]()
    assert list(database.events("s1")) == []


def test_what_a_trigger_alters_is_not_reported_as_written(
    database: Database, record_path: Path, three_entries: list[Entry]
) -> None:
    log = SqliteLog(database, database.create_session("s1"))
    with closing(sqlite3.connect(record_path)) as stranger:
        stranger.execute("DROP TRIGGER event_is_never_changed")
        stranger.execute(
            "CREATE TRIGGER alters AFTER INSERT ON event BEGIN "
            "UPDATE event SET kind = 'other' WHERE seq = NEW.seq; END"
        )
    with pytest.raises(RecordError, match="did not keep what was written"):
        log.append(three_entries)
    assert list(database.events("s1")) == []


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("PRAGMA user_version = 7", "user version"),
        ("UPDATE sqlite_schema SET sql = sql || ' ' WHERE name = 'event'", "'event'.*altered"),
        ("UPDATE sqlite_schema SET sql = lower(sql) WHERE type = 'trigger'", "altered"),
        ("UPDATE schema_version SET name = 'other' WHERE number = 1", "schema versions"),
        ("INSERT INTO schema_version VALUES (0, 'x', 'y')", "schema versions"),
        ("CREATE VIEW sessions AS SELECT * FROM session", "'sessions'.*put in"),
        ("ANALYZE", "'sqlite_stat1'.*put in"),
    ],
)
def test_texts_and_versions_of_the_schema_are_looked_at(kept: Path, change: str, told: str) -> None:
    with schema_of(kept) as stranger:
        stranger.execute(change)
    findings = [finding for finding in verify(kept) if finding.kind == "guards"]
    assert findings
    assert any(re.search(told, finding.what) for finding in findings)
    with pytest.raises(RecordError):
        open_record(kept)


def test_a_record_as_it_was_made_has_no_problems(kept: Path) -> None:
    assert verify(kept) == []
    with open_for_reading(kept) as database:
        assert len(list(database.events("s1"))) == 3

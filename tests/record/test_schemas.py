"""A file of every schema that was ever released can be read, verified, brought up to date."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from companion.record import Entry, SqliteLog, open_for_reading, open_record
from companion.record.audit.seal import make_seal, sealed_heads
from companion.record.audit.verify import Outside, verify
from companion.record.migrations import MIGRATIONS

SCHEMAS = Path(__file__).parent / "schemas"
VERSIONS = [step.number for step in MIGRATIONS]
SESSION = "20300101-080001-0a0a0a0a"


@pytest.fixture(params=VERSIONS)
def old_file(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A small record as the program of that version left it, kept as SQL."""
    path = tmp_path / "bay.record"
    connection = sqlite3.connect(path)
    connection.executescript((SCHEMAS / f"version_{request.param}.sql").read_text("utf-8"))
    connection.close()
    return path


def version_of(path: Path) -> int:
    with open_for_reading(path) as database:
        return int(database.read("SELECT MAX(number) AS n FROM schema_version")[0]["n"])


def test_it_is_read_and_verified_as_it_is(old_file: Path) -> None:
    before = version_of(old_file)
    with open_for_reading(old_file) as database:
        events = list(database.events(SESSION))
    kinds = ["opened", "said", "heard", "accepted", "finished"]
    assert [event.kind for event in events][:5] == kinds
    assert verify(old_file) == []
    assert version_of(old_file) == before


def test_it_is_brought_up_to_date_with_every_hash_as_it_was(old_file: Path) -> None:
    with open_for_reading(old_file) as database:
        before = database.read("SELECT * FROM event ORDER BY session_id, seq")
    with open_record(old_file) as database:
        assert database.read("SELECT * FROM event ORDER BY session_id, seq") == before
    assert version_of(old_file) == MIGRATIONS[-1].number
    assert verify(old_file) == []


def test_it_goes_on_and_is_sealed(old_file: Path) -> None:
    with open_record(old_file) as database:
        SqliteLog(database, SESSION).append([Entry("noted", {"words": "later"})])
        seal = make_seal(database)
        assert {leaf.session_id for leaf in sealed_heads(database)} >= {
            "20300101-080001-0a0a0a0a",
            "20300101-080009-0b0b0b0b",
        }
    assert verify(old_file, outside=Outside(seal=seal)) == []


def test_the_seal_made_by_the_second_schema_s_program_still_holds(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    connection = sqlite3.connect(path)
    connection.executescript((SCHEMAS / "version_2.sql").read_text("utf-8"))
    connection.close()
    root = "347b6e379db0cee141ad57993ad6de7491d56b6e60465ad69e38d1124384c5cc"
    assert verify(path, outside=Outside(root=root)) == []

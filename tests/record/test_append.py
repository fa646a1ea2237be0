"""Events go in whole, in order, chained, and stay."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import RecordError
from companion.record import (
    ClipStore,
    Database,
    Entry,
    FixedClock,
    MemoryLog,
    SqliteLog,
    open_for_reading,
    open_record,
)
from companion.record.audit.verify import verify
from companion.record.canonical import canonical_json, opening_hash, sha256_hex, stored_event
from companion.record.port import Stamp
from companion.record.rows import insert_statement, row_of_event


def test_events_come_back_as_they_were_appended_and_numbered_from_one(
    database: Database, three_entries: list[Entry]
) -> None:
    log = SqliteLog(database, database.create_session())
    stored = log.append(three_entries)
    assert tuple(log.events(log.session_id)) == stored
    assert [event.seq for event in stored] == [1, 2, 3]
    assert [event.kind for event in stored] == ["opened", "said", "heard"]
    assert [event.body for event in stored] == [entry.body for entry in three_entries]


def test_each_event_carries_the_hash_of_the_one_before_it(
    database: Database, three_entries: list[Entry]
) -> None:
    session_id = database.create_session()
    opened_utc = database.session(session_id).opened_utc
    log = SqliteLog(database, session_id)
    first, second, third = log.append(three_entries)
    assert first.previous_hash == opening_hash(session_id, opened_utc)
    assert second.previous_hash == first.hash
    assert third.previous_hash == second.hash
    assert log.head_hash == third.hash
    assert database.session(session_id).head_hash == third.hash


def test_the_hash_is_that_of_the_canonical_json_of_what_the_event_says(
    database: Database,
) -> None:
    log = SqliteLog(database, database.create_session("s1"))
    (event,) = log.append([Entry("said", {"text": "Carry on", "b": 1.0, "a": None})])
    written = (
        '{"at":"2030-01-01T08:00:02.000Z","body":{"a":null,"b":1,"text":"Carry on"},'
        '"clock_trusted":true,"kind":"said","monotonic":"2000000000",'
        f'"previous":"{event.previous_hash}","seq":1,"session":"s1"}}'
    )
    assert event.hash == sha256_hex(written.encode())


def test_memory_and_sqlite_make_the_same_chain(three_entries: list[Entry], tmp_path: Path) -> None:
    memory = MemoryLog("s1", FixedClock())
    clock = FixedClock()
    clock.advance(-1000)  # the file's own migration reads the clock once
    with open_record(tmp_path / "a.record", clock) as database:
        log = SqliteLog(database, database.create_session("s1"))
        for entry in three_entries:
            assert memory.append([entry]) == log.append([entry])
        assert tuple(memory.events("s1")) == tuple(log.events("s1"))
        assert memory.head_hash == log.head_hash


def test_no_entries_is_no_event(database: Database) -> None:
    log = SqliteLog(database, database.create_session())
    assert log.append([]) == ()
    assert list(log.events(log.session_id)) == []


@pytest.mark.parametrize(
    "body",
    [
        {"u": float("nan")},
        {"u": float("inf")},
        {"count": 2**53},
        {"turns": Fraction(11, 4)},
        {"text": "\ud800"},
        {1: "one"},
        {"deep": [{"words": {"a", "b"}}]},
    ],
)
@pytest.mark.parametrize("where", ["memory", "sqlite"])
def test_one_unstorable_entry_keeps_all_of_them_out(
    body: dict[str, object], where: str, database: Database
) -> None:
    session_id = database.create_session("s1")
    log = MemoryLog("s1") if where == "memory" else SqliteLog(database, session_id)
    (kept,) = log.append([Entry("said", {"text": "before"})])
    with pytest.raises(RecordError):
        log.append([Entry("said", {"text": "fine"}), Entry("computed", body)])
    assert [event.seq for event in log.events("s1")] == [1]
    (after,) = log.append([Entry("said", {"text": "after"})])
    assert (after.seq, after.previous_hash) == (2, kept.hash)


def test_the_refusal_names_the_place_in_the_body(database: Database) -> None:
    log = SqliteLog(database, database.create_session())
    with pytest.raises(RecordError, match=r"body\.inputs\[1\].*Fraction"):
        log.append([Entry("computed", {"inputs": [1, Fraction(1, 3)]})])


def test_a_body_changed_by_its_writer_afterwards_stays_as_stored(database: Database) -> None:
    body = {"words": ["yes"]}
    log = SqliteLog(database, database.create_session())
    (event,) = log.append([Entry("heard", body)])
    body["words"].append("no")
    assert event.body == {"words": ["yes"]}
    assert next(log.events(log.session_id)).body == {"words": ["yes"]}


def test_another_thread_is_refused_in_plain_words(
    database: Database, three_entries: list[Entry]
) -> None:
    log = SqliteLog(database, database.create_session())
    caught: list[Exception] = []

    def append_elsewhere() -> None:
        try:
            log.append(three_entries)
        except RecordError as error:
            caught.append(error)

    thread = threading.Thread(target=append_elsewhere)
    thread.start()
    thread.join()
    assert len(caught) == 1
    assert "belongs to another thread" in str(caught[0])
    assert list(log.events(log.session_id)) == []


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET kind = 'said'",
        "DELETE FROM event WHERE seq = 3",
        "INSERT OR REPLACE INTO event SELECT session_id, seq, 'x', at_utc, monotonic_ns, "
        "clock_trusted, body, previous_hash, hash FROM event WHERE seq = 2",
        "INSERT INTO event SELECT session_id, 9, kind, at_utc, monotonic_ns, clock_trusted, "
        "body, previous_hash, hash FROM event WHERE seq = 3",
        "INSERT INTO event SELECT session_id, 4, kind, at_utc, monotonic_ns, clock_trusted, "
        "body, previous_hash, hash FROM event WHERE seq = 2",
        "UPDATE session SET opened_utc = ''",
        "DELETE FROM session",
        "INSERT OR REPLACE INTO session VALUES ('s1', '2031-01-01T00:00:00Z')",
    ],
)
def test_the_file_itself_refuses_changes_from_any_program(
    statement: str, record_path: Path, three_entries: list[Entry]
) -> None:
    with open_record(record_path, FixedClock()) as database:
        SqliteLog(database, database.create_session("s1")).append(three_entries)
    stranger = sqlite3.connect(record_path)
    with pytest.raises(sqlite3.IntegrityError, match="append-only"):
        stranger.execute(statement)
    stranger.close()
    assert verify(record_path) == []


def test_an_event_naming_an_absent_clip_is_refused(
    database: Database, clips: ClipStore, half_a_second_of_sound: bytes
) -> None:
    log = SqliteLog(database, database.create_session(), clips)
    with pytest.raises(RecordError, match="put the clip first"):
        log.append([Entry("heard", {"clip_sha256": "ab" * 32})])
    log.append([Entry("heard", {"clip_sha256": clips.put(half_a_second_of_sound)})])
    log.append([Entry("heard", {"clip_sha256": None})])
    assert [event.seq for event in log.events(log.session_id)] == [1, 2]


def test_a_computer_up_for_a_year_can_still_append(database: Database) -> None:
    database.clock.advance(400 * 86_400_000)  # type: ignore[attr-defined]
    log = SqliteLog(database, database.create_session())
    (event,) = log.append([Entry("resumed", {})])
    assert event.monotonic_ns > 2**53
    assert next(log.events(log.session_id)) == event


def test_two_sessions_in_one_file_do_not_touch(
    database: Database, three_entries: list[Entry]
) -> None:
    first = SqliteLog(database, database.create_session())
    second = SqliteLog(database, database.create_session())
    first.append(three_entries)
    second.append(three_entries[:1])
    first.append(three_entries[:1])
    counts = {session.session_id: session.event_count for session in database.sessions()}
    assert counts == {first.session_id: 4, second.session_id: 1}


def test_an_unknown_session_is_named(database: Database) -> None:
    with pytest.raises(RecordError, match="no session 'nobody'"):
        database.events("nobody")
    with pytest.raises(RecordError, match="no session 'nobody'"):
        MemoryLog("me").events("nobody")


def test_a_reader_sees_what_the_writer_has_appended_so_far(
    database: Database, record_path: Path, three_entries: list[Entry]
) -> None:
    log = SqliteLog(database, database.create_session())
    with open_for_reading(record_path) as reader:
        log.append(three_entries[:2])
        assert len(list(reader.events(log.session_id))) == 2
        log.append(three_entries[2:])
        assert len(list(reader.events(log.session_id))) == 3
        with pytest.raises(RecordError, match="reading only"):
            reader.create_session()


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(body=st.dictionaries(st.text(), json_values, max_size=6))
def test_any_json_body_is_kept_exactly(body: dict[str, object]) -> None:
    log = MemoryLog()
    (event,) = log.append([Entry("noted", body)])
    assert event.body == body
    assert canonical_json(event.body) == canonical_json(body)


def test_nothing_is_added_to_a_session_that_somebody_else_wrote_into(
    database: Database, record_path: Path
) -> None:
    """A well-chained event slipped in meanwhile must not get the box's mark with the next one."""
    log = SqliteLog(database, database.create_session("s1"))
    (own,) = log.append([Entry("said", {"text": "Left spot."})])
    stamp = Stamp("2030-01-01T09:00:00.000Z", own.monotonic_ns + 1, True)
    forged = stored_event("s1", 2, Entry("accepted", {"value": "12"}), stamp, own.hash)
    with closing(sqlite3.connect(record_path)) as other, other:
        row = row_of_event(forged)
        other.execute(insert_statement("event", tuple(row)), row)
    with pytest.raises(RecordError, match="holds events that this box did not write"):
        log.append([Entry("said", {"text": "Right spot."})])
    assert [event.kind for event in database.events("s1")] == ["said", "accepted"]

"""Boxes that mean no good: each has a login, and whatever key it has; each is refused and told."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import psycopg
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.record.audit.event_bytes import stored_hash
from companion.record.audit.keys import public_hex, read_key
from companion.record.box import Mark, key_path, statement_of_mark
from companion.store.connecting import NotReached, StoreError
from companion.store.outbox import Batch, Event, Outbox
from companion.store.shipping import Refused, place_of, send
from tests.store.yard import Box, Yard, work

SQL = "'; DROP TABLE store.event; --"


def _batch(box: Box, after: int = 0) -> Batch:
    """All that the box has, as one batch."""
    with Outbox(box.record) as outbox:
        (batch,) = outbox.batches(after, 0 if after == 0 else 1)
    return batch


def _signed(box: Box, marks: list[Mark], key: Ed25519PrivateKey | None = None) -> list[Mark]:
    """The marks chained and signed anew, with the box's own key or another."""
    own = key or read_key(key_path(box.record))
    made: list[Mark] = []
    for mark in marks:
        previous = made[-1].link if made else mark.previous
        told = mark._replace(previous=previous, public_key=public_hex(own))
        made.append(told._replace(signature=own.sign(statement_of_mark(*told[:-1]))))
    return made


def _chained(events: list[Event]) -> list[Event]:
    """The events of one job with hashes made anew from the first on."""
    made: list[Event] = []
    for event in events:
        previous = made[-1].hash if made else event.previous
        told = event._replace(previous=previous)
        hashed = stored_hash(
            told.job.encode(), told.sequence, told.kind.encode(), told.at_utc.encode(),
            told.monotonic_ns, int(told.clock_trusted), told.body.encode(), previous.encode(),
        )  # fmt: skip
        made.append(told._replace(hash=hashed.decode()))
    return made


def _with_key(box: Box, batch: Batch, events: list[Event]) -> None:
    """Events changed by somebody who has the box's key: chain, marks and signatures made anew."""
    batch.events = _chained(events)
    heads = {(event.job, event.sequence): event.hash for event in batch.events}
    batch.marks = _signed(
        box,
        [m._replace(head=heads.get((m.session_id, m.seq), m.head)) for m in batch.marks],
    )


def _change(place: int, **fields: object) -> Callable[[Box, Batch], None]:
    def change(_: Box, batch: Batch) -> None:
        batch.events[place] = batch.events[place]._replace(**fields)  # type: ignore[arg-type]

    return change


def _with_the_key(place: int, **fields: object) -> Callable[[Box, Batch], None]:
    def change(box: Box, batch: Batch) -> None:
        events = list(batch.events)
        events[place] = events[place]._replace(**fields)  # type: ignore[arg-type]
        _with_key(box, batch, events)

    return change


def _mark(place: int, **fields: object) -> Callable[[Box, Batch], None]:
    def change(_: Box, batch: Batch) -> None:
        batch.marks[place] = batch.marks[place]._replace(**fields)  # type: ignore[arg-type]

    return change


def _without(what: str, place: int) -> Callable[[Box, Batch], None]:
    def change(_: Box, batch: Batch) -> None:
        getattr(batch, what).pop(place)

    return change


def _twice(what: str, place: int) -> Callable[[Box, Batch], None]:
    def change(_: Box, batch: Batch) -> None:
        rows = getattr(batch, what)
        rows.insert(place, rows[place])

    return change


def _stranger(box: Box, batch: Batch) -> None:
    batch.marks = _signed(box, batch.marks, Ed25519PrivateKey.generate())


def _in_anothers_name(box: Box, batch: Batch) -> None:
    """The box's public key, and somebody else's signatures."""
    other = Ed25519PrivateKey.generate()
    batch.marks = [m._replace(signature=other.sign(m.statement)) for m in batch.marks]
    last, rest = batch.marks[-1], batch.marks[:-1]
    linked = [*rest[:1]]
    for mark in [*rest[1:], last]:
        told = mark._replace(previous=linked[-1].link)
        linked.append(told._replace(signature=other.sign(told.statement)))
    batch.marks = linked


def _other_job(box: Box, batch: Batch) -> None:
    """The second job's events under the first job's name."""
    batch.events = [e._replace(job="job-1") if e.job == "job-2" else e for e in batch.events]


def _moved(_: Box, batch: Batch) -> None:
    batch.events = [e._replace(mark=batch.marks[-2].number) for e in batch.events]


def _nothing_signed(_: Box, batch: Batch) -> None:
    batch.marks = []


def _sealed_elsewhere(_: Box, batch: Batch) -> None:
    batch.sealed = batch.sealed[:-1]


BATCHES: dict[str, tuple[Callable[[Box, Batch], None], str]] = {
    "a mark left out": (_without("marks", 1), "gap"),
    "the first mark left out": (_without("marks", 0), "gap"),
    "a mark twice": (_twice("marks", 1), "gap"),
    "marks from further on": (_mark(0, number=99), "gap"),
    "no mark at all": (_nothing_signed, "unreadable"),
    "an event left out": (_without("events", 2), "gap"),
    "the last event left out": (_without("events", -1), "changed"),
    "an event twice": (_twice("events", 2), "gap"),
    "a job's opening left out": (_without("jobs", 0), "gap"),
    "a job opened twice": (_twice("jobs", 0), "fork"),
    "an event's words changed": (_change(1, body='{"text":"left"}'), "changed"),
    "an event's date changed": (_change(1, at_utc="2026-03-02T08:59:00.000Z"), "changed"),
    "an event's clock made trusted": (_change(1, clock_trusted=False), "changed"),
    "an event of another kind": (_change(1, kind="accepted"), "changed"),
    "an event's hash changed": (_change(1, hash="0" * 64), "changed"),
    "an event moved under a later mark": (_moved, "signature"),
    "events under another job's name": (_other_job, "changed"),
    "a mark's head changed": (_mark(1, head="0" * 64), "fork"),
    "a mark signed with a stranger's key": (_stranger, "signature"),
    "marks signed in the box's name": (_in_anothers_name, "signature"),
    "a mark's signature changed": (_mark(-1, signature=bytes(64)), "signature"),
    "a seal without its heads": (_sealed_elsewhere, "gap"),
    "SQL as a job": (_with_the_key(0, job=SQL), "unreadable"),
    "SQL as a kind": (_with_the_key(0, kind=SQL), "unreadable"),
    "SQL as a body": (_change(0, body=SQL), "unreadable"),
    "SQL in a body, hashed and signed": (_with_the_key(0, body='{"a":"' + SQL + '"}'), ""),
    "a body that is no mapping": (_with_the_key(0, body="[]"), "unreadable"),
    "SQL as a date": (_change(0, at_utc="2026-03-02T08:00:00.000Z" + SQL), "unreadable"),
    "a day that does not exist": (
        _change(0, at_utc="2026-02-30T08:00:00.000Z"),
        "unreadable",
    ),
    "SQL as a hash": (_change(0, hash=SQL), "unreadable"),
    "SQL as a mark's job": (_mark(1, session_id=SQL), "unreadable"),
    "SQL as a mark's kind": (_mark(1, what=SQL), "unreadable"),
    "SQL as a mark's key": (_mark(1, public_key=SQL), "unreadable"),
    "a NUL, escaped, in a body": (_change(0, body='{"a":"\\u0000"}'), "changed"),
    "a name two thousand characters long": (_with_the_key(0, job="x" * 2_000), "unreadable"),
    "a number below zero": (_change(0, sequence=-1), "unreadable"),
    "a date in the future": (_with_the_key(5, at_utc="2051-01-01T00:00:00.000Z"), "clock"),
    "a date before the last one": (_with_the_key(5, at_utc="2026-03-01T08:00:00.000Z"), "clock"),
    "less time by the date than by the monotonic clock": (
        _with_the_key(5, monotonic_ns=10**15),
        "clock",
    ),
}


@pytest.mark.parametrize("attack", BATCHES)
def test_a_batch_that_is_not_right_is_refused_whole_and_told(yard: Yard, attack: str) -> None:
    spoils, wanted = BATCHES[attack]
    box = yard.box(jobs=2)
    # What a box may keep to itself: only one job's chain is made anew.
    batch = _batch(box)
    if "trusted" in attack or wanted == "clock" or not wanted:
        batch = _only_first_job(batch)
    spoils(box, batch)
    with box.connection() as connection:
        if not wanted:
            assert send(connection, batch) == len(batch.events)
            assert yard.problems() == []
            return
        with pytest.raises(Refused) as refused:
            send(connection, batch)
    assert refused.value.what == wanted, refused.value
    assert yard.counts() == (0, 0)
    row = yard.admin.execute("SELECT what, times, told FROM store.refusal").fetchall()
    assert [(what, times) for what, times, _ in row] == [(wanted, 1)]
    assert any("refused 1 times" in problem for problem in yard.problems())
    # The honest box is let in as before.
    assert box.ship().events == 12


def _only_first_job(batch: Batch) -> Batch:
    number = next(m.number for m in batch.marks if m.session_id == "job-2")
    return replace(
        batch,
        marks=[m for m in batch.marks if m.number < number],
        events=[e for e in batch.events if e.job == "job-1"],
        jobs=[j for j in batch.jobs if j[0] == "job-1"],
        sealed=[],
    )


def test_a_replay_adds_nothing(yard: Yard) -> None:
    box = yard.box()
    batch = _batch(box)
    with box.connection() as connection:
        send(connection, batch)
        for _ in range(3):
            with pytest.raises(Refused, match="already"):
                send(connection, batch)
    assert yard.counts() == (1, 6)
    assert yard.problems() == []


def test_another_boxs_batch_is_not_taken(yard: Yard) -> None:
    one, two = yard.box("one"), yard.box("two", jobs=2)
    with two.connection() as connection, pytest.raises(Refused, match="is not this box's"):
        send(connection, _batch(one))


def _put_back(box: Box, folder: Path) -> None:
    shutil.copytree(folder, box.record.parent, dirs_exist_ok=True)


def test_an_older_file_put_back_is_named_to_both(yard: Yard) -> None:
    box = yard.box()
    older = yard.folder / "older"
    shutil.copytree(box.record.parent, older)
    work(box.record, first=2)
    box.ship()
    _put_back(box, older)
    with pytest.raises(Refused, match="older file") as refused:
        box.ship()
    assert refused.value.what == "older"
    assert any("older file" in problem for problem in yard.problems())
    assert any("job-2: the whole session is missing" in told for told in box.against_the_store())


def test_a_record_gone_on_with_from_an_older_file_is_a_fork(yard: Yard) -> None:
    """By the box's own program and key: nothing in the file itself is wrong."""
    box = yard.box()
    older = yard.folder / "older"
    shutil.copytree(box.record.parent, older)
    work(box.record, first=2)
    box.ship()
    _put_back(box, older)
    work(box.record, first=2, jobs=3, at="2026-03-03T08:00:00.000Z")
    with pytest.raises(Refused) as refused:
        box.ship()
    assert refused.value.what == "fork"
    told = " ".join(box.against_the_store())
    assert "job-2" in told
    assert any("(fork)" in problem for problem in yard.problems())


def test_a_clock_is_excused_by_the_keeper_alone_and_for_good_noted(yard: Yard) -> None:
    box = yard.box()
    box.ship()
    with open_record(box.record, FixedClock("2026-03-01T08:00:00.000Z")) as database:
        SqliteLog(database, "job-1").append([Entry("note", {"words": "the clock went back"})])
    with pytest.raises(Refused) as refused:
        box.ship()
    assert refused.value.what == "clock"
    with box.connection() as connection, pytest.raises(psycopg.errors.InsufficientPrivilege):
        connection.execute("SELECT store.excuse('bay one', 'it was I')")
    with yard.person("K. Keeper", "keeper") as keeper:
        keeper.execute("SELECT store.excuse('bay one', 'the battery was replaced')")
        (told,) = keeper.execute("SELECT what FROM store.keeping").fetchone() or ("",)
    assert "the battery was replaced" in told
    assert box.ship().events == 1
    assert yard.problems() == []


def test_a_retired_box_is_let_in_no_more(yard: Yard) -> None:
    from companion.store.keeping import retire_box

    box = yard.box()
    with box.connection() as open_still:
        retire_box(yard.admin, "bay one")
        with pytest.raises(psycopg.errors.InsufficientPrivilege, match="knows no box"):
            place_of(open_still)
    with pytest.raises((StoreError, NotReached)):
        box.ship()


def test_a_wrong_password_is_told_and_not_shown(yard: Yard) -> None:
    box = yard.box()
    role = box.password_file.read_text().split(":")[3]
    box.password_file.write_text(f"*:*:*:{role}:guessed-it\n")
    with pytest.raises(StoreError, match="rejects this login's password") as refused:
        box.ship()
    assert "guessed-it" not in str(refused.value)


def test_temporary_tables_of_ones_own_are_not_taken_for_the_stores(yard: Yard) -> None:
    """A view or trigger of the box's there would run with the store's rights."""
    box = yard.box()
    with box.connection() as connection:
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            connection.execute("CREATE TEMPORARY TABLE incoming_event (x int)")
        connection.execute("SELECT store.begin_batch()")
        for hijack in (
            "DROP TABLE pg_temp.incoming_event",
            "ALTER TABLE pg_temp.incoming_event ADD COLUMN x int",
            "CREATE TRIGGER t BEFORE INSERT ON pg_temp.incoming_mark EXECUTE FUNCTION store.say()",
            "CREATE RULE r AS ON INSERT TO pg_temp.incoming_event DO INSTEAD NOTHING",
            "CREATE FUNCTION pg_temp.sha256(bytea) RETURNS bytea LANGUAGE sql AS 'SELECT $1'",
            "SELECT * FROM pg_temp.incoming_event",
        ):
            with pytest.raises(psycopg.Error):
                connection.execute(hijack.encode())

"""What waits to be sent is the record itself: there is no queue beside it that could be changed.

How far the store is, it says itself; so a mark of what went can be forged nowhere on the box.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing

import pytest
from companion.store.state import LastWord, keep

from companion.errors import RecordError
from companion.record.audit.verify import verify
from companion.store.connecting import StoreError
from companion.store.shipping import what_would_go
from tests.store.yard import Box, Yard, work

Change = Callable[[sqlite3.Connection], object]


def _sql(*statements: str) -> Change:
    def change(db: sqlite3.Connection) -> None:
        for statement in statements:
            db.execute(statement)

    return change


def _swap_events(db: sqlite3.Connection) -> None:
    """Two events of a job that waits change places."""
    for seq, other in ((2, 900), (3, 2), (900, 3)):
        db.execute("UPDATE event SET seq = ? WHERE session_id = 'job-2' AND seq = ?", (other, seq))


def _swap_marks(db: sqlite3.Connection) -> None:
    (last,) = db.execute("SELECT MAX(number) FROM box_mark").fetchone()
    for number, other in ((last, 900), (last - 1, last), (900, last - 1)):
        db.execute("UPDATE box_mark SET number = ? WHERE number = ?", (other, number))


ATTACKS: dict[str, Change] = {
    "an event that waits, edited": _sql(
        "UPDATE event SET body = '{}' WHERE session_id = 'job-2' AND seq = 2"
    ),
    "an event that waits, taken out": _sql(
        "DELETE FROM event WHERE session_id = 'job-2' AND seq = 2"
    ),
    "events that wait, in another order": _swap_events,
    "marks that wait, in another order": _swap_marks,
    "a mark that waits, taken out": _sql(
        "DELETE FROM box_mark WHERE number = (SELECT MAX(number) - 1 FROM box_mark)"
    ),
    "a job that waits, put to another name": _sql(
        "UPDATE event SET session_id = 'job-1', seq = seq + 100 WHERE session_id = 'job-2'"
    ),
    "marks that wait told as sent, by what went last": _sql(
        "UPDATE box_mark SET number = number + 100 WHERE session_id = 'job-2'"
    ),
}


def _under_his_hands(box: Box, change: Change) -> None:
    """Guards off, the change, guards on again."""
    with closing(sqlite3.connect(box.record, isolation_level=None)) as db:
        guards = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        change(db)
        for _, text in guards:
            db.execute(text)


@pytest.mark.parametrize("attack", ATTACKS)
def test_what_waits_and_was_changed_is_named_on_the_box_and_taken_by_no_store(
    yard: Yard, attack: str
) -> None:
    box = yard.box()
    box.ship()
    before = yard.counts()
    work(box.record, first=2)
    _under_his_hands(box, ATTACKS[attack])
    assert verify(box.record) != []
    with pytest.raises((StoreError, RecordError)):
        box.ship()
    assert yard.counts() == before


def test_marks_and_all_that_waits_taken_out_show_only_to_a_seal(yard: Yard) -> None:
    """What never went and was sealed nowhere: nobody has seen it but the box."""
    box = yard.box()
    box.ship()
    work(box.record, first=2)
    with closing(sqlite3.connect(box.record)) as db:
        (sent,) = db.execute(
            "SELECT MIN(number) FROM box_mark WHERE session_id = 'job-2'"
        ).fetchone()
        (heads,) = db.execute(
            "SELECT MIN(number) FROM sealed_head WHERE session_id = 'job-2'"
        ).fetchone()
    _under_his_hands(
        box,
        _sql(
            f"DELETE FROM box_mark WHERE number >= {sent}",
            f"DELETE FROM sealed_head WHERE number >= {heads}",
            "DELETE FROM event WHERE session_id = 'job-2'",
            "DELETE FROM session WHERE id = 'job-2'",
        ),
    )
    assert verify(box.record) == []
    assert box.ship().events == 0
    assert box.against_the_store() == []


def test_a_forged_last_word_changes_nothing_of_what_would_go(yard: Yard) -> None:
    box = yard.box()
    keep(box.record, LastWord("2099-01-01T00:00:00.000Z", "", refused=False))
    _, waiting = what_would_go(box.record, box.store, box.password_file)
    assert waiting.events > 0
    assert box.ship().events == waiting.events

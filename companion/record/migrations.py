"""The shape of the record file, as numbered steps that are added to and never edited."""

from __future__ import annotations

from dataclasses import dataclass

APPLICATION_ID = 0x42435231
"""Marks a SQLite file as a record of this program (`PRAGMA application_id`)."""


@dataclass(frozen=True)
class Migration:
    """One step from a schema version to the next; the statements run in one transaction."""

    number: int
    name: str
    statements: tuple[str, ...]


MIGRATIONS: tuple[Migration, ...] = (
    Migration(
        1,
        "sessions and events",
        (
            """
            CREATE TABLE session (
                id TEXT NOT NULL PRIMARY KEY CHECK (id <> ''),
                opened_utc TEXT NOT NULL
            ) STRICT
            """,
            """
            CREATE TABLE event (
                session_id TEXT NOT NULL REFERENCES session (id),
                seq INTEGER NOT NULL CHECK (seq >= 1),
                kind TEXT NOT NULL CHECK (kind <> ''),
                at_utc TEXT NOT NULL,
                monotonic_ns INTEGER NOT NULL,
                clock_trusted INTEGER NOT NULL CHECK (clock_trusted IN (0, 1)),
                body TEXT NOT NULL,
                previous_hash TEXT NOT NULL CHECK (length(previous_hash) = 64),
                hash TEXT NOT NULL CHECK (length(hash) = 64),
                PRIMARY KEY (session_id, seq)
            ) STRICT, WITHOUT ROWID
            """,
            """
            CREATE TRIGGER event_is_never_changed BEFORE UPDATE ON event
            BEGIN SELECT RAISE(ABORT, 'append-only: an event is never changed'); END
            """,
            """
            CREATE TRIGGER event_is_never_deleted BEFORE DELETE ON event
            BEGIN SELECT RAISE(ABORT, 'append-only: an event is never deleted'); END
            """,
            # INSERT OR REPLACE deletes without firing delete triggers on most connections,
            # so an insertion is refused here unless it is the next one.
            """
            CREATE TRIGGER event_follows_the_last BEFORE INSERT ON event
            WHEN NEW.seq IS NOT (
                SELECT COALESCE(MAX(seq), 0) + 1 FROM event WHERE session_id = NEW.session_id
            )
            BEGIN SELECT RAISE(ABORT, 'append-only: an event follows the last one'); END
            """,
            """
            CREATE TRIGGER event_is_chained BEFORE INSERT ON event
            WHEN NEW.seq > 1 AND NEW.previous_hash IS NOT (
                SELECT hash FROM event WHERE session_id = NEW.session_id AND seq = NEW.seq - 1
            )
            BEGIN SELECT RAISE(ABORT, 'append-only: an event carries the hash before it'); END
            """,
            """
            CREATE TRIGGER session_is_never_changed BEFORE UPDATE ON session
            BEGIN SELECT RAISE(ABORT, 'append-only: a session is never changed'); END
            """,
            """
            CREATE TRIGGER session_is_never_deleted BEFORE DELETE ON session
            BEGIN SELECT RAISE(ABORT, 'append-only: a session is never deleted'); END
            """,
            """
            CREATE TRIGGER session_is_never_replaced BEFORE INSERT ON session
            WHEN EXISTS (SELECT 1 FROM session WHERE id = NEW.id)
            BEGIN SELECT RAISE(ABORT, 'append-only: a session is opened once'); END
            """,
        ),
    ),
    Migration(
        2,
        "sealed heads",
        (
            # Which event was the head of which session when a seal was made; the hash itself
            # stands in the event. Their order is that of the leaves of the Merkle tree.
            """
            CREATE TABLE sealed_head (
                number INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
                session_id TEXT NOT NULL REFERENCES session (id),
                seq INTEGER NOT NULL CHECK (seq >= 0)
            ) STRICT
            """,
            "CREATE INDEX sealed_head_by_session ON sealed_head (session_id, seq)",
            """
            CREATE TRIGGER sealed_head_is_never_changed BEFORE UPDATE ON sealed_head
            BEGIN SELECT RAISE(ABORT, 'append-only: a sealed head is never changed'); END
            """,
            """
            CREATE TRIGGER sealed_head_is_never_deleted BEFORE DELETE ON sealed_head
            BEGIN SELECT RAISE(ABORT, 'append-only: a sealed head is never deleted'); END
            """,
            """
            CREATE TRIGGER sealed_head_follows_the_last BEFORE INSERT ON sealed_head
            WHEN NEW.number IS NOT (SELECT COALESCE(MAX(number), 0) + 1 FROM sealed_head)
            BEGIN SELECT RAISE(ABORT, 'append-only: a sealed head follows the last one'); END
            """,
        ),
    ),
    Migration(
        3,
        "marks of the box",
        (
            """
            CREATE TABLE box (
                number INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
                public_key TEXT NOT NULL CHECK (length(public_key) = 64)
            ) STRICT
            """,
            # One for each batch of events, in the order of their writing, over all sessions.
            """
            CREATE TABLE box_mark (
                number INTEGER NOT NULL PRIMARY KEY CHECK (number >= 1),
                box INTEGER NOT NULL REFERENCES box (number),
                what TEXT NOT NULL CHECK (what IN ('found', 'opened', 'written', 'sealed')),
                session_id TEXT NOT NULL,
                seq INTEGER NOT NULL CHECK (seq >= 0),
                head TEXT NOT NULL CHECK (length(head) = 64),
                previous BLOB NOT NULL CHECK (length(previous) = 32),
                signature BLOB NOT NULL CHECK (length(signature) = 64)
            ) STRICT
            """,
            "CREATE INDEX box_mark_by_session ON box_mark (session_id)",
            """
            CREATE TRIGGER box_is_never_changed BEFORE UPDATE ON box
            BEGIN SELECT RAISE(ABORT, 'append-only: a box is never changed'); END
            """,
            """
            CREATE TRIGGER box_is_never_deleted BEFORE DELETE ON box
            BEGIN SELECT RAISE(ABORT, 'append-only: a box is never deleted'); END
            """,
            """
            CREATE TRIGGER box_follows_the_last BEFORE INSERT ON box
            WHEN NEW.number IS NOT (SELECT COALESCE(MAX(number), 0) + 1 FROM box)
            BEGIN SELECT RAISE(ABORT, 'append-only: a box follows the last one'); END
            """,
            """
            CREATE TRIGGER box_mark_is_never_changed BEFORE UPDATE ON box_mark
            BEGIN SELECT RAISE(ABORT, 'append-only: a mark of the box is never changed'); END
            """,
            """
            CREATE TRIGGER box_mark_is_never_deleted BEFORE DELETE ON box_mark
            BEGIN SELECT RAISE(ABORT, 'append-only: a mark of the box is never deleted'); END
            """,
            """
            CREATE TRIGGER box_mark_follows_the_last BEFORE INSERT ON box_mark
            WHEN NEW.number IS NOT (SELECT COALESCE(MAX(number), 0) + 1 FROM box_mark)
            BEGIN SELECT RAISE(ABORT, 'append-only: a mark of the box follows the last one'); END
            """,
        ),
    ),
)

SCHEMA_VERSION_TABLE = """
    CREATE TABLE schema_version (
        number INTEGER NOT NULL PRIMARY KEY,
        name TEXT NOT NULL,
        applied_utc TEXT NOT NULL
    ) STRICT
"""

TRIGGER_NAMES: frozenset[str] = frozenset(
    statement.split()[2]
    for migration in MIGRATIONS
    for statement in migration.statements
    if statement.split()[:2] == ["CREATE", "TRIGGER"]
)
"""Every trigger of the newest schema."""


def statements_up_to(version: int) -> list[str]:
    """Every statement that makes a file of that schema version."""
    return [
        SCHEMA_VERSION_TABLE,
        *(statement for step in MIGRATIONS[:version] for statement in step.statements),
    ]

"""How long each kind of data is kept in the store, and letting go what is older.

By the store's own clock, and only where it agrees with this machine's and something vouches for
that: a clock that runs ahead would let everything go.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, get_args

from psycopg import Connection

from companion.record.clock import SystemClock
from companion.record.port import Clock
from companion.record.rfc3339 import parse_rfc3339
from companion.store.connecting import StoreError
from companion.store.forgetting import Forgotten, replace_again
from companion.store.migrating import one

Kept = Literal["sound", "listened", "sessions", "names"]
KINDS: tuple[Kept, ...] = get_args(Kept)
_LET_GO: dict[Kept, bytes] = {
    "sound": b"UPDATE store.sound SET content = NULL, gone = now(), "
    b"gone_why = 'kept for the agreed time' WHERE gone IS NULL AND recorded < %s",
    "listened": b"DELETE FROM store.access WHERE at < %s",
    "sessions": b"DELETE FROM store.page_session WHERE began < %s",
    "names": b"UPDATE store.pseudonym SET name = NULL WHERE name IS NOT NULL AND made < %s",
}
APART = timedelta(minutes=5)


@dataclass(frozen=True)
class Expired:
    """What was let go: clips, lines of who listened, sessions, names behind pseudonyms.

    `replaced`: names that came since and became pseudonyms again.
    """

    clips: int
    listened: int
    sessions: int
    names: int
    replaced: tuple[Forgotten, ...]


def retention(connection: Connection) -> dict[str, int | None]:
    """For how many days each kind is kept; None: for good."""
    return dict(connection.execute("SELECT kind, days FROM store.retention").fetchall())


def keep_for(connection: Connection, kind: Kept, days: int | None) -> None:
    """Keep a kind for so many days from now on; it is noted for good."""
    with connection.transaction():
        connection.execute("UPDATE store.retention SET days = %s WHERE kind = %s", (days, kind))
        told = "for good" if days is None else f"for {days} days"
        connection.execute(
            "INSERT INTO store.keeping (by, what) VALUES (session_user, %s)",
            (f"{kind} kept {told}",),
        )


def expire(connection: Connection, clock: Clock | None = None) -> Expired:
    """Let go what was kept for its time. By the login of an administrator.

    A clip's age is by the earliest date of its job that something vouched for, or by its arrival
    here, whichever is earlier. Raises `StoreError` where the date is not to be trusted.
    """
    _require_date(connection, clock or SystemClock())
    replaced = tuple(one for one in replace_again(connection) if one.events or one.comments)
    with connection.transaction():
        connection.execute("SET LOCAL statement_timeout = 0")
        # Before nothing: what is kept for good is older than no moment.
        until: dict[str, datetime | None] = dict(
            connection.execute(
                "SELECT kind, now() - make_interval(days => days) FROM store.retention"
            ).fetchall()
        )
        counts = [
            connection.execute(statement, (until[kind],)).rowcount
            for kind, statement in _LET_GO.items()
        ]
    clips, listened, sessions, names = counts
    return Expired(clips, listened, sessions, names, replaced)


def _require_date(connection: Connection, clock: Clock) -> None:
    now = clock.now()
    if not now.trusted:
        raise StoreError(
            "nothing vouches for this computer's date, and with a wrong one sound would be deleted "
            "too early; let it synchronise its clock first"
        )
    (at_store, latest) = one(
        connection,
        "SELECT now(), greatest((SELECT max(received) FROM store.mark), "
        "(SELECT max(made) FROM store.seal))",
    )
    if abs(at_store - parse_rfc3339(now.at_utc)) > APART:
        raise StoreError(
            f"the store's clock says {at_store:%Y-%m-%d %H:%M} UTC and this computer's "
            f"{now.at_utc}; nothing is let go until they agree"
        )
    if latest is not None and latest > at_store:
        raise StoreError(
            f"the store's clock says {at_store:%Y-%m-%d %H:%M} UTC, and it took something "
            f"{latest:%Y-%m-%d %H:%M} UTC: it went back; nothing is let go"
        )

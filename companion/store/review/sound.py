"""Sound at the store's pages: heard through `store.listen` alone, which notes who did, and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from psycopg import Connection

from companion.report.sounds import NotHere, Sound
from companion.store.review.people import Visitor
from companion.store.review.pool import Pool
from companion.store.review.reading import StoreReading

NOT_SENT = Sound(problem="sound-not-sent")
MOST_SHOWN = 500


class StoreClips:
    """The clips of one job, for one person."""

    def __init__(self, pool: Pool, visitor: Visitor, session_id: str) -> None:
        self._pool = pool
        self._role = visitor.role
        with pool.acting_as(self._role) as connection:
            self._job = StoreReading(connection).job(session_id).job
            self._kept = {
                str(sha256): gone
                for sha256, gone in connection.execute(
                    "SELECT encode(sha256, 'hex'), gone FROM store.sound WHERE job = %s",
                    (self._job,),
                )
            }

    def get(self, sha256: str) -> None:
        """Raises `NotHere` for sound that was not sent or was let go; hears nothing."""
        if sha256 not in self._kept:
            raise NotHere(NOT_SENT)
        gone = self._kept[sha256]
        if gone is not None:
            raise NotHere(Sound(expired_on=f"{gone.astimezone(UTC):%Y-%m-%d}"))

    def read(self, sha256: str) -> bytes:
        """The sound; it is noted that this person heard it."""
        self.get(sha256)
        with self._pool.acting_as(self._role, writing=True) as connection:
            row = connection.execute("SELECT store.listen(%s, %s)", (self._job, sha256)).fetchone()
        if row is None or row[0] is None:
            raise NotHere(NOT_SENT)
        return bytes(row[0])


@dataclass(frozen=True)
class Listened:
    """Somebody heard a clip of the person who asks."""

    at: datetime
    by: str
    session_id: str
    event: int
    bay: str
    opened_utc: str


def listened_to_me(connection: Connection) -> tuple[Listened, ...]:
    """Who heard the voice of the person who asks, the latest first."""
    rows = connection.execute("SELECT * FROM store.listened_to_me(%s)", (MOST_SHOWN,))
    return tuple(Listened(*row) for row in rows)

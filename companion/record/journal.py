"""The log of one session in the record file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from companion.errors import RecordError
from companion.facts.kinds import Fact
from companion.record import rows
from companion.record.canonical import opening_hash, stored_event
from companion.record.clips import ClipStore
from companion.record.database import Database
from companion.record.port import StoredEvent


class SqliteLog:
    """Appends to one session. Given the clips, it refuses an event that names an absent one."""

    def __init__(self, database: Database, session_id: str, clips: ClipStore | None = None) -> None:
        self.session_id = session_id
        self._database = database
        self._clips = clips
        self._opening_hash = opening_hash(session_id, database.session(session_id).opened_utc)

    @property
    def head_hash(self) -> str:
        """The hash of the last event, or the opening hash while there is none."""
        return self._head()[1]

    def append(self, facts: Sequence[Fact]) -> tuple[StoredEvent, ...]:
        """Store the facts in one transaction, on the disk when this returns.

        Raises `RecordError` when one of them cannot be stored or the disk refuses; then
        none is stored, and the same call may be tried again.
        """
        if not facts:
            return ()
        stamp = self._database.clock.now()
        stored: list[StoredEvent] = []
        with self._database.writing() as tables:
            last_seq, head = self._head()
            self._database.marker.require_own(tables, self.session_id, last_seq, head)
            for seq, fact in enumerate(facts, start=last_seq + 1):
                event = stored_event(self.session_id, seq, fact, stamp, head)
                self._require_clip(event)
                rows.insert(tables, "event", rows.row_of_event(event), rows.EVENT_KEY)
                stored.append(event)
                head = event.hash
            seq = stored[-1].seq
            self._database.marker.mark(tables, "written", self.session_id, seq, head)
        return tuple(stored)

    def events(self, session_id: str) -> Iterator[StoredEvent]:
        """The events of any session of the file, in order."""
        return self._database.events(session_id)

    def _head(self) -> tuple[int, str]:
        # Read back each time: after a failed commit only the file knows where it stands.
        found = self._database.read(
            "SELECT seq, hash FROM event WHERE session_id = ? ORDER BY seq DESC LIMIT 1",
            (self.session_id,),
        )
        return (found[0]["seq"], found[0]["hash"]) if found else (0, self._opening_hash)

    def _require_clip(self, event: StoredEvent) -> None:
        sha256 = event.body.get("clip_sha256")
        if self._clips is not None and sha256 is not None and not self._clips.holds(str(sha256)):
            raise RecordError(
                f"event {event.kind!r} names clip {sha256}, which is not in "
                f"{self._clips.folder}; put the clip first, then append"
            )

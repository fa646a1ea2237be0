"""A log in memory: the same chain and the same rules, gone when the program ends."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from companion.errors import RecordError
from companion.facts.kinds import Fact
from companion.record.canonical import opening_hash, stored_event
from companion.record.clock import FixedClock
from companion.record.port import Clock, StoredEvent


class MemoryLog:
    """One session in a list, for tests and rehearsals that need no file."""

    def __init__(self, session_id: str = "memory", clock: Clock | None = None) -> None:
        self.session_id = session_id
        self._clock: Clock = clock if clock is not None else FixedClock()
        self.opened_utc = self._clock.now().at_utc
        self._events: list[StoredEvent] = []

    @property
    def head_hash(self) -> str:
        """The hash of the last event, or the opening hash while there is none."""
        if self._events:
            return self._events[-1].hash
        return opening_hash(self.session_id, self.opened_utc)

    def append(self, facts: Sequence[Fact]) -> tuple[StoredEvent, ...]:
        """Store the facts, all of them or none (an unstorable one raises `RecordError`)."""
        stamp = self._clock.now()
        head, fresh = self.head_hash, []
        for seq, fact in enumerate(facts, start=len(self._events) + 1):
            event = stored_event(self.session_id, seq, fact, stamp, head)
            fresh.append(event)
            head = event.hash
        self._events.extend(fresh)
        return tuple(fresh)

    def events(self, session_id: str) -> Iterator[StoredEvent]:
        """The session's events in order; raises `RecordError` for another session."""
        if session_id != self.session_id:
            raise RecordError(f"no session {session_id!r} here; this log holds {self.session_id!r}")
        return iter(tuple(self._events))

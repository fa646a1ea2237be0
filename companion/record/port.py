"""What the other rooms need of a log and of a clock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from companion.facts.kinds import Fact, fact_of


@dataclass(frozen=True)
class Stamp:
    """One moment, told twice: as the date that people read and as a clock that never steps.

    `at_utc` is an RFC 3339 date and time ending in an offset ("2031-05-06T07:08:09.123Z").
    `monotonic_ns` counts nanoseconds since an arbitrary start (often the last boot).
    `trusted` is false when nothing vouches that the date is right.
    """

    at_utc: str
    monotonic_ns: int
    trusted: bool


@dataclass(frozen=True)
class StoredEvent:
    """One event as it stands in the log; `seq` counts from 1 within its session.

    `previous_hash` is the hash of the event before it, and for the first event the
    opening hash of the session (`companion.record.canonical.opening_hash`).
    """

    session_id: str
    seq: int
    kind: str
    at_utc: str
    monotonic_ns: int
    clock_trusted: bool
    body: Mapping[str, Any]
    previous_hash: str
    hash: str

    @property
    def fact(self) -> Fact:
        """What it tells, read when it is first asked for."""
        # As functools.cached_property, but for its lock, which costs as much as the reading.
        known: Fact | None = self.__dict__.get("_fact")
        if known is None:
            known = self.__dict__["_fact"] = fact_of(self.kind, self.body)
        return known


class Clock(Protocol):
    """Says what time it is."""

    def now(self) -> Stamp:
        """The present moment."""
        ...


class Log(Protocol):
    """A session's events, in order, only ever added to."""

    def append(self, facts: Sequence[Fact]) -> tuple[StoredEvent, ...]:
        """Store the facts, all of them or none, and return them as stored.

        Raises `RecordError` when they cannot be stored; then nothing was.
        """
        ...

    def events(self, session_id: str) -> Iterator[StoredEvent]:
        """The session's events in order; raises `RecordError` for an unknown session."""
        ...


class Clips(Protocol):
    """Where the sound of utterances is kept."""

    def put(self, sound: bytes) -> str:
        """Keep the sound and give its name, the SHA-256 of the file."""
        ...

"""What an export holds, as models: the schema of `docs/schema/` is generated from them.

A form's number goes up when a field changes its meaning, is renamed or taken out.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field

from companion.facts.afterwards import Amended, ClipsExpired, SignedOff
from companion.record.audit.seal import Proof, Seal
from companion.record.port import StoredEvent

Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
EVENT_FORM = 1
READING_FORM = 2


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class ExportedEvent(_Model):
    """One line of JSON lines: the object that the event's hash was made of, and the hash.

    The line is canonical JSON (RFC 8785). Without its `hash` it is, byte for byte, what was
    hashed with SHA-256.
    """

    at: Annotated[str, Field(description="RFC 3339 date and time")]
    body: Annotated[dict[str, Any], Field(description="what the event says, as its kind says it")]
    clock_trusted: Annotated[bool, Field(description="whether anything vouched for the date")]
    hash: Hash
    kind: Annotated[str, Field(min_length=1)]
    monotonic: Annotated[
        str, Field(pattern=r"^-?\d+$", description="nanoseconds of a clock that never steps")
    ]
    previous: Annotated[
        str, Field(pattern=r"^[0-9a-f]{64}$", description="the hash of the event before it")
    ]
    seq: Annotated[int, Field(ge=1, description="its place in the session, from 1")]
    session: Annotated[str, Field(min_length=1)]


class EventRow(_Model):
    """One row of the events as CSV or Parquet; `body` is canonical JSON text."""

    session_id: Annotated[str, Field(min_length=1)]
    seq: Annotated[int, Field(ge=1)]
    kind: Annotated[str, Field(min_length=1)]
    at_utc: str
    monotonic_ns: int
    clock_trusted: bool
    body: str
    previous_hash: Hash
    hash: Hash


class ReadingRow(_Model):
    """One accepted reading as CSV or Parquet, also one that was taken back later.

    Most readings go into a result, and it is the result that has limits: `low`, `high` and
    `answer` are there for a reading that was itself held against limits.
    """

    session_id: Annotated[str, Field(min_length=1)]
    seq: Annotated[int, Field(ge=1)]
    at_utc: str
    reading_id: str
    title: str
    value: Annotated[str, Field(description="decimal text, as it was accepted, in `unit`")]
    unit: str
    direction: str
    spoken: str
    u: Annotated[float | None, Field(description="standard uncertainty, in `unit`")]
    low: Annotated[float | None, Field(description="the reading's own lower limit, in `unit`")]
    high: Annotated[float | None, Field(description="the reading's own upper limit, in `unit`")]
    answer: Annotated[str, Field(description="inside, outside or too_close; empty: not held")]
    set_aside: Annotated[str, Field(description="why it does not count in the end; empty: it does")]
    attempts: int


SCHEMAS: dict[str, type[BaseModel]] = {
    f"event-{EVENT_FORM}": ExportedEvent,
    f"event-row-{EVENT_FORM}": EventRow,
    f"reading-row-{READING_FORM}": ReadingRow,
    "seal-1": Seal,
    "proof-1": Proof,
    "signed-off-1": SignedOff,
    "amended-1": Amended,
    "clips-expired-1": ClipsExpired,
}
"""Every documented form by the name of its file in `docs/schema/`."""


def exported_event(event: StoredEvent) -> dict[str, Any]:
    """The event as a line of JSON lines holds it."""
    return {
        "session": event.session_id,
        "seq": event.seq,
        "kind": event.kind,
        "at": event.at_utc,
        "monotonic": str(event.monotonic_ns),
        "clock_trusted": event.clock_trusted,
        "body": event.body,
        "previous": event.previous_hash,
        "hash": event.hash,
    }

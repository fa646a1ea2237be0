"""What is added to a session when it is over: sign-offs, corrections, clips that expired.

Each is an event of the session's own chain; nothing that stands is ever edited. None of them is
part of the conversation, so a replay of it passes them over (`AFTERWARDS`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from companion.errors import RecordError
from companion.record.canonical import canonical_json
from companion.record.keys import is_signature_of
from companion.record.port import Entry, StoredEvent

SIGNED_OFF = "signed_off"
AMENDED = "amended"
CLIPS_EXPIRED = "clips_expired"
AFTERWARDS = frozenset({SIGNED_OFF, AMENDED, CLIPS_EXPIRED})

Role = Literal["technician", "supervisor"]
How = Literal["pin", "typed"]
Name = Annotated[str, Field(min_length=1, max_length=100)]
Text = Annotated[str, Field(max_length=2000)]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Signature(_Body):
    """An Ed25519 signature (RFC 8032) over the sign-off's statement, in hexadecimal."""

    algorithm: Literal["Ed25519"] = "Ed25519"
    public_key: Hash
    value: Annotated[str, Field(pattern=r"^[0-9a-f]{128}$")]


class SignedOff(_Body):
    """Who stands for the session up to event `events`, whose hash is `head`.

    `how` says whether the name was proven by a PIN or only typed.
    """

    by: Name
    role: Role
    how: How
    events: Annotated[int, Field(ge=1)]
    head: Hash
    remark: Text = ""
    signature: Signature | None = None


class Amended(_Body):
    """What a supervisor says instead of event `event`, which stays as it is."""

    by: Name
    how: How
    event: Annotated[int, Field(ge=1)]
    now: Annotated[str, Field(min_length=1, max_length=2000)]
    why: Annotated[str, Field(min_length=1, max_length=2000)]


class ClipsExpired(_Body):
    """Clips whose sound was deleted on purpose; their hashes stay."""

    clips: Annotated[tuple[Hash, ...], Field(min_length=1)]
    why: Annotated[str, Field(min_length=1, max_length=2000)]


def entry_of(kind: str, body: _Body) -> Entry:
    """The event to append."""
    return Entry(kind, body.model_dump(mode="json"))


def statement(session_id: str, signed: SignedOff) -> bytes:
    """What an Ed25519 signature is made over: a line that says what it is, and canonical JSON."""
    told = {**signed.model_dump(mode="json", exclude={"signature"}), "session": session_id}
    return b"bay-companion sign-off 1\n" + canonical_json(told)


def head_to_sign(events: Iterable[StoredEvent]) -> StoredEvent:
    """The last event of a session that is over; raises `RecordError` for one that is not."""
    last, is_over, session_id = None, False, ""
    for event in events:
        last, session_id = event, event.session_id
        is_over = is_over or event.kind in ("finished", "stopped")
    if last is None or not is_over:
        raise RecordError(
            f"session {session_id or 'without events'} is not over; wanted: one that was finished "
            "or stopped (go on with it by 'companion resume')"
        )
    return last


def amendable(events: Iterable[StoredEvent], seq: int) -> StoredEvent:
    """The event that is to be corrected; raises `RecordError` when the session has none such."""
    kept = tuple(events)
    head_to_sign(kept)
    for event in kept:
        if event.seq == seq:
            return event
    raise RecordError(
        f"session {kept[0].session_id} has no event {seq}; wanted: 1 to {kept[-1].seq}"
    )


def clips_expired_by(body: Mapping[str, Any]) -> set[str]:
    """The hashes that a `clips_expired` event names; of an odd body, none."""
    try:
        return set(ClipsExpired.model_validate(body).clips)
    except ValidationError:
        return set()


def signature_problem(
    session_id: str, seq: int, previous_hash: str, body: object, keys: Collection[str]
) -> str:
    """What is wrong with a `signed_off` event, or "": its head, its signature, its key."""
    try:
        signed = SignedOff.model_validate(body)
    except ValidationError:
        return "it is a sign-off of a form that is not known"
    if (signed.events, signed.head) != (seq - 1, previous_hash):
        return f"{signed.by} signed off another state of the session than the one before it"
    if signed.signature is None:
        return ""
    if not is_signature_of(
        signed.signature.public_key, signed.signature.value, statement(session_id, signed)
    ):
        return f"the signature of {signed.by} was not made over this sign-off"
    if keys and signed.signature.public_key not in keys:
        return f"the signature of {signed.by} was made with another key than those given"
    return ""

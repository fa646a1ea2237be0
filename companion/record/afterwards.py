"""What is added to a session when it is over: drift, sign-offs, corrections, expired clips.

Each is an event of the session's own chain; nothing that stands is ever edited. None of them is
part of the conversation, so a replay of it passes them over (`NO_PART_OF_THE_TALK`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from companion.errors import RecordError
from companion.facts.afterwards import Amended, ClipsExpired, SignedOff
from companion.facts.ending import WORKED_ON, DriftNoticed, Finished, Stopped
from companion.facts.practice import BayShows
from companion.record.canonical import canonical_json
from companion.record.port import StoredEvent

NO_PART_OF_THE_TALK = frozenset(
    {DriftNoticed.KIND, SignedOff.KIND, Amended.KIND, ClipsExpired.KIND, BayShows.KIND}
)
"""These, and what a bay to practise in shows: they follow from no answer."""
Signable = SignedOff | Amended


def statement(session_id: str, signed: SignedOff) -> bytes:
    """What an Ed25519 signature is made over: a line that says what it is, and canonical JSON."""
    told = {**signed.model_dump(mode="json", exclude={"signature"}), "session": session_id}
    return b"bay-companion sign-off 1\n" + canonical_json(told)


def correction_statement(session_id: str, amended: Amended, previous_hash: str) -> bytes:
    """The same for a correction, which has one place in its session's chain."""
    told = amended.model_dump(mode="json", exclude={"signature"})
    told |= {"previous": previous_hash, "session": session_id}
    return b"bay-companion correction 1\n" + canonical_json(told)


@dataclass(frozen=True)
class Over:
    """How a session ended, and its last event.

    `result` is that of the `finished` event, or "stopped" where the work stopped by itself and
    nobody continued it; `why` says why it stopped.
    """

    last: StoredEvent
    result: str
    why: str


def how_it_ended(events: Iterable[StoredEvent]) -> Over:
    """How a session ended; raises `RecordError` for one that is not over.

    A job that stopped by itself and was then continued is not over: a sign-off would stand for
    a stop that no longer holds.
    """
    last, result, why, session_id = None, "", "", ""
    for event in events:
        last, session_id = event, event.session_id
        if event.kind in WORKED_ON:
            result, why = "", ""
        match event.fact:
            case Stopped(why):
                result = "stopped"
            case Finished(told):
                result = told or "finished"
            case _:
                pass
    if last is None or not result:
        session_id = session_id or "?"
        raise RecordError(
            f"session {session_id} is not over; wanted: one that was finished, or that stopped and "
            "was not continued (continue it with 'companion resume')",
            said="not-over",
            session=session_id,
        )
    return Over(last, result, why)


def amendable(events: Iterable[StoredEvent], seq: int) -> StoredEvent:
    """The event that is to be corrected; raises `RecordError` when the session has none such."""
    kept = tuple(events)
    how_it_ended(kept)
    for event in kept:
        if event.seq == seq:
            return event
    session, last = kept[0].session_id, kept[-1].seq
    raise RecordError(
        f"session {session} has no event {seq}; wanted: 1 to {last}",
        said="no-event",
        session=session,
        event=str(seq),
        last=str(last),
    )


def clips_expired_by(body: Mapping[str, Any]) -> set[str]:
    """The hashes that a `clips_expired` event names; of an odd body, none."""
    try:
        return set(ClipsExpired.model_validate(body).clips)
    except ValidationError:
        return set()

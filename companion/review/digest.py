"""One session in one line: what a list shows of it, folded from its events."""

from __future__ import annotations

from dataclasses import dataclass, replace

from companion.record import StoredEvent
from companion.review.values import mapping, text, words

BROKEN_OFF = "broken_off"
"""The result of a session that was neither finished nor stopped."""


@dataclass(frozen=True)
class Digest:
    """What a list shows of one session.

    `result` is how it ended ("inside", "outside", "stopped", ...) or `BROKEN_OFF`; `notes` and
    `refusals` count what was noted and what was not understood, `corrections` and `signatures`
    what was added when it was over, `unreadable` the events that are damaged.
    """

    session_id: str
    opened_utc: str
    last_utc: str = ""
    event_count: int = 0
    head_hash: str = ""
    technician: str = ""
    vehicle: str = ""
    bay: str = ""
    shop: str = ""
    job: str = ""
    result: str = BROKEN_OFF
    is_example: bool = False
    is_rehearsal: bool = False
    clock_trusted: bool = True
    readings: int = 0
    refusals: int = 0
    notes: int = 0
    corrections: int = 0
    signatures: int = 0
    unreadable: int = 0


def digested_unread(digest: Digest, seq: int, head_hash: str) -> Digest:
    """The digest with one more event that cannot be read."""
    return replace(
        digest, event_count=seq, head_hash=str(head_hash), unreadable=digest.unreadable + 1
    )


def digested(digest: Digest, event: StoredEvent) -> Digest:
    """The digest with one more event; kinds and bodies of any shape are borne."""
    following = replace(
        digest,
        last_utc=event.at_utc,
        event_count=event.seq,
        head_hash=event.hash,
        clock_trusted=digest.clock_trusted and event.clock_trusted,
    )
    body = event.body
    match event.kind:
        case "opened":
            return replace(
                following,
                technician=text(body.get("technician")),
                vehicle=text(mapping(body.get("vehicle")).get("name")),
                bay=text(mapping(body.get("bay")).get("name")),
                shop=text(mapping(body.get("bay")).get("shop")),
                job=text(mapping(body.get("job")).get("name")),
                is_example=body.get("example") is True,
                is_rehearsal=body.get("rehearsal") is True,
            )
        case "finished":
            return replace(following, result=text(body.get("result")))
        case "stopped" if digest.result == BROKEN_OFF:
            return replace(following, result="stopped")
        case "accepted":
            return replace(following, readings=digest.readings + 1)
        case "refused":
            return replace(following, refusals=digest.refusals + 1)
        case "noted":
            return replace(following, notes=digest.notes + 1)
        case "amended":
            return replace(following, corrections=digest.corrections + 1)
        case "signed_off":
            return replace(following, signatures=digest.signatures + 1)
        case _:
            return following


@dataclass(frozen=True)
class Told:
    """The words of one event that a search finds, by who they came from.

    `said` is the companion's, `heard` the technician's (also what was refused), `noted` what was
    kept: notes, readings, answers, decisions, corrections, names.
    """

    said: str = ""
    heard: str = ""
    noted: str = ""


def told_by(event: StoredEvent) -> Told | None:
    """The words of the event, or None where it has none worth finding."""
    body = event.body
    match event.kind:
        case "said":
            return Told(said=text(body.get("text")))
        case "heard" | "refused":
            heard = words(body.get("words"))
            return Told(heard=heard) if heard else None
        case "noted":
            return Told(noted=words(body.get("words")))
        case "opened":
            names = (
                body.get("technician"),
                mapping(body.get("vehicle")).get("name"),
                mapping(body.get("bay")).get("name"),
                mapping(body.get("bay")).get("shop"),
            )
            return Told(noted=_joined(*names))
        case "accepted":
            return Told(noted=_joined(body.get("title"), body.get("spoken")))
        case "answered":
            return Told(noted=_joined(body.get("title"), _spaced(body.get("choice"))))
        case "decided" | "aim_decided":
            return Told(noted=_joined(body.get("title"), _spaced(body.get("answer"))))
        case "corrected":
            return Told(noted=text(body.get("text")))
        case "stopped" | "doubted" | "not_allowed" | "misfit":
            return Told(noted=text(body.get("why")))
        case "amended":
            return Told(noted=_joined(body.get("by"), body.get("now"), body.get("why")))
        case "signed_off":
            return Told(noted=_joined(body.get("by"), body.get("remark")))
        case _:
            return None


def _spaced(value: object) -> str:
    return text(value).replace("_", " ")


def _joined(*values: object) -> str:
    return " · ".join(filter(None, map(text, values)))

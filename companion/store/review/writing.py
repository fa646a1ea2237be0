"""What supervisors write at the pages: a sign-off, a correction, a comment.

The first two are signed with their own key, over the job as they saw it, and go to the box.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from psycopg import Connection
from psycopg.types.json import Jsonb
from pydantic import ValidationError

from companion.archive.correcting import correctable
from companion.errors import RecordError
from companion.facts.afterwards import Amended, Signature, SignedOff
from companion.record.afterwards import (
    Signable,
    correction_statement,
    how_it_ended,
    statement,
)
from companion.record.audit.keys import public_hex
from companion.store.review.people import Visitor, unlocked_key
from companion.store.review.reading import StoreReading

REMARK, COMMENT = 500, 2000


@dataclass(frozen=True)
class Sent:
    """A sign-off or correction on its way; `taken` is None until the box answered."""

    what: str
    by: str
    made: datetime
    taken: bool | None
    told: str


@dataclass(frozen=True)
class Comment:
    """What somebody said of a job."""

    name: str
    made: datetime
    told: str


def sent_for(connection: Connection, job: int) -> tuple[Sent, ...]:
    """What was sent to the box for this job."""
    rows = connection.execute(
        "SELECT what, body->>'by', made, taken, told FROM store.outgoing WHERE job = %s "
        "ORDER BY number",
        (job,),
    )
    return tuple(Sent(*row) for row in rows)


def comments_on(connection: Connection, job: int) -> tuple[Comment, ...]:
    """What was said of this job."""
    rows = connection.execute(
        "SELECT name, made, told FROM store.comment WHERE job = %s ORDER BY number", (job,)
    )
    return tuple(Comment(*row) for row in rows)


def sign_off(
    connection: Connection, visitor: Visitor, session_id: str, remark: str, password: str
) -> None:
    """Stand for the job as it is; raises `NotLetIn`, and `RecordError` where it is not over."""
    reading = StoreReading(connection)
    job = reading.job(session_id)
    kept = reading.kept(session_id)
    if kept.integrity.findings:
        raise RecordError(
            "this job is not as it was written, and is not signed off", said="write-job-broken"
        )
    over = how_it_ended(kept.view.events)
    key = unlocked_key(connection, password)
    try:
        signed = SignedOff(
            by=visitor.name,
            role="supervisor",
            how="typed",
            events=over.last.seq,
            head=over.last.hash,
            remark=remark[:REMARK],
        )
    except ValidationError as error:
        raise RecordError("a sign-off holds no such text", said="write-no-such-text") from error
    _send(connection, job.job, job.head, _signed(signed, key, statement(job.id, signed)))


def correct(
    connection: Connection,
    visitor: Visitor,
    session_id: str,
    event: int,
    now: str,
    why: str,
    password: str,
) -> None:
    """Say what an event should have said; raises as `sign_off`, and as `correctable`."""
    reading = StoreReading(connection)
    job = reading.job(session_id)
    correctable(reading.told(session_id).events, event, now, why)
    key = unlocked_key(connection, password)
    try:
        amended = Amended(by=visitor.name, how="typed", event=event, now=now, why=why)
    except ValidationError as error:
        raise RecordError(
            "a correction says what is right and why; one of them is missing",
            said="write-correction-empty",
        ) from error
    made_over = correction_statement(job.id, amended, job.head)
    _send(connection, job.job, job.head, _signed(amended, key, made_over))


def comment(connection: Connection, session_id: str, told: str) -> None:
    """Say something of a job; it stays at the store."""
    job = StoreReading(connection).job(session_id)
    if not told.strip():
        raise RecordError("the comment is empty", said="write-comment-empty")
    connection.execute("SELECT store.comment_on(%s, %s)", (job.job, told.strip()[:COMMENT]))


def _signed(fact: Signable, key: Ed25519PrivateKey, made_over: bytes) -> Signable:
    value = key.sign(made_over).hex()
    return fact.model_copy(update={"signature": Signature(public_key=public_hex(key), value=value)})


def _send(connection: Connection, job: int, head: str, fact: Signable) -> None:
    body = Jsonb(fact.model_dump(mode="json"))
    connection.execute("SELECT store.send_to_box(%s, %s, %s, %s)", (job, fact.KIND, body, head))

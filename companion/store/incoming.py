"""What supervisors signed or corrected at the store's pages, taken into the box's record.

The box believes nobody: what comes has to fit the job as the record holds it, be signed over just
that, and claim no PIN. It becomes an event of its own, and the store is told so, or why not.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from psycopg import Connection
from pydantic import ValidationError

from companion.archive.correcting import correctable
from companion.errors import RecordError
from companion.facts.afterwards import Amended, SignedOff
from companion.record.afterwards import (
    Signable,
    correction_statement,
    how_it_ended,
    statement,
)
from companion.record.audit.keys import is_signature_of
from companion.record.database import Database, open_record
from companion.record.enrolling import read_roll
from companion.record.journal import SqliteLog
from companion.record.lock import is_locked
from companion.record.signings import Place, signing_of
from companion.store.connecting import connected

MODELS: dict[str, type[Signable]] = {SignedOff.KIND: SignedOff, Amended.KIND: Amended}


@dataclass(frozen=True)
class Answer:
    """What became of one of them; `told` says why it was not taken, `problem` the same as it is."""

    number: int
    job_id: str
    taken: bool
    told: str
    problem: RecordError | None = None


def take_what_waits(
    record: Path, store: str, password_file: Path | None = None
) -> tuple[Answer, ...]:
    """The same by the box's login; raises `StoreError`, too."""
    with connected(store, password_file) as connection:
        return take_in(record, connection)


def take_in(record: Path, connection: Connection) -> tuple[Answer, ...]:
    """Append what waits for this box; nothing while a job runs: it waits for the next time.

    Raises `RecordError` where the record cannot be written.
    """
    waiting = connection.execute("SELECT * FROM store.for_my_box()").fetchall()
    if not waiting or is_locked(record):
        return ()
    answers = []
    with open_record(record) as database:
        for number, job_id, what, body, _head in waiting:
            try:
                _append(database, job_id, what, body)
                answer = Answer(number, job_id, True, "")
            except RecordError as error:
                told = str(error).replace(f"{record}: ", "")
                answer = Answer(number, job_id, False, told, error)
            connection.execute(
                "SELECT store.answer(%s, %s, %s)", (number, answer.taken, answer.told)
            )
            answers.append(answer)
    return tuple(answers)


def _append(database: Database, job_id: str, what: str, body: str) -> None:
    try:
        fact = MODELS[what].model_validate(json.loads(body))
    except (KeyError, ValueError, ValidationError) as error:
        raise RecordError(
            "it is of a form that this box does not know", said="sent-form-not-known"
        ) from error
    session = database.session(job_id)
    events = tuple(database.events(session.session_id))
    if events and events[-1].kind == what and events[-1].fact == fact:
        # It was appended before, and the answer was lost on its way.
        return
    over = how_it_ended(events)
    if fact.how != "typed":
        raise RecordError("it claims a PIN, which nobody gave at this box", said="sent-claims-pin")
    if isinstance(fact, SignedOff):
        if (fact.events, fact.head) != (over.last.seq, over.last.hash):
            raise RecordError(
                "it is over another state of the job than this box has now",
                said="sent-other-state",
            )
        signed = statement(job_id, fact)
    else:
        correctable(events, fact.event, fact.now, fact.why)
        signed = correction_statement(job_id, fact, over.last.hash)
    if fact.signature is None or not is_signature_of(
        fact.signature.public_key, fact.signature.value, signed
    ):
        raise RecordError(
            "its signature was not made over this job as this box has it", said="sent-signature"
        )
    place = Place(job_id, over.last.seq + 1, over.last.hash, before_keys=False)
    checked = signing_of(
        what,
        fact.model_dump(mode="json"),
        place,
        read_roll(database),
        lambda known, _place: known.until_seq is None,
        (),
    )
    if checked.problem:
        # It would stand in the record as a signature that does not hold.
        raise RecordError(checked.problem)
    SqliteLog(database, session.session_id).append([fact])

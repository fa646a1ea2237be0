"""Whether a record file says what was written: chain, clips, signatures, and what is kept outside.

The chain is checked here, event by event, from the bytes that the file holds; `verify_outside`
holds the file against heads and seals that were kept elsewhere.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing, suppress
from dataclasses import dataclass, field
from pathlib import Path

from companion.errors import RecordError
from companion.facts.message import Message
from companion.record.audit import verify_outside
from companion.record.audit.keys import read_public_key
from companion.record.audit.seal import Proof, Seal, sealed_heads
from companion.record.box import public_key_path
from companion.record.cars import CarStore, cars_folder
from companion.record.cars_kept import car_problems
from companion.record.clips import ClipStore
from companion.record.database import OFFICE, connect_to_read, open_for_reading
from companion.record.finding import Finding
from companion.record.guards import schema_problems
from companion.record.lock import require_no_link
from companion.record.port import StoredEvent
from companion.record.roll import Enrolment, roll_of
from companion.record.rows import event_of_row
from companion.record.signings import Place, Signing
from companion.record.soundness import damage, journal_path
from companion.record.verify_box import (
    Boxes,
    has_marks,
    key_findings,
    mark_findings,
    read_marks,
    read_session_marks,
    seal_mark_findings,
)
from companion.record.verify_told import told_of
from companion.record.verify_walk import EVENTS, Look, Walk


@dataclass(frozen=True)
class Outside:
    """What was kept outside of the file and is held against it.

    `heads` maps session ids to head hashes (they stand on the reports); `seal` is a whole seal,
    `root` a root or check phrase alone, `proof` a proof for one session. `keys` are the public
    keys (hexadecimal) by which alone sign-offs may be signed, and each session that was signed off
    has to be by one of them; with none given, any signature that fits its own key will do.
    `boxes` are the public keys of the boxes that may have written the record; with none given, any.
    """

    heads: Mapping[str, str] = field(default_factory=dict)
    seal: Seal | None = None
    root: str = ""
    proof: Proof | None = None
    keys: frozenset[str] = frozenset()
    boxes: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Examined:
    """What was found wrong, in order; and what was checked, in words.

    `signings` are the sign-offs and corrections with what each is worth.
    """

    findings: tuple[Finding, ...]
    told: tuple[Message, ...] = ()
    signings: tuple[Signing, ...] = ()


def verify(
    path: Path,
    clips: ClipStore | None = None,
    expected_heads: Mapping[str, str] | None = None,
    only_session: str | None = None,
    outside: Outside | None = None,
) -> list[Finding]:
    """Everything found wrong, in order; an empty list means that `examine` found nothing."""
    return list(examine(path, clips, expected_heads, only_session, outside).findings)


def examine(
    path: Path,
    clips: ClipStore | None = None,
    expected_heads: Mapping[str, str] | None = None,
    only_session: str | None = None,
    outside: Outside | None = None,
) -> Examined:
    """Everything found wrong, and what was checked; nothing wrong: the file is as it was written.

    With `clips` given, what is known of cars beside the file is looked at too.

    Of a broken chain the first broken event is named: what follows it cannot be judged. Only
    something kept `outside` the file (`expected_heads` is short for its heads) can show that its
    end was dropped with every trace, that an older file was restored, or that another box wrote it.
    `only_session` leaves the other sessions of the file unread.
    Raises `RecordError` only when there is no such file or it is no record.
    """
    require_no_link(path)
    if not path.is_file():
        raise RecordError(f"{path}: there is no such record file")
    kept = outside or Outside()
    heads = {**kept.heads, **(expected_heads or {})}
    if clips is not None:
        clips.require_readable()
    try:
        connection = connect_to_read(path)
    except RecordError as error:
        if "damaged" not in str(error):
            raise
        return Examined((Finding("", 0, "damaged", str(error)),))
    with closing(connection):
        findings: list[Finding] = []
        told: list[Message] = []
        try:
            connection.execute("BEGIN")
            findings += _damage_findings(path, connection)
            if any(finding.kind == "damaged" for finding in findings):
                # Rows of a damaged file may hold anything: nothing can be told of them.
                return Examined(tuple(findings))
            findings += [
                Finding("", 0, "guards", problem) for problem in schema_problems(connection)
            ]
            of_boxes: list[Finding] = []
            boxes = _boxes(connection, kept.boxes, only_session, of_boxes)
            whole = clips is not None and only_session is None
            cars = CarStore(cars_folder(path)) if whole else None
            look = _look(path, connection, clips, kept.keys, boxes, findings, cars)
            findings += _chain_findings(connection, look, only_session)
            findings += of_boxes
            if clips is not None and clips.folder.is_symlink():
                told_of_it = "the folder of its clips is a link to another place"
                findings.append(Finding("", 0, "clip_changed", told_of_it))
            told = told_of(look, boxes)
        except sqlite3.Error as error:
            damaged = f"the database is damaged and cannot be read on: {error}"
            return Examined((*findings, Finding("", 0, "damaged", damaged)))
    with open_for_reading(path) as database:
        findings += verify_outside.findings(database, heads, kept.seal, kept.root, kept.proof)
        if boxes is not None and only_session is None:
            findings += seal_mark_findings(boxes, sealed_heads(database))
            findings += key_findings(boxes, _key_beside(path))
    return Examined(tuple(findings), tuple(told), tuple(look.signings))


def examine_session(path: Path, session_id: str, clips: ClipStore | None = None) -> Examined:
    """What is wrong with one session, quickly: the rest of the file is not gone through.

    The guards against changes are looked at too, who may sign, and the last mark of the box for
    this session. Whether pages elsewhere in the file are sound, and whether the marks follow one
    another, only `examine` looks at. An unknown session has no findings.
    Raises `RecordError` when the file cannot be read.
    """
    with closing(connect_to_read(path)) as connection:
        try:
            connection.execute("BEGIN")
            findings = [Finding("", 0, "guards", told) for told in schema_problems(connection)]
            boxes: Boxes | None = None
            of_boxes: list[Finding] = []
            if has_marks(connection):
                boxes = read_session_marks(connection, session_id, of_boxes)
                of_boxes += mark_findings(connection, boxes, (), session_id)
            look = _look(path, connection, clips, frozenset(), boxes, findings)
            findings += [*_chain_findings(connection, look, session_id), *of_boxes]
        except sqlite3.Error as error:
            told = f"the database is damaged and cannot be read on: {error}"
            return Examined((Finding(session_id, 0, "damaged", told),))
    return Examined(tuple(findings), (), tuple(look.signings))


def _damage_findings(path: Path, connection: sqlite3.Connection) -> Iterator[Finding]:
    for told in damage(connection, most=10, thorough=True):
        yield Finding("", 0, "damaged", f"the database is damaged: {told}")
    (pages,) = connection.execute("PRAGMA page_count").fetchone()
    (page_bytes,) = connection.execute("PRAGMA page_size").fetchone()
    over = path.stat().st_size - pages * page_bytes
    if over > 0:
        yield Finding("", 0, "changed", f"{over} bytes follow its end, which no record has")
    journal = journal_path(path)
    if journal.exists() and journal.stat().st_size:
        told = f"beside it lies {journal.name}, by which the next writer would put back other pages"
        yield Finding("", 0, "changed", told)


def _boxes(
    connection: sqlite3.Connection,
    trusted: frozenset[str],
    only_session: str | None,
    findings: list[Finding],
) -> Boxes | None:
    """The marks of the boxes, checked; None for a file of a version that has none."""
    if not has_marks(connection):
        if trusted:
            findings.append(Finding("", 0, "box", "no box signed it: it is of an older version"))
        return None
    boxes = read_marks(connection, findings)
    with suppress(sqlite3.Error):
        # Text that is no UTF-8 is named by its event.
        findings += mark_findings(connection, boxes, trusted, only_session)
    return boxes


def _key_beside(path: Path) -> str:
    """The box's public key as it lies beside the record; "" where none does."""
    public = public_key_path(path)
    if not os.path.lexists(public):
        return ""
    try:
        require_no_link(public)
        return read_public_key(public)
    except RecordError:
        return "none at all"


def _look(
    path: Path,
    connection: sqlite3.Connection,
    clips: ClipStore | None,
    keys: frozenset[str],
    boxes: Boxes | None,
    findings: list[Finding],
    beside: CarStore | None = None,
) -> Look:
    """What the sessions are looked at with: above all, who may sign; and what the office names."""
    events: list[StoredEvent] = []
    with suppress(RecordError):
        events += read_office(path, connection)
    roll = roll_of(events)
    findings += [Finding(OFFICE, seq, "person", told) for seq, told in roll.problems]
    if beside is not None:
        wrong = car_problems(events, beside)
        findings += [Finding(OFFICE, seq, "car", told) for seq, told in wrong]

    def marked(session_id: str, seq: int) -> int:
        (number,) = connection.execute(
            "SELECT MIN(number) FROM box_mark WHERE session_id = CAST(? AS TEXT) AND seq >= ?",
            (session_id, seq),
        ).fetchone()
        return number or 0

    def enrolled_then(enrolment: Enrolment, place: Place) -> bool:
        if boxes is None:
            return True
        then = marked(place.session_id, place.seq)
        until = enrolment.until_seq
        return marked(OFFICE, enrolment.since_seq) < then and (
            until is None or then < marked(OFFICE, until)
        )

    return Look(clips, keys, roll, enrolled_then, None if boxes is None else boxes.found)


def read_office(path: Path, connection: sqlite3.Connection) -> Iterator[StoredEvent]:
    """The events of the office as they stand."""
    cursor = connection.execute("SELECT * FROM event WHERE session_id = ? ORDER BY seq", (OFFICE,))
    names = [column[0] for column in cursor.description]
    for row in cursor.fetchall():
        yield event_of_row(dict(zip(names, row, strict=True)), path)


def _chain_findings(
    connection: sqlite3.Connection, look: Look, only_session: str | None
) -> Iterator[Finding]:
    """Every session's events, all read from one state of the file."""
    # Text is taken as the bytes it is: text that is no UTF-8 is a finding, not an error.
    connection.text_factory = bytes
    opened, orphans = _sessions(connection)
    for session_id in orphans:
        if only_session in (None, session_id):
            yield Finding(session_id, 0, "orphan", "its opening line is gone")
    for raw_id, opened_utc in opened:
        session_id = raw_id.decode("utf-8", "replace")
        if only_session in (None, session_id):
            walk = Walk(raw_id, opened_utc.decode("utf-8", "replace"), look)
            yield from walk.findings(connection.execute(EVENTS, (raw_id,)))


def _sessions(connection: sqlite3.Connection) -> tuple[list[tuple[bytes, bytes]], list[str]]:
    """The sessions with their opening times, as they were made, and ids without a session."""
    opened = connection.execute("SELECT id, opened_utc FROM session ORDER BY rowid").fetchall()
    known = {session_id for session_id, _ in opened}
    # Every row is looked at: a search would miss one whose changed id stands out of order.
    present = connection.execute("SELECT session_id FROM event GROUP BY session_id")
    found = [raw_id.decode("utf-8", "replace") for (raw_id,) in present if raw_id not in known]
    return opened, found

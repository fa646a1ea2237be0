"""Whether a record file says what was written: chain, clips, signatures, and what is kept outside.

The chain is checked here, event by event, from the bytes that the file holds; `verify_outside`
holds the file against heads and seals that were kept elsewhere.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from companion.errors import RecordError
from companion.record import verify_outside
from companion.record.afterwards import clips_expired_by, signature_problem
from companion.record.canonical import opening_hash, sha256_hex
from companion.record.canonical_check import value_of_canonical
from companion.record.clips import ClipStore
from companion.record.database import connect_to_read, open_for_reading
from companion.record.event_bytes import stored_hash
from companion.record.finding import Finding
from companion.record.guards import schema_problems
from companion.record.seal import Proof, Seal
from companion.record.soundness import damage

_EVENTS = """
    SELECT seq, kind, at_utc, monotonic_ns, clock_trusted, body, previous_hash, hash
    FROM event WHERE session_id = CAST(? AS TEXT) ORDER BY seq
"""
_Row = tuple[int, bytes, bytes, int, int, bytes, bytes, bytes]


@dataclass(frozen=True)
class Outside:
    """What was kept outside of the file and is held against it.

    `heads` maps session ids to head hashes (they stand on the reports); `seal` is a whole seal,
    `root` a root or check phrase alone, `proof` a proof for one session. `keys` are the public
    keys (hexadecimal) by which alone sign-offs may be signed, and each session that was signed off
    has to be by one of them; with none given, any signature that fits its own key will do.
    """

    heads: Mapping[str, str] = field(default_factory=dict)
    seal: Seal | None = None
    root: str = ""
    proof: Proof | None = None
    keys: frozenset[str] = frozenset()


def verify(
    path: Path,
    clips: ClipStore | None = None,
    expected_heads: Mapping[str, str] | None = None,
    only_session: str | None = None,
    outside: Outside | None = None,
) -> list[Finding]:
    """Everything found wrong, in order; an empty list means the file is as it was written.

    Of a broken chain the first broken event is named: what follows it cannot be judged. Only
    something kept `outside` the file (`expected_heads` is short for its heads) can show a tail
    dropped, an older file restored, or a chain rewritten as a whole.
    `only_session` leaves the other sessions of the file unread.
    Raises `RecordError` only when there is no such file or it is no record.
    """
    if not path.is_file():
        raise RecordError(f"{path}: there is no such record file")
    kept = outside or Outside()
    heads = {**kept.heads, **(expected_heads or {})}
    try:
        connection = connect_to_read(path)
    except RecordError as error:
        if "damaged" not in str(error):
            raise
        return [Finding("", 0, "damaged", str(error))]
    with closing(connection):
        findings = list(_within(connection, clips, only_session, kept.keys))
    if any(finding.kind == "damaged" for finding in findings):
        return findings
    with open_for_reading(path) as database:
        outer = verify_outside.findings(database, heads, kept.seal, kept.root, kept.proof)
        return [*findings, *outer]


def verify_session(
    path: Path, session_id: str, clips: ClipStore | None = None, keys: frozenset[str] = frozenset()
) -> list[Finding]:
    """What is wrong with one session, quickly: the rest of the file is not gone through.

    The guards against changes are looked at too; that pages elsewhere in the file are sound is
    not (`verify` does). `keys` as in `Outside`. An unknown session has no findings.
    Raises `RecordError` when the file cannot be read.
    """
    with closing(connect_to_read(path)) as connection:
        connection.text_factory = bytes
        try:
            connection.execute("BEGIN")
            findings = list(_schema_findings(connection))
            for raw_id, opened_utc in connection.execute(
                "SELECT id, opened_utc FROM session WHERE id = ?", (session_id,)
            ):
                walk = _Walk(raw_id, opened_utc.decode("utf-8", "replace"), clips, keys)
                findings += walk.findings(connection.execute(_EVENTS, (raw_id,)))
        except sqlite3.Error as error:
            told = f"the database is damaged and cannot be read on: {error}"
            return [Finding(session_id, 0, "damaged", told)]
    return findings


def _within(
    connection: sqlite3.Connection,
    clips: ClipStore | None,
    only_session: str | None,
    keys: frozenset[str],
) -> Iterator[Finding]:
    """What the file shows by itself, all read from one state of it."""
    # Text is taken as the bytes it is: text that is no UTF-8 is a finding, not an error.
    connection.text_factory = bytes
    try:
        connection.execute("BEGIN")
        damage = list(_damage_findings(connection))
        yield from damage
        if damage:
            # Rows of a damaged file may hold anything: nothing can be told of them.
            return
        yield from _schema_findings(connection)
        opened, orphans = _sessions(connection)
        for session_id in orphans:
            if only_session in (None, session_id):
                yield Finding(session_id, 0, "orphan", "its opening line is gone")
        for raw_id, opened_utc in opened:
            session_id = raw_id.decode("utf-8", "replace")
            if only_session in (None, session_id):
                walk = _Walk(raw_id, opened_utc.decode("utf-8", "replace"), clips, keys)
                yield from walk.findings(connection.execute(_EVENTS, (raw_id,)))
    except sqlite3.Error as error:
        yield Finding("", 0, "damaged", f"the database is damaged and cannot be read on: {error}")


def _damage_findings(connection: sqlite3.Connection) -> Iterator[Finding]:
    for told in damage(connection, most=10):
        yield Finding("", 0, "damaged", f"the database is damaged: {told}")


def _schema_findings(connection: sqlite3.Connection) -> Iterator[Finding]:
    for told in schema_problems(connection):
        yield Finding("", 0, "guards", told)


def _sessions(connection: sqlite3.Connection) -> tuple[list[tuple[bytes, bytes]], list[str]]:
    """The sessions with their opening times, as they were made, and ids without a session."""
    opened = connection.execute("SELECT id, opened_utc FROM session ORDER BY rowid").fetchall()
    known = {session_id for session_id, _ in opened}
    # Every row is looked at: a search would miss one whose changed id stands out of order.
    present = connection.execute("SELECT session_id FROM event GROUP BY session_id")
    found = [raw_id.decode("utf-8", "replace") for (raw_id,) in present if raw_id not in known]
    return opened, found


class _Walk:
    """One session's events in order: the first break of its chain, its clips, its signatures."""

    def __init__(
        self, raw_id: bytes, opened_utc: str, clips: ClipStore | None, keys: frozenset[str]
    ) -> None:
        self._session_id = session_id = raw_id.decode("utf-8", "replace")
        self._raw_id = raw_id
        self._clips = clips
        self._keys = keys
        self._head = opening_hash(session_id, opened_utc).encode("ascii")
        self._named: dict[str, int] = {}
        self._expired: set[str] = set()

    def findings(self, rows: Iterable[_Row]) -> Iterator[Finding]:
        """The chain's first break, then wrong signatures before it, then every clip."""
        signatures: list[Finding] = []
        sign_offs = signed = 0
        broken = False
        for expected_seq, row in enumerate(rows, start=1):
            body = self._body(row)
            if not broken:
                problem = self._break(expected_seq, row, body)
                broken = problem is not None
                if problem is not None:
                    yield problem
                elif row[1] == b"signed_off" and isinstance(body, dict):
                    sign_offs += 1
                    wrong = list(self._signature(row[0], body))
                    signed += not wrong and bool(body.get("signature"))
                    signatures += wrong
            if isinstance(body, dict):
                self._note_clips(row, body)
            self._head = row[7]
        yield from signatures
        if self._keys and sign_offs and not signed:
            yield self._found(0, "signature", "no sign-off of it is signed with a key given")
        yield from self._clip_findings()

    def _body(self, row: _Row) -> object:
        try:
            return value_of_canonical(row[5].decode("utf-8"))
        except (ValueError, RecordError, AttributeError) as error:
            return error

    def _break(self, expected_seq: int, row: _Row, body: object) -> Finding | None:
        seq, kind, at_utc, monotonic_ns, clock_trusted, raw_body, previous_hash, stored = row
        if seq != expected_seq:
            return self._found(seq, "gap", f"event {expected_seq} before it is missing")
        try:
            made = stored_hash(
                self._raw_id,
                seq,
                kind,
                at_utc,
                monotonic_ns,
                clock_trusted,
                raw_body,
                previous_hash,
            )
        except (ValueError, TypeError, AttributeError, RecordError) as error:
            return self._found(seq, "changed", f"its content cannot be read: {error}")
        if made != stored:
            return self._found(seq, "changed", "its content is not what its hash was made of")
        if not isinstance(body, dict):
            return self._found(seq, "changed", f"its content cannot be read: {body}")
        if previous_hash != self._head:
            before = f"event {seq - 1}" if seq > 1 else "the session's opening"
            return self._found(seq, "chain", f"it does not follow {before} as that stands now")
        return None

    def _found(self, seq: int, kind: Any, what: str) -> Finding:
        return Finding(self._session_id, seq, kind, what)

    def _signature(self, seq: int, body: object) -> Iterator[Finding]:
        previous = self._head.decode("ascii")
        problem = signature_problem(self._session_id, seq, previous, body, self._keys)
        if problem:
            yield self._found(seq, "signature", problem)

    def _note_clips(self, row: _Row, body: dict[str, Any]) -> None:
        named = body.get("clip_sha256")
        if named is not None:
            self._named.setdefault(str(named), row[0])
        if row[1] == b"clips_expired":
            self._expired |= clips_expired_by(body)

    def _clip_findings(self) -> Iterator[Finding]:
        if self._clips is None:
            return
        for sha256, seq in self._named.items():
            if self._clips.holds(sha256):
                if not self._is_as_named(self._clips, sha256):
                    yield self._found(seq, "clip_changed", f"its clip {sha256} was changed")
            elif os.path.lexists(self._clips.folder / f"{sha256}.flac"):
                told = f"in the place of its clip {sha256} stands something that is no file"
                yield self._found(seq, "clip_changed", told)
            elif sha256 not in self._expired:
                yield self._found(seq, "clip_missing", f"its clip {sha256} is gone")

    @staticmethod
    def _is_as_named(clips: ClipStore, sha256: str) -> bool:
        try:
            return sha256_hex(clips.read(sha256)) == sha256
        except RecordError:
            return False

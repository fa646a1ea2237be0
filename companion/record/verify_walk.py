"""One session's events in order, from the bytes that the file holds: chain, clips, signatures."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from companion.errors import RecordError
from companion.facts.afterwards import Amended, SignedOff
from companion.facts.message import Message
from companion.record.afterwards import clips_expired_by
from companion.record.audit.canonical_check import value_of_canonical
from companion.record.audit.event_bytes import stored_hash
from companion.record.audit.redacted import Redacted, following_bytes
from companion.record.canonical import opening_hash, sha256_hex
from companion.record.clips import ClipStore
from companion.record.finding import Finding
from companion.record.roll import Enrolment, Roll
from companion.record.signings import Place, Signing, signing_of

EVENTS = """
    SELECT seq, kind, at_utc, monotonic_ns, clock_trusted, body, previous_hash, hash
    FROM event WHERE session_id = CAST(? AS TEXT) ORDER BY seq
"""
Row = tuple[int, bytes, bytes, int, int, bytes, bytes, bytes]
NAME_REPLACED = Message("worth-name-replaced")
_SIGNED = {kind.encode("ascii") for kind in (SignedOff.KIND, Amended.KIND)}


@dataclass
class Look:
    """What every session is looked at with, and what is counted on the way.

    `keys` as in `verify.Outside`. `found` says up to which event each session was recorded before
    people had keys; None: all of them were. `redacted`: the events, by their number, in which
    names were replaced, as in a copy of the session.
    """

    clips: ClipStore | None
    keys: frozenset[str]
    roll: Roll
    enrolled_then: Callable[[Enrolment, Place], bool]
    found: Mapping[str, int] | None
    redacted: Mapping[int, Redacted] = field(default_factory=dict)
    signings: list[Signing] = field(default_factory=list)
    sessions: int = 0
    events: int = 0
    clips_there: int = 0

    def before_keys(self, session_id: str, seq: int) -> bool:
        """Whether that event was recorded before people had keys."""
        return self.found is None or seq <= self.found.get(session_id, 0)


class Walk:
    """One session's events in order: the first break of its chain, its clips, its signatures."""

    def __init__(self, raw_id: bytes, opened_utc: str, look: Look) -> None:
        self._session_id = session_id = raw_id.decode("utf-8", "replace")
        self._raw_id = raw_id
        self._clips = look.clips
        self._look = look
        self._head = opening_hash(session_id, opened_utc).encode("ascii")
        self._named: dict[str, int] = {}
        self._expired: set[str] = set()

    def findings(self, rows: Iterable[Row]) -> Iterator[Finding]:
        """The chain's first break, then wrong signatures before it, then every clip."""
        signings: list[Signing] = []
        broken = False
        look = self._look
        look.sessions += 1
        for expected_seq, row in enumerate(rows, start=1):
            look.events += 1
            body = self._body(row)
            if not broken:
                problem = self._break(expected_seq, row, body)
                broken = problem is not None
                if problem is not None:
                    yield problem
                elif row[1] in _SIGNED and isinstance(body, dict):
                    signings.append(self._signing(row, body))
            if isinstance(body, dict):
                self._note_clips(row, body)
            self._head = row[7]
        look.signings += signings
        for signing in signings:
            if signing.problem:
                yield self._found(signing.seq, "signature", signing.problem)
        if look.keys and signings and not any(signing.key in look.keys for signing in signings):
            yield self._found(0, "signature", "no sign-off of it is signed with a key given")
        yield from self._clip_findings()

    def _body(self, row: Row) -> object:
        try:
            return value_of_canonical(row[5].decode("utf-8"))
        except (ValueError, RecordError, AttributeError) as error:
            return error

    def _break(self, expected_seq: int, row: Row, body: object) -> Finding | None:
        seq, kind, at_utc, monotonic_ns, clock_trusted, raw_body, previous_hash, stored = row
        if seq != expected_seq:
            return self._found(seq, "gap", f"event {expected_seq} before it is missing")
        try:
            redacted = self._look.redacted.get(seq)
            if redacted is not None and not redacted.is_told(raw_body):
                return self._found(seq, "changed", "it is not as it was told when a name went")
            made = (
                stored_hash(
                    self._raw_id,
                    seq,
                    kind,
                    at_utc,
                    monotonic_ns,
                    clock_trusted,
                    raw_body,
                    previous_hash,
                )
                if redacted is None
                else redacted.hash_before(
                    following_bytes(
                        bool(clock_trusted),
                        kind.decode(),
                        monotonic_ns,
                        previous_hash.decode(),
                        seq,
                        self._session_id,
                    )
                ).encode()
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

    def _signing(self, row: Row, body: object) -> Signing:
        look, seq = self._look, row[0]
        if seq in look.redacted:
            by = str(body.get("by", "")) if isinstance(body, dict) else ""
            return Signing(self._session_id, seq, by, NAME_REPLACED)
        before = look.before_keys(self._session_id, seq)
        place = Place(self._session_id, seq, self._head.decode("ascii"), before)
        kind = row[1].decode("ascii")
        return signing_of(kind, body, place, look.roll, look.enrolled_then, look.keys)

    def _note_clips(self, row: Row, body: dict[str, Any]) -> None:
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
                self._look.clips_there += 1
                if not self._is_as_named(self._clips, sha256):
                    yield self._found(seq, "clip_changed", f"its clip {sha256} was changed")
            elif os.path.lexists(self._clips.folder / f"{sha256}.flac"):
                told = f"in the place of its clip {sha256} there is something that is not a file"
                yield self._found(seq, "clip_changed", told)
            elif sha256 not in self._expired:
                yield self._found(seq, "clip_missing", f"its clip {sha256} is gone")

    @staticmethod
    def _is_as_named(clips: ClipStore, sha256: str) -> bool:
        try:
            return sha256_hex(clips.read(sha256)) == sha256
        except RecordError:
            return False

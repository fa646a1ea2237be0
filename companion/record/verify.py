"""Whether a record file says what was written: chain, clips, and an outside head hash."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from companion.errors import RecordError
from companion.record.canonical import (
    canonical_json,
    event_hash,
    opening_hash,
    parsed_json,
    sha256_hex,
)
from companion.record.clips import ClipStore
from companion.record.database import Database, open_for_reading
from companion.record.migrations import TRIGGER_NAMES
from companion.record.port import Stamp
from companion.record.rfc3339 import parse_rfc3339

FindingKind = Literal[
    "damaged", "guards", "gap", "changed", "chain", "clip_missing", "clip_changed", "head", "orphan"
]


@dataclass(frozen=True)
class Finding:
    """One thing that is not as it was written; `seq` is 0 when no single event is meant."""

    session_id: str
    seq: int
    kind: FindingKind
    what: str

    def __str__(self) -> str:
        where = f"session {self.session_id}" if self.session_id else "the file"
        return f"{where}, event {self.seq}: {self.what}" if self.seq else f"{where}: {self.what}"


def verify(
    path: Path,
    clips: ClipStore | None = None,
    expected_heads: Mapping[str, str] | None = None,
    only_session: str | None = None,
) -> list[Finding]:
    """Everything found wrong, in order; an empty list means the file is as it was written.

    Of a broken chain the first broken event is named: what follows it cannot be judged.
    `expected_heads` maps session ids to head hashes kept outside the file (they stand on
    the reports); only they can show a dropped tail or a chain rewritten as a whole.
    `only_session` leaves the other sessions of the file unread.
    Raises `RecordError` only when there is no such file or it is no record.
    """
    if not path.is_file():
        raise RecordError(f"{path}: there is no such record file")
    try:
        with open_for_reading(path) as database:
            return list(_findings(database, clips, expected_heads or {}, only_session))
    except RecordError as error:
        if "damaged" not in str(error):
            raise
        return [Finding("", 0, "damaged", str(error))]


def _findings(
    database: Database,
    clips: ClipStore | None,
    expected_heads: Mapping[str, str],
    only_session: str | None,
) -> Iterator[Finding]:
    for row in database.read("PRAGMA quick_check(10)"):
        if row["quick_check"] != "ok":
            yield Finding("", 0, "damaged", f"the database is damaged: {row['quick_check']}")
    present = {row["name"] for row in database.read("SELECT name FROM sqlite_schema")}
    for name in sorted(TRIGGER_NAMES - present):
        yield Finding("", 0, "guards", f"the guard {name!r} against changes was taken off")
    opened = {row["id"]: row["opened_utc"] for row in database.read("SELECT * FROM session")}
    for row in database.read("SELECT DISTINCT session_id FROM event ORDER BY session_id"):
        if row["session_id"] not in opened and only_session in (None, row["session_id"]):
            yield Finding(row["session_id"], 0, "orphan", "its opening line is gone")
    for session_id, opened_utc in sorted(opened.items(), key=lambda item: (item[1], item[0])):
        if only_session not in (None, session_id):
            continue
        rows = database.read("SELECT * FROM event WHERE session_id = ? ORDER BY seq", (session_id,))
        yield from _chain_findings(session_id, opened_utc, rows)
        yield from _clip_findings(session_id, rows, clips)
    for session_id, head in expected_heads.items():
        yield from _head_findings(database, session_id, head.strip().lower(), opened)


def _chain_findings(
    session_id: str, opened_utc: str, rows: list[dict[str, Any]]
) -> Iterator[Finding]:
    previous_hash = opening_hash(session_id, opened_utc)
    for expected_seq, row in enumerate(rows, start=1):
        broken = _first_break(session_id, expected_seq, row, previous_hash)
        if broken is not None:
            yield broken
            return
        previous_hash = row["hash"]


def _first_break(
    session_id: str, expected_seq: int, row: Mapping[str, Any], previous_hash: str
) -> Finding | None:
    seq = row["seq"]
    if seq != expected_seq:
        return Finding(session_id, seq, "gap", f"event {expected_seq} before it is missing")
    try:
        body = parsed_json(row["body"])
        canonical = canonical_json(body).decode("utf-8")
        stamp = Stamp(row["at_utc"], row["monotonic_ns"], bool(row["clock_trusted"]))
        parse_rfc3339(stamp.at_utc)
        expected = event_hash(session_id, seq, row["kind"], stamp, body, row["previous_hash"])
    except (ValueError, RecordError) as error:
        return Finding(session_id, seq, "changed", f"its content cannot be read: {error}")
    if expected != row["hash"] or canonical != row["body"]:
        return Finding(session_id, seq, "changed", "its content is not what its hash was made of")
    if row["previous_hash"] != previous_hash:
        before = f"event {seq - 1}" if seq > 1 else "the session's opening"
        return Finding(session_id, seq, "chain", f"it does not follow {before} as that stands now")
    return None


def _clip_findings(
    session_id: str, rows: list[dict[str, Any]], clips: ClipStore | None
) -> Iterator[Finding]:
    if clips is None:
        return
    for row in rows:
        sha256 = _named_clip(row["body"])
        if sha256 is None:
            continue
        if not clips.holds(sha256):
            yield Finding(session_id, row["seq"], "clip_missing", f"its clip {sha256} is gone")
        elif sha256_hex(clips.get(sha256).read_bytes()) != sha256:
            yield Finding(session_id, row["seq"], "clip_changed", f"its clip {sha256} was changed")


def _named_clip(body_text: str) -> str | None:
    try:
        body = parsed_json(body_text)
    except ValueError:
        return None
    sha256 = body.get("clip_sha256") if isinstance(body, dict) else None
    return None if sha256 is None else str(sha256)


def _head_findings(
    database: Database, session_id: str, head: str, opened: Mapping[str, str]
) -> Iterator[Finding]:
    if session_id not in opened:
        yield Finding(session_id, 0, "head", "the whole session is missing from the file")
        return
    session = database.session(session_id)
    if session.head_hash == head:
        return
    later = database.read(
        "SELECT seq FROM event WHERE session_id = ? AND hash = ?", (session_id, head)
    )
    if later:
        what = f"the given head is event {later[0]['seq']}; events were added after it"
    else:
        what = (
            f"it ends at event {session.event_count} with head {session.head_hash}, not with the "
            f"head given ({head}): its tail was dropped or it was rewritten"
        )
    yield Finding(session_id, session.event_count, "head", what)

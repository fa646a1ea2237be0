"""Letting recorded voices go: the sound of old sessions is deleted, its hash stays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

from companion.errors import RecordError
from companion.record.afterwards import CLIPS_EXPIRED, ClipsExpired, clips_expired_by, entry_of
from companion.record.clips import ClipStore
from companion.record.database import Database
from companion.record.journal import SqliteLog
from companion.record.port import StoredEvent
from companion.record.rfc3339 import format_rfc3339, parse_rfc3339


@dataclass(frozen=True)
class Expired:
    """What was let go in one session."""

    session_id: str
    clips: tuple[str, ...]


def expire_clips(database: Database, clips: ClipStore, days: int, why: str) -> list[Expired]:
    """Delete the sound of sessions opened more than so many days ago; needs the record to write.

    An event in each session names the clips first, then the files go: a cut in between leaves
    files that the next call deletes. A clip that a younger session also names is kept. Raises
    `RecordError` for less than nought days, or when the record's clock is not to be trusted: a
    clock that runs ahead would delete everything.
    """
    if days < 0:
        raise RecordError(f"{days} days is no age; wanted: nought or more")
    now = database.clock.now()
    if not now.trusted:
        raise RecordError(
            "nothing vouches for this computer's date, and by a wrong one sound would be deleted "
            "too early; let it set its time first"
        )
    oldest_kept = format_rfc3339(parse_rfc3339(now.at_utc) - timedelta(days=days))
    kept: set[str] = set()
    old: dict[str, set[str]] = {}
    for session in database.sessions():
        named, expired = clips_named(database.events(session.session_id))
        if session.opened_utc >= oldest_kept:
            kept |= named
        else:
            old[session.session_id] = named | expired
    done = [
        _expire(database, clips, session_id, named, kept, why) for session_id, named in old.items()
    ]
    return [expired for expired in done if expired.clips]


def clips_named(events: Iterable[StoredEvent]) -> tuple[set[str], set[str]]:
    """The clips that events name, without and with those that have expired: (standing, expired)."""
    named: set[str] = set()
    expired: set[str] = set()
    for event in events:
        if event.body.get("clip_sha256"):
            named.add(str(event.body["clip_sha256"]))
        if event.kind == CLIPS_EXPIRED:
            expired |= clips_expired_by(event.body)
    return named - expired, expired


def _expire(
    database: Database,
    clips: ClipStore,
    session_id: str,
    named: set[str],
    kept: set[str],
    why: str,
) -> Expired:
    _, already = clips_named(database.events(session_id))
    going = tuple(sorted(clip for clip in named - kept - already if clips.holds(clip)))
    if going:
        SqliteLog(database, session_id).append(
            [entry_of(CLIPS_EXPIRED, ClipsExpired(clips=going, why=why))]
        )
    for clip in {*going, *(already - kept)}:
        if clips.holds(clip):
            clips.remove(clip)
    return Expired(session_id, going)

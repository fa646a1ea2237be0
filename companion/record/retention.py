"""Letting recorded voices go: the sound of old sessions is deleted, its hash stays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

from companion.errors import RecordError
from companion.facts.afterwards import ClipsExpired
from companion.record.afterwards import clips_expired_by
from companion.record.clips import ClipStore
from companion.record.database import Database
from companion.record.journal import SqliteLog
from companion.record.port import StoredEvent, entry_of
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
        raise RecordError(f"{days} days is not a possible age; wanted: 0 or more")
    now = database.clock.now()
    if not now.trusted:
        raise RecordError(
            "nothing vouches for this computer's date, and with a wrong one sound would be deleted "
            "too early; let it synchronise its clock first"
        )
    oldest_kept = format_rfc3339(parse_rfc3339(now.at_utc) - timedelta(days=days))
    kept: set[str] = set()
    old: dict[str, set[str]] = {}
    gone_before: set[str] = set()
    for session in database.sessions():
        standing, expired = clips_named(database.events(session.session_id))
        if session.opened_utc >= oldest_kept:
            kept |= standing
        else:
            old[session.session_id] = standing
            gone_before |= expired
    done = []
    for session_id, standing in old.items():
        going = tuple(sorted(clip for clip in standing - kept if clips.holds(clip)))
        if going:
            fact = ClipsExpired(clips=going, why=why)
            SqliteLog(database, session_id).append([entry_of(fact)])
            done.append(Expired(session_id, going))
    # Only now, as a clip may be named by several sessions, and each has to say that it went.
    for clip in gone_before.union(*(expired.clips for expired in done)) - kept:
        if clips.holds(clip):
            clips.remove(clip)
    return done


def clips_named(events: Iterable[StoredEvent]) -> tuple[set[str], set[str]]:
    """The clips that events name, without and with those that have expired: (standing, expired)."""
    named: set[str] = set()
    expired: set[str] = set()
    for event in events:
        if event.body.get("clip_sha256"):
            named.add(str(event.body["clip_sha256"]))
        if event.kind == ClipsExpired.KIND:
            expired |= clips_expired_by(event.body)
    return named - expired, expired

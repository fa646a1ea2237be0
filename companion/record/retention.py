"""Letting recorded voices go: the sound of old sessions is deleted, its hash stays."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import timedelta

from companion.errors import RecordError
from companion.facts.afterwards import ClipsExpired
from companion.facts.office import DateVouched
from companion.record.afterwards import clips_expired_by
from companion.record.clips import ClipStore
from companion.record.database import Database
from companion.record.dating import recorded_by
from companion.record.journal import SqliteLog
from companion.record.left_over import (
    LeftOver,
    clips_named_beside,
    left_over,
    records_beside,
)
from companion.record.office import office_log
from companion.record.port import StoredEvent
from companion.record.rfc3339 import parse_rfc3339


@dataclass(frozen=True)
class Expired:
    """What was let go in one session."""

    session_id: str
    clips: tuple[str, ...]


def expire_clips(database: Database, clips: ClipStore, days: int, why: str) -> list[Expired]:
    """Delete the sound of jobs recorded more than so many days ago; needs the record to write.

    Their age is that by dates that something vouched for (`dating`). Where a job with sound has
    none, the office notes today's, so that its days begin to count.

    An event in each session names the clips first, then the files go: a cut in between leaves
    files that the next call deletes. A clip that a younger session or
    another record in the folder also names is kept. Raises
    `RecordError` for less than nought days, or when the record's clock is not to be trusted: a
    clock that runs ahead would delete everything.
    """
    if days < 0:
        raise RecordError(f"{days} days is not a possible age; wanted: 0 or more")
    now = database.clock.now()
    if not now.trusted:
        raise RecordError(
            "nothing vouches for this computer's date, and with a wrong one sound would be deleted "
            "too early; let it synchronise its clock first",
            said="date-not-vouched-sound",
        )
    oldest_kept = parse_rfc3339(now.at_utc) - timedelta(days=days)
    dates = recorded_by(database)
    kept = clips_named_beside(database.path)
    undated = False
    old: dict[str, set[str]] = {}
    gone_before: set[str] = set()
    for session in database.sessions():
        standing, expired = clips_named(database.events(session.session_id))
        date = dates[session.session_id]
        if date is None or date >= oldest_kept:
            kept |= standing
            undated |= date is None and bool(standing)
        else:
            old[session.session_id] = standing
        gone_before |= expired
    last = database.last_session_id()
    if undated and last is not None:
        office_log(database).append([DateVouched(session=last)])
    done = []
    for session_id, standing in old.items():
        going = tuple(sorted(clip for clip in standing - kept if clips.holds(clip)))
        if going:
            fact = ClipsExpired(clips=going, why=why)
            SqliteLog(database, session_id).append([fact])
            done.append(Expired(session_id, going))
    # Only now, as a clip may be named by several sessions, and each has to say that it went.
    for clip in gone_before.union(*(expired.clips for expired in done)) - kept:
        if clips.holds(clip):
            clips.remove(clip)
    return done


def remove_left_over(database: Database, clips: ClipStore) -> LeftOver:
    """Delete the sound that no record knows of, and return what went; needs the record to write.

    Nobody records into this one meanwhile, so no clip is waiting for its event. What is neither
    clip nor remnant stays. Raises `RecordError` where a record beside it cannot be read.
    """
    if database.read_only:
        raise RecordError(f"{database.path}: open for reading only; open_record opens to write")
    found = left_over(database.path, clips, at_work=bool(records_beside(database.path)))
    for clip in found.orphans:
        clips.remove(clip)
    for name in found.remnants:
        clips.remove_remnant(name)
    return replace(found, others=())


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

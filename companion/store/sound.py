"""Sending the store the sound of answers, where the shop wants it and the technician agreed.

It goes after the events that name it, clip by clip, each under its hash. The store remembers up to
which mark of the box all sound was looked at, and which clips it ever got: so whatever breaks, the
next time goes on from there, and what was let go does not come again.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from psycopg import Connection

from companion.errors import RecordError
from companion.facts.answers import Consent
from companion.facts.opening import Opened
from companion.record.canonical import parsed_json
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import connect_to_read
from companion.store.connecting import connected
from companion.store.migrating import one
from companion.store.outbox import readable

_GROWN = """
    SELECT session_id, COALESCE((
        SELECT MAX(seq) FROM box_mark AS looked_at
        WHERE looked_at.session_id = box_mark.session_id AND looked_at.number <= ?
    ), 0), MAX(seq) FROM box_mark
    WHERE number > ? AND number <= ? AND what <> 'sealed' GROUP BY session_id ORDER BY MIN(number)
"""
_NAMING = """
    SELECT seq, json_extract(body, '$.clip_sha256') FROM event
    WHERE session_id = ? AND seq > ? AND seq <= ? AND instr(body, '"clip_sha256":"') ORDER BY seq
"""
_AGREED = "SELECT seq, kind, body FROM event WHERE session_id = ? AND kind IN (?, ?) ORDER BY seq"


@dataclass(frozen=True)
class SoundOf:
    """Clips of one job that may go."""

    job: str
    clips: tuple[str, ...]


@dataclass(frozen=True)
class SoundWaiting:
    """What has not gone yet."""

    clips: int
    bytes: int


@dataclass(frozen=True)
class SoundShipped:
    """What went this time, and why a clip did not."""

    clips: int
    bytes: int
    told: tuple[str, ...]


def sound_that_would_go(
    record: Path, store: str, password_file: Path | None = None
) -> SoundWaiting:
    """The sound that the store lacks, also of events that have not gone yet; nothing is sent."""
    clips, count, size = ClipStore(clips_folder(record)), 0, 0
    with connected(store, password_file) as connection:
        looked_at, _ = _place(connection)
        for job in _agreed_sound(record, looked_at, None):
            for clip in _lacking(connection, job):
                if clips.holds(clip):
                    count += 1
                    size += clips.get(clip).stat().st_size
    return SoundWaiting(count, size)


def ship_sound(record: Path, store: str, password_file: Path | None = None) -> SoundShipped:
    """Send the sound of all that the store has taken; raises as `ship` does.

    A clip that the store does not take, for it is not what its name says, is told and tried again
    the next time; the others go. One whose file is gone is passed over.
    """
    clips = ClipStore(clips_folder(record))
    count, size, told = 0, 0, list[str]()
    with connected(store, password_file) as connection:
        looked_at, last = _place(connection)
        for job in _agreed_sound(record, looked_at, last):
            for clip in _lacking(connection, job):
                try:
                    content = clips.read(clip)
                except RecordError:
                    continue
                refused, words = one(
                    connection,
                    "SELECT * FROM store.put_sound(%s, %s, %s)",
                    (job.job, clip, content),
                )
                if refused is None:
                    count, size = count + 1, size + len(content)
                else:
                    told.append(words)
        if not told:
            connection.execute("SELECT store.sound_up_to(%s)", (last,))
    return SoundShipped(count, size, tuple(told))


def _place(connection: Connection) -> tuple[int, int]:
    """Up to which mark the sound was looked at, and up to which the store took events."""
    looked_at, last = one(
        connection, "SELECT sound_mark, last_mark FROM store.box WHERE box = store.my_box()"
    )
    return int(looked_at), int(last)


def _lacking(connection: Connection, job: SoundOf) -> list[str]:
    rows = connection.execute(
        "SELECT * FROM store.sound_lacking(%s, %s)", (job.job, list(job.clips))
    ).fetchall()
    return [str(clip) for (clip,) in rows]


def _agreed_sound(record: Path, after: int, upto: int | None) -> Iterator[SoundOf]:
    """The clips named by what the box wrote between these marks, where the technician agreed."""
    try:
        with closing(connect_to_read(record)) as connection:
            last = upto if upto is not None else 2**62
            for job, before, seq in connection.execute(_GROWN, (after, after, last)).fetchall():
                agreed = _agreed_from(connection, job)
                if agreed is None:
                    continue
                named = connection.execute(_NAMING, (job, max(before, agreed), seq))
                clips = dict.fromkeys(str(clip) for _, clip in named if clip)
                if clips:
                    yield SoundOf(job, tuple(clips))
    except sqlite3.Error as error:
        raise readable(error, record) from error


def _agreed_from(connection: sqlite3.Connection, job: str) -> int | None:
    """The event from which on sound may go; None where nobody was told or agreed, or no longer."""
    told, first, last = False, None, False
    for seq, kind, body in connection.execute(_AGREED, (job, Opened.KIND, Consent.KIND)):
        value = parsed_json(body)
        if kind == Opened.KIND:
            told = value.get("sound_goes") is True
        else:
            last = value.get("keep_sound") is True
            first = seq if last and first is None else first
    return first if told and last else None

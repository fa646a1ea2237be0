"""Copies of a record: made while it is written, checked, and put back where there is none."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path

from companion.errors import RecordError
from companion.record.audit.verify import Outside, verify
from companion.record.cars import CarStore, cars_folder
from companion.record.cars_kept import kept_cars
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import OFFICE, connect_to_read, open_for_reading, speaking_plainly
from companion.record.durable import make_folder, rename, sync_file, write_whole
from companion.record.finding import Finding
from companion.record.office import has_office
from companion.record.place import BESIDE, RIGHTS, beside
from companion.record.retention import clips_named

PAGES_A_STEP = 4096
_COPYS_RIGHTS = 0o600
"""A copy may be kept anywhere; who else may read it is for its maker to say."""


@dataclass(frozen=True)
class Copied:
    """What a copy holds: sessions, events, and the clips copied now and there before.

    `clips_wrong` are those that could not be copied: gone, or not as they were recorded.
    """

    sessions: int
    events: int
    clips_new: int
    clips_there: int
    clips_wrong: int = 0


class NotUnbroken(RecordError):
    """The copy is not to be trusted; `findings` say why."""

    def __init__(self, path: Path, findings: list[Finding], wanted: str) -> None:
        self.findings = findings
        more = f" (and {len(findings) - 1} more)" if len(findings) > 1 else ""
        super().__init__(f"{path}: is not unbroken: {findings[0]}{more}; {wanted}")


def back_up(record: Path, target: Path, *, with_clips: bool = True) -> Copied:
    """Copy the record to a new file, and clips and cars beside it, while it may be written.

    `with_clips`: also what is let go after its own time, voices and what is known of cars.

    SQLite's own backup gives the record as it stood at one moment. The copy is verified before it
    gets its name. Clips that the folder already holds whole are not copied again, so several
    copies may share it. Raises `RecordError` where the target is there already, cannot be
    written, or the copy is not unbroken (then no copy is left). A clip that is gone or changed is
    counted, and the rest is copied all the same.
    """
    return _copy(record, target, ClipStore(clips_folder(record)), with_clips, _COPYS_RIGHTS)


def restore(
    backup: Path, record: Path, outside: Outside | None = None, *, with_clips: bool = True
) -> Copied:
    """Put a copy back as the record, after it was verified with its clips.

    `with_clips` false is for a copy that was made without: what belongs beside it stays missing.

    Raises `RecordError` where there is a record already (it is never overwritten), and
    `NotUnbroken` for a copy that is not as it was written or not what was kept outside.
    """
    if record.exists():
        raise RecordError(
            f"{record}: already exists, and a record is never overwritten; move it and its "
            "clips away first",
            said="record-there",
            record=str(record),
        )
    _require_nothing_beside(record)
    clips = ClipStore(clips_folder(backup))
    findings = verify(backup, clips if with_clips else None, outside=outside)
    if findings:
        raise NotUnbroken(backup, findings, "wanted: another copy")
    return _copy(backup, record, clips, with_clips, RIGHTS)


def _copy(source: Path, target: Path, clips: ClipStore, with_clips: bool, rights: int) -> Copied:
    _require_free(target)
    part = target.with_name(target.name + ".part")
    try:
        for left in (part, *(beside(part, ending) for ending in BESIDE)):
            left.unlink(missing_ok=True)
        os.close(os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, rights))
        _copy_database(source, part)
        findings = verify(part)
        if findings:
            raise NotUnbroken(source, findings, "no copy was made")
        copied = _copy_clips(part, clips, ClipStore(clips_folder(target)), with_clips)
        if with_clips:
            _copy_cars(part, CarStore(cars_folder(source)), CarStore(cars_folder(target)))
        sync_file(part)
        # All this took a while.
        _require_free(target)
        rename(part, target)
    except OSError as error:
        raise RecordError(
            f"{target}: cannot be written ({error.strerror}); wanted: a new file in a folder that "
            "exists and has room"
        ) from error
    finally:
        for left in (part, *(beside(part, ending) for ending in BESIDE)):
            with suppress(OSError):
                left.unlink()
    return copied


def _require_free(target: Path) -> None:
    if target.exists():
        raise RecordError(
            f"{target}: already exists; name a new file", said="already-there", file=str(target)
        )
    _require_nothing_beside(target)


def _require_nothing_beside(target: Path) -> None:
    """Raise `RecordError` where SQLite would take what lies there for the copy's own log.

    It would write it into the copy on opening it. It is left behind where somebody moves just the
    record away, and may hold that record's last events.
    """
    for ending in BESIDE:
        left = beside(target, ending)
        if os.path.lexists(left):
            raise RecordError(
                f"{left}: lies where a copy is to be put as {target.name}, and would be mixed into "
                "it; it belongs to a record that was there: move it to where that record is now, "
                "or name a new file"
            )


def _copy_database(source: Path, part: Path) -> None:
    with (
        speaking_plainly(source, "copy"),
        closing(connect_to_read(source)) as reading,
        closing(sqlite3.connect(part)) as writing,
    ):
        reading.backup(writing, pages=PAGES_A_STEP)
        # One file, without a log beside it, until it is opened as a record again.
        writing.execute("PRAGMA journal_mode = DELETE")


def _copy_clips(part: Path, source: ClipStore, target: ClipStore, with_clips: bool) -> Copied:
    new = there = wrong = events = 0
    with open_for_reading(part) as database:
        sessions = database.sessions()
        for session in sessions:
            events += session.event_count
            if not with_clips:
                continue
            standing, _ = clips_named(database.events(session.session_id))
            for clip in sorted(standing):
                if target.is_whole(clip):
                    there += 1
                elif source.is_whole(clip):
                    _copy_clip(source, clip, target.folder)
                    new += 1
                else:
                    wrong += 1
    return Copied(len(sessions), events, new, there, wrong)


def _copy_cars(part: Path, source: CarStore, target: CarStore) -> None:
    """Those that the copy's visits keep: what was let go does not come back by a copy."""
    with open_for_reading(part) as database:
        kept = kept_cars(database.events(OFFICE) if has_office(database) else ())
    source.copy_to(target, [name for name, car in kept.items() if not car.let_go])


def _copy_clip(source: ClipStore, clip: str, folder: Path) -> None:
    make_folder(folder, 0o700)
    write_whole(folder / f"{clip}.flac", source.read(clip), RIGHTS)

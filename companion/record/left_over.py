"""Sound that no record keeps: clips that no event names or that were let go, and what half-written
ones left.

A power cut between a clip and its event leaves the first, one within a clip the second. Both are
somebody's voice, and no agreed time would ever end for them. A folder of clips may belong to
several records that lie beside each other; what any of them names is left alone.
"""

from __future__ import annotations

import os
import time
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from companion.errors import RecordError
from companion.record.audit.people import KeyRing
from companion.record.box import key_path
from companion.record.clips import ClipStore
from companion.record.database import connect_to_read, speaking_plainly
from companion.record.header import HEADER_BYTES, application_id_in, is_sqlite
from companion.record.migrations import APPLICATION_ID
from companion.record.place import owners

AT_WORK_S = 600.0
"""While a job is recorded, a clip of that age is not just waiting for its event any more."""
_SMALLEST_DATABASE_BYTES = 512
_NAMED = """
    SELECT session_id, json_extract(body, '$.clip_sha256') FROM event
    WHERE instr(body, '"clip_sha256"') AND json_valid(body)
    EXCEPT
    SELECT session_id, clip.value FROM event, json_each(
        CASE WHEN kind = 'clips_expired' AND json_valid(body) THEN body ELSE '{}' END, '$.clips'
    ) AS clip
"""
"""What is named, less what its job let go again."""


@dataclass(frozen=True)
class LeftOver:
    """Clips by their hashes, remnants and other things by their names, in order."""

    orphans: tuple[str, ...] = ()
    remnants: tuple[str, ...] = ()
    others: tuple[str, ...] = ()


def left_over(record_path: Path, clips: ClipStore, *, at_work: bool = False) -> LeftOver:
    """What lies among the clips and no record beside them names.

    `at_work`: a job is being recorded now, so what is younger than `AT_WORK_S` is passed over.
    Raises `RecordError` where a record that lies beside them cannot be read.
    """
    lying = clips.lying()
    if not (lying.clips or lying.remnants or lying.others):
        return LeftOver()
    named = _clips_named_in(record_path) | clips_named_beside(record_path)
    orphans = sorted(lying.clips - named)
    remnants = sorted(lying.remnants)
    if at_work:
        orphans = [clip for clip in orphans if _is_old(clips.folder / f"{clip}.flac")]
        remnants = [name for name in remnants if _is_old(clips.folder / name)]
    return LeftOver(tuple(orphans), tuple(remnants), tuple(sorted(lying.others)))


def records_beside(record_path: Path) -> list[Path]:
    """Every other record in its folder: they share the folder of clips.

    What belongs to the record is not opened: to close it again would let go of the locks that
    its open connections hold on it (fcntl(2)). Raises `RecordError` for what may not be read and
    may be a record: the clips it names would be taken for nobody's.
    """
    folder = record_path.absolute().parent
    try:
        found = sorted(folder.iterdir())
    except OSError as error:
        raise RecordError(
            f"{folder}: cannot be looked through for other records ({error.strerror}); wanted: a "
            "user who may read the folder"
        ) from error
    keys = {key_path(record_path).name, KeyRing(record_path).path.name}
    return [
        path
        for path in found
        if not _goes_with(path, record_path) and path.name not in keys and _is_record_beside(path)
    ]


def _is_record_beside(path: Path) -> bool:
    try:
        return _has_records_header(path)
    except PermissionError as error:
        if not _may_be_record(path):
            return False
        raise RecordError(
            f"{path}: may not be read ({error.strerror}), so nobody can tell whether it is a "
            "record and which clips it names; wanted: a user who may read it, or another folder "
            "for it"
        ) from error
    except OSError:
        return False


def _may_be_record(path: Path) -> bool:
    """Whether a closed file may be a record: by its name, and by its size."""
    if len(owners(path)) > 1:
        return False
    try:
        return path.stat().st_size >= _SMALLEST_DATABASE_BYTES
    except FileNotFoundError:
        return False
    except OSError:
        return True


def _goes_with(path: Path, record_path: Path) -> bool:
    if record_path.name in {owner.name for owner in owners(path)}:
        return True
    try:
        return path.samefile(record_path)
    except OSError:
        return False


def clips_named_beside(record_path: Path) -> set[str]:
    """The clips that other records in its folder name."""
    return set().union(*map(_clips_named_in, records_beside(record_path)))


def is_record(path: Path) -> bool:
    """Whether a file of that name is a record, by its first bytes (SQLite's file format)."""
    try:
        return _has_records_header(path)
    except OSError:
        return False


def _has_records_header(path: Path) -> bool:
    if not path.is_file():
        return False
    with path.open("rb") as file:
        header = file.read(HEADER_BYTES)
    return is_sqlite(header) and application_id_in(header) == APPLICATION_ID


def _clips_named_in(path: Path) -> set[str]:
    with closing(connect_to_read(path)) as connection, speaking_plainly(path, "read"):
        return {clip for _, clip in connection.execute(_NAMED) if isinstance(clip, str)}


def _is_old(path: Path) -> bool:
    try:
        return os.stat(path, follow_symlinks=False).st_mtime < time.time() - AT_WORK_S
    except OSError:
        return False

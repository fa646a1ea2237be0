"""Looks at what lies on the disk: files of the job, room for the record, rights, the clock."""

from __future__ import annotations

import os
import shutil
import stat
from contextlib import closing
from pathlib import Path

from companion.errors import RecordError
from companion.record.clock import time_is_synchronised
from companion.record.database import connect_to_read, speaking_plainly
from companion.record.soundness import damage
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding
from companion.store.state import last_word

LEAST_FREE_MB, SCARCE_FREE_MB = 100, 1000
"""A day of spoken jobs keeps some ten megabytes of sound; below the first a job may not end."""


def files_of_the_job(bench: Bench) -> Finding:
    """Whether the job's files can be read and fit together."""
    files = bench.loaded.plan.files
    found = f"{files.job.name}; {files.vehicle.name}; {files.bay.name}"
    wanted = "files that fit together, with the maker's figures"
    if files.example:
        to_do = "Example figures are in use. Enter the maker's in files of your own and set those."
        return Finding("look", found, wanted, to_do)
    return Finding("well", found, wanted)


def disk_space(bench: Bench) -> Finding:
    """How much room there is where the record lies."""
    folder = nearest_folder(bench.settings.record)
    free_mb = shutil.disk_usage(folder).free // 1_000_000
    found, wanted = f"{free_mb} MB free at {folder}", f"at least {SCARCE_FREE_MB} MB"
    if free_mb >= SCARCE_FREE_MB:
        return Finding("well", found, wanted)
    to_do = "Make room, or let old voices go: companion clips expire --days 30"
    return Finding("look" if free_mb >= LEAST_FREE_MB else "wrong", found, wanted, to_do)


def record(bench: Bench) -> Finding:
    """Whether every page of the record is whole, which the start of a job may leave unread."""
    file, wanted = bench.settings.record, "a record whose every page is whole"
    if not file.exists():
        return Finding("skipped", "there is none yet; the first job makes it", wanted)
    try:
        with speaking_plainly(file, "check"), closing(connect_to_read(file)) as connection:
            found = damage(connection)
    except RecordError as error:
        found = [str(error)]
    if found:
        to_do = "companion verify; then move it away and put a copy back: companion restore"
        return Finding("wrong", found[0], wanted, to_do)
    size_mb = file.stat().st_size / 1e6
    return Finding("well", f"{file}, {size_mb:.0f} MB, is whole", wanted)


def clock(bench: Bench) -> Finding:
    """Whether anything vouches for the date."""
    wanted = "a time service that has set the clock"
    if time_is_synchronised():
        return Finding("well", "the clock is synchronised", wanted)
    return Finding(
        "look",
        "nothing vouches for the date; the record will say so",
        wanted,
        "Let the box reach a time server, or give it a clock that runs without power.",
    )


def store(bench: Bench) -> Finding:
    """What the store of many boxes said last; it is not asked now."""
    wanted = "everything sent and taken"
    if bench.settings.store is None:
        return Finding("skipped", "no store is set", wanted)
    word = last_word(bench.settings.record)
    if word is None:
        to_do = "companion ship; on a box: systemctl enable --now bay-companion-shipping.timer"
        return Finding("look", "nothing was ever sent", wanted, to_do)
    if not word.told:
        return Finding("well", f"everything was sent {word.at_utc}", wanted)
    to_do = (
        "Tell the keeper of the store, and look at the record: companion verify --store ..."
        if word.refused
        else "Nothing is lost: it goes when the store is reached again."
    )
    return Finding("look", f"{word.told} ({word.at_utc})", wanted, to_do)


def rights(bench: Bench) -> Finding:
    """Whether the record may be written, and who else may read it or change the settings."""
    record, wanted = bench.settings.record, "written by this user, read by no stranger"
    folder = nearest_folder(record)
    if not os.access(folder, os.W_OK | os.X_OK):
        return _rights_wrong(f"{folder} may not be written", f"chown this user {folder}")
    if record.exists() and not os.access(record, os.R_OK | os.W_OK):
        return _rights_wrong(f"{record} may not be read and written", f"chown this user {record}")
    file = bench.read.file
    if file is not None and file.stat().st_mode & stat.S_IWOTH:
        return _rights_wrong(f"everybody may change {file}", f"chmod o-w {file}")
    if folder == record.parent and folder.stat().st_mode & stat.S_IRWXO and record.exists():
        found = f"everybody on this machine may look into {folder}"
        return Finding("look", found, wanted, f"Voices are personal data: chmod o-rwx {folder}")
    return Finding("well", f"{folder} may be written", wanted)


def nearest_folder(path: Path) -> Path:
    """The folder of the path, or the nearest above it that is there."""
    folder = path.absolute().parent
    while not folder.is_dir():
        folder = folder.parent
    return folder


def _rights_wrong(found: str, to_do: str) -> Finding:
    return Finding("wrong", found, "written by this user, read by no stranger", to_do)

"""Looks at what lies on the disk: files of the job, room for the record, rights, the clock."""

from __future__ import annotations

import os
import shutil
import stat
from contextlib import closing
from pathlib import Path

from companion.dialogue.endings import said_twice
from companion.errors import RecordError
from companion.record.clock import time_is_synchronised
from companion.record.database import connect_to_read, speaking_plainly
from companion.record.open_to_others import open_to_others
from companion.record.soundness import damage
from companion.record.store_word import last_word
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding, State

LEAST_FREE_MB, SCARCE_FREE_MB = 100, 1000
"""A day of spoken jobs keeps some ten megabytes of sound; below the first a job may not end."""


def files_of_the_job(bench: Bench) -> Finding:
    """Whether the job's files can be read and fit together."""
    say = bench.say
    files = bench.loaded.plan.files
    found = f"{files.job.name}; {files.vehicle.name}; {files.bay.name}"
    wanted = say("check-files-wanted")
    twice = said_twice(bench.loaded.plan, bench.language)
    if twice:
        found = say("check-files-reply-twice", steps=", ".join(twice), count=len(twice))
        return Finding("look", found, wanted, say("check-files-reply-twice-to-do"))
    if files.example:
        return Finding("look", found, wanted, say("check-files-example"))
    return Finding("well", found, wanted)


def disk_space(bench: Bench) -> Finding:
    """How much room there is where the record lies."""
    say = bench.say
    folder = nearest_folder(bench.settings.record)
    free_mb = shutil.disk_usage(folder).free // 1_000_000
    found = say("check-disk-found", free=str(free_mb), folder=str(folder))
    wanted = say("check-disk-wanted", least=str(SCARCE_FREE_MB))
    if free_mb >= SCARCE_FREE_MB:
        return Finding("well", found, wanted)
    state: State = "look" if free_mb >= LEAST_FREE_MB else "wrong"
    return Finding(state, found, wanted, say("check-disk-to-do"))


def record(bench: Bench) -> Finding:
    """Whether every page of the record is whole, which the start of a job may leave unread."""
    say = bench.say
    file, wanted = bench.settings.record, say("check-record-wanted")
    if not file.exists():
        return Finding("skipped", say("check-record-none-yet"), wanted)
    try:
        with speaking_plainly(file, "check"), closing(connect_to_read(file)) as connection:
            found = damage(connection)
    except RecordError as error:
        found = [str(error)]
    if found:
        return Finding("wrong", found[0], wanted, say("check-record-to-do"))
    size = say.number(file.stat().st_size / 1e6, 0)
    return Finding("well", say("check-record-whole", file=str(file), size=size), wanted)


def clock(bench: Bench) -> Finding:
    """Whether anything vouches for the date."""
    say = bench.say
    wanted = say("check-clock-wanted")
    if time_is_synchronised():
        return Finding("well", say("check-clock-set"), wanted)
    return Finding("look", say("check-clock-not-set"), wanted, say("check-clock-to-do"))


def store(bench: Bench) -> Finding:
    """What the store of many boxes said last; it is not asked now."""
    say = bench.say
    wanted = say("check-store-wanted")
    if bench.settings.store is None:
        return Finding("skipped", say("check-store-not-set"), wanted)
    word = last_word(bench.settings.record)
    if word is None:
        return Finding("look", say("check-store-never"), wanted, say("check-store-never-to-do"))
    if word.files_told and not word.told:
        found = say("check-store-files", told=word.files_told, when=word.at_utc)
        return Finding("look", found, wanted, say("check-store-files-to-do"))
    if not word.told:
        return Finding("well", say("check-store-sent", when=word.at_utc), wanted)
    to_do = say("check-store-refused-to-do" if word.refused else "check-store-later")
    found = say("check-store-told", told=word.told, when=word.at_utc)
    return Finding("look", found, wanted, to_do)


def rights(bench: Bench) -> Finding:
    """Whether the record may be written, and who else may read it or change the settings."""
    say = bench.say
    record, wanted = bench.settings.record, say("check-rights-wanted")
    folder = nearest_folder(record)
    if not os.access(folder, os.W_OK | os.X_OK):
        found, to_do = "check-rights-folder", say("check-rights-chown", path=str(folder))
        return Finding("wrong", say(found, folder=str(folder)), wanted, to_do)
    if record.exists() and not os.access(record, os.R_OK | os.W_OK):
        found, to_do = "check-rights-record", say("check-rights-chown", path=str(record))
        return Finding("wrong", say(found, record=str(record)), wanted, to_do)
    for opened in open_to_others(record):
        found, to_do = f"check-rights-{opened.to}", say("check-rights-do", command=opened.remedy)
        return Finding("wrong", say(found, file=str(opened.path)), wanted, to_do)
    file = bench.read.file
    if file is not None and file.stat().st_mode & stat.S_IWOTH:
        found, to_do = "check-rights-settings", say("check-rights-chmod", path=str(file))
        return Finding("wrong", say(found, file=str(file)), wanted, to_do)
    if folder == record.parent and folder.stat().st_mode & stat.S_IRWXO and record.exists():
        found = say("check-rights-strangers", folder=str(folder))
        to_do = say("check-rights-strangers-to-do", folder=str(folder))
        return Finding("look", found, wanted, to_do)
    return Finding("well", say("check-rights-well", folder=str(folder)), wanted)


def nearest_folder(path: Path) -> Path:
    """The folder of the path, or the nearest above it that is there."""
    folder = path.absolute().parent
    while not folder.is_dir():
        folder = folder.parent
    return folder

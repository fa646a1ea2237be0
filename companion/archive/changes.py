"""Whether a record was written since it was last looked at, without reading it through.

SQLite appends every commit to the write-ahead log, and writes the log back into the database file
from time to time; others see a commit a little later than it stands in the log. So the record says
what it said as long as the state of both files is the same, and the last mark of the box, of which
each commit of events has one.

Neither file is opened by hand for it, nor the `-shm` file beside them: a program that closes one of
them lets go of all the locks it holds on that file, also those of a connection that goes on
(fcntl(2), and "How To Corrupt An SQLite Database File", 2.2).
"""

from __future__ import annotations

import contextlib
import os
import time

from companion.errors import RecordError
from companion.record import Database
from companion.record.place import beside

# A file system tells times in steps of some milliseconds: within one, two changes look like one.
SETTLED_AFTER_S = 1.0
_LAST_MARK = "SELECT MAX(number) AS number FROM box_mark"


def fingerprint(record: Database) -> str:
    """What changes with every commit to the record; "" when that cannot be told right now.

    To be taken before the record is read.
    """
    try:
        file = os.stat(record.path)
        newest_s = max(file.st_mtime, file.st_ctime)
        told = f"{file.st_ino} {file.st_size} {file.st_mtime_ns} {file.st_ctime_ns}"
        with contextlib.suppress(FileNotFoundError):
            log = os.stat(beside(record.path, "-wal"))
            # An empty log is made by whoever opens the record, also only to read; and root makes
            # it the record's owner's each time, which changes its `st_ctime`.
            if log.st_size:
                newest_s = max(newest_s, log.st_mtime)
                told += f"; {log.st_ino} {log.st_size} {log.st_mtime_ns}"
    except OSError:
        return ""
    if not newest_s < time.time() - SETTLED_AFTER_S:
        return ""
    try:
        (last,) = record.read(_LAST_MARK)
    except RecordError:
        # Of a version before there were marks, which nobody writes without bringing it up to date.
        return ""
    return f"{told}; {last['number']}"

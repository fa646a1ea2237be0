"""Whether a record was written since it was last looked at, without reading it.

SQLite appends every commit to the write-ahead log, and writes the log back into the database file
from time to time. So the record says what it said as long as the state of both files is the same.

Neither is opened for it, nor the `-shm` file beside them: a program that closes one of them lets
go of all the locks it holds on that file, also those of a connection that goes on (fcntl(2), and
"How To Corrupt An SQLite Database File", 2.2).
"""

from __future__ import annotations

import contextlib
import os
import time
from pathlib import Path

# A file system tells times in steps of some milliseconds: within one, two changes look like one.
SETTLED_AFTER_S = 1.0


def fingerprint(record_path: Path) -> str:
    """What changes with every commit to the record; "" when that cannot be told right now.

    To be taken before the record is read.
    """
    try:
        record = os.stat(record_path)
        newest_s = max(record.st_mtime, record.st_ctime)
        told = f"{record.st_ino} {record.st_size} {record.st_mtime_ns} {record.st_ctime_ns}"
        log_path = record_path.with_name(record_path.name + "-wal")
        with contextlib.suppress(FileNotFoundError):
            log = os.stat(log_path)
            # An empty log is made by whoever opens the record, also only to read; and root makes
            # it the record's owner's each time, which changes its `st_ctime`.
            if log.st_size:
                newest_s = max(newest_s, log.st_mtime)
                told += f"; {log.st_ino} {log.st_size} {log.st_mtime_ns}"
    except OSError:
        return ""
    return told if newest_s < time.time() - SETTLED_AFTER_S else ""

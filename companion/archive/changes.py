"""Whether a record was written since it was last looked at, without reading it.

SQLite appends every commit to the write-ahead log and tells other processes so in the first bytes
of the `-shm` file (SQLite's documentation of its WAL format: the WAL-index header), which count
and sum up what is in the log. When the log is written back, the database file itself changes. So
the record says what it said as long as the file's state and those bytes are the same.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

WAL_INDEX_HEADER_BYTES = 48
# A file system tells times in steps of some milliseconds: within one, two changes look like one.
SETTLED_AFTER_S = 1.0


def fingerprint(record_path: Path) -> str:
    """What changes with every commit to the record; "" when that cannot be told right now.

    To be taken while the record is open (then its write-ahead log is too), before it is read.
    """
    try:
        state = os.stat(record_path)
        newest_s = max(state.st_mtime, state.st_ctime)
        if not newest_s < time.time() - SETTLED_AFTER_S:
            return ""
        try:
            with record_path.with_name(record_path.name + "-shm").open("rb") as shared:
                log = shared.read(WAL_INDEX_HEADER_BYTES).hex()
        except FileNotFoundError:
            log = ""
    except OSError:
        return ""
    return f"{state.st_ino} {state.st_size} {state.st_mtime_ns} {state.st_ctime_ns} {log}"

"""Where the record stands when nobody says otherwise, and who may read a new one."""

from __future__ import annotations

import os
from pathlib import Path

RIGHTS = 0o640
"""Of a file that is made: its owner writes, its group reads (a display under a user of its own),
nobody else does either. The umask may take more away; what is there already is left as it is."""

BESIDE = ("-wal", "-shm", "-journal")
"""What SQLite writes beside a file, by what it puts behind the file's name."""
LOCK, INDEX, STATISTICS = ".lock", ".index", ".statistics"
"""What lies beside a record by the same kind of name, none of it a record."""


def beside(path: Path, ending: str) -> Path:
    """What lies beside a file under its name with that ending."""
    return path.with_name(path.name + ending)


def owners(path: Path) -> tuple[Path, ...]:
    """The files to which another may belong by its name, itself among them.

    The log of an index belongs to the index and to the index's record. A name that is an ending
    and nothing else belongs to no other.
    """
    found = [path]
    for endings in (BESIDE, (LOCK, INDEX, STATISTICS)):
        name = found[-1].name
        ending = next((one for one in endings if name.endswith(one) and name != one), None)
        if ending is not None:
            found.append(path.with_name(name.removesuffix(ending)))
    return tuple(found)


def record_path() -> Path:
    """A file in the person's own data folder (XDG)."""
    data = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(data) / "bay-companion" / "record.sqlite"

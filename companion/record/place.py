"""Where the record stands when nobody says otherwise, and who may read a new one."""

from __future__ import annotations

import os
from pathlib import Path

RIGHTS = 0o640
"""Of a file that is made: its owner writes, its group reads (a display under a user of its own),
nobody else does either. The umask may take more away; what is there already is left as it is."""


def record_path() -> Path:
    """A file in the person's own data folder (XDG)."""
    data = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(data) / "bay-companion" / "record.sqlite"

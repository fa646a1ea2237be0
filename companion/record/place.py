"""Where the record stands when nobody says otherwise."""

from __future__ import annotations

import os
from pathlib import Path


def record_path() -> Path:
    """A file in the person's own data folder (XDG)."""
    data = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(data) / "bay-companion" / "record.sqlite"

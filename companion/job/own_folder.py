"""Where the shop's own vehicle, bay, stand and mount files stand: a folder for each kind."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Literal

Kind = Literal["vehicle", "bay", "stand", "mount"]


def own_folder(kind: Kind) -> Path:
    """Where the shop's own files of a kind stand (the XDG configuration folder)."""
    configuration = os.environ.get("XDG_CONFIG_HOME") or str(Path.home() / ".config")
    return Path(configuration) / "bay-companion" / f"{kind}s"

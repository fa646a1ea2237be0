"""Who else on this machine may read the keys or change the record, by the rights of the files.

Permissions that somebody set are kept, but what they give away is told: a key that others read
proves nothing any more.
"""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from companion.record.audit.people import KeyRing
from companion.record.box import key_path, public_key_path
from companion.record.cars import cars_folder
from companion.record.clips import clips_folder
from companion.record.place import LOCK, beside


@dataclass(frozen=True)
class OpenFile:
    """A file or folder that is open to others: they may `read` a secret, or `change` anything."""

    path: Path
    to: Literal["read", "change"]

    @property
    def remedy(self) -> str:
        """What closes it."""
        return f"chmod {'600' if self.to == 'read' else 'o-w'} {self.path}"

    def __str__(self) -> str:
        if self.to == "read":
            return f"others besides its owner can read {self.path}: {self.remedy}"
        return f"anyone on this machine can change {self.path}: {self.remedy}"


def open_to_others(record_path: Path) -> list[OpenFile]:
    """The keys that others besides their owner can read, then what everybody can change."""
    secrets = (key_path(record_path), KeyRing(record_path).path)
    found = [OpenFile(path, "read") for path in secrets if _rights(path) & 0o077]
    others = (
        record_path.absolute().parent,
        record_path,
        *(beside(record_path, end) for end in ("-wal", "-shm", LOCK)),
        public_key_path(record_path),
        clips_folder(record_path),
        cars_folder(record_path),
    )
    found += [OpenFile(path, "change") for path in others if _is_everybodys(_rights(path))]
    return found


def _is_everybodys(rights: int) -> bool:
    """Whether everybody may change it; in a folder such as /tmp each has their own files."""
    return bool(rights & stat.S_IWOTH) and not rights & stat.S_ISVTX


def _rights(path: Path) -> int:
    """The rights of what lies there; none where nothing does, or a link, which has none."""
    try:
        found = os.stat(path, follow_symlinks=False)
    except OSError:
        return 0
    return 0 if stat.S_ISLNK(found.st_mode) else stat.S_IMODE(found.st_mode)

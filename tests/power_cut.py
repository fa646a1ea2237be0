"""What a disk holds after a power cut at the worst moment, by what was synced until then.

A file system may keep back what was written until it is told to sync. So after a cut a folder lists
what it listed when it was last synced, and a file holds what it held when it was last synced;
a file never synced is there by name and empty, which is how a rename without a sync comes out.
SQLite syncs its own files by itself and is not seen here.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest


class WorstDisk:
    """Looks on at every `os.fsync`, and shows what a cut would leave."""

    def __init__(self) -> None:
        self._contents: dict[int, bytes] = {}
        self._names: dict[int, dict[str, tuple[int, bool]]] = {}

    def watch(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """From here on, until the test ends."""
        really = os.fsync

        def fsync(descriptor: int) -> None:
            really(descriptor)
            self._synced(descriptor)

        monkeypatch.setattr(os, "fsync", fsync)

    def _synced(self, descriptor: int) -> None:
        path = Path(f"/proc/self/fd/{descriptor}")
        state = path.stat()
        if stat.S_ISDIR(state.st_mode):
            listed = {entry: entry.lstat() for entry in path.iterdir()}
            self._names[state.st_ino] = {
                entry.name: (found.st_ino, stat.S_ISDIR(found.st_mode))
                for entry, found in listed.items()
            }
        else:
            self._contents[state.st_ino] = path.read_bytes()

    def after_a_cut(self, folder: Path, target: Path) -> Path:
        """The folder, itself safely there before, as the cut leaves it, built as a new one."""
        self._build(folder.stat().st_ino, target)
        return target

    def _build(self, folder: int, target: Path) -> None:
        target.mkdir()
        for name, (inode, is_folder) in self._names.get(folder, {}).items():
            if is_folder:
                self._build(inode, target / name)
            else:
                (target / name).write_bytes(self._contents.get(inode, b""))

"""One writer per record file, also across programs; and how the last one left it."""

from __future__ import annotations

import contextlib
import fcntl
import os
from pathlib import Path

from companion.errors import RecordError
from companion.record.place import RIGHTS

MOST_NOTED = 1000


class WriterLock:
    """An exclusive lock on `<record>.lock`, held until released or until the program ends.

    While it is held, the file holds the number of the process. The file stays behind: removing it
    would let two writers lock two different files. `found` is what stood in it: what the last
    writer left on releasing, or its number where it came to no end.
    """

    def __init__(self, record_path: Path) -> None:
        self._path = record_path.with_name(record_path.name + ".lock")
        self._descriptor: int | None = None
        try:
            descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, RIGHTS)
        except OSError as error:
            raise RecordError(
                f"{self._path}: cannot be made ({error.strerror}); the record's folder must "
                "exist and be writable"
            ) from error
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            holder = os.read(descriptor, 32).decode("ascii", "replace").strip() or "unknown"
            os.close(descriptor)
            raise RecordError(
                f"{record_path}: already open for writing (process {holder}); close the other "
                "companion first, or give this one another record file"
            ) from error
        self._descriptor = descriptor
        self.found = os.pread(descriptor, MOST_NOTED, 0).decode("ascii", "replace").strip()
        self._note(str(os.getpid()))

    def _note(self, text: str) -> None:
        assert self._descriptor is not None  # noqa: S101  -- only while the lock is held
        os.ftruncate(self._descriptor, 0)
        os.pwrite(self._descriptor, f"{text}\n".encode("ascii"), 0)

    def release(self, note: str = "") -> None:
        """Let another writer in and leave it a note; releasing twice is harmless."""
        if self._descriptor is None:
            return
        try:
            # On a full disk none is left, and the next writer looks for itself.
            with contextlib.suppress(OSError):
                self._note(note)
        finally:
            os.close(self._descriptor)
            self._descriptor = None

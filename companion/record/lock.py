"""One writer per record file, also across programs."""

from __future__ import annotations

import fcntl
import os
from pathlib import Path

from companion.errors import RecordError


class WriterLock:
    """An exclusive lock on `<record>.lock`, held until released or until the program ends.

    The file stays behind: removing it would let two writers lock two different files.
    """

    def __init__(self, record_path: Path) -> None:
        self._path = record_path.with_name(record_path.name + ".lock")
        self._descriptor: int | None = None
        try:
            descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
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
        os.ftruncate(descriptor, 0)
        os.pwrite(descriptor, f"{os.getpid()}\n".encode("ascii"), 0)

    def release(self) -> None:
        """Let another writer in; releasing twice is harmless."""
        if self._descriptor is not None:
            os.close(self._descriptor)
            self._descriptor = None

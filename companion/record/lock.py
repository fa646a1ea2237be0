"""One writer per record file, also across programs; and how the last one left it."""

from __future__ import annotations

import contextlib
import fcntl
import os
import stat
from pathlib import Path

from companion.errors import RecordError
from companion.record.place import BESIDE, INDEX, LOCK, RIGHTS, STATISTICS, beside, owners

MOST_NOTED = 1000


def open_own_file(path: Path, flags: int = os.O_RDWR, rights: int = RIGHTS) -> int:
    """A descriptor of a plain file under this one name; raises `RecordError` for anything else.

    A link in its place would have another file written, one with two names has two locks.
    """
    try:
        descriptor = os.open(path, flags | os.O_NOFOLLOW | os.O_CLOEXEC | os.O_NONBLOCK, rights)
    except OSError as error:
        if path.is_symlink():
            raise _no_own_file(path, "is a link to another place") from error
        raise RecordError(
            f"{path}: cannot be opened or made ({error.strerror}); the record's "
            "folder must exist and be writable"
        ) from error
    found = os.fstat(descriptor)
    if stat.S_ISREG(found.st_mode) and found.st_nlink <= 1:
        return descriptor
    os.close(descriptor)
    what = "has another name too" if stat.S_ISREG(found.st_mode) else "is no plain file"
    raise _no_own_file(path, what)


def require_no_link(path: Path) -> None:
    """Raise `RecordError` where a link stands under that name."""
    if path.is_symlink():
        raise _no_own_file(path, "is a link to another place")


def _require_own_name(record_path: Path) -> None:
    """Raise `RecordError` for a name by which it would be taken for what goes with a record."""
    if len(owners(record_path)) > 1:
        kept = ", ".join((*BESIDE, LOCK, INDEX, STATISTICS))
        raise RecordError(
            f"{record_path}: names with these endings are kept for what goes with a record: "
            f"{kept}; wanted: another name"
        )


def require_own_files_beside(path: Path) -> None:
    """Raise `RecordError` where what SQLite writes beside that file would be another file.

    SQLite follows no links there; a second name of some other file it would write into.
    """
    for suffix in BESIDE:
        written = beside(path, suffix)
        with contextlib.suppress(FileNotFoundError):
            found = os.stat(written, follow_symlinks=False)
            if stat.S_ISLNK(found.st_mode):
                raise _no_own_file(written, "is a link to another place")
            if not stat.S_ISREG(found.st_mode):
                raise _no_own_file(written, "is no plain file")
            if found.st_nlink > 1:
                raise _no_own_file(written, "has another name too")


def _no_own_file(path: Path, what: str) -> RecordError:
    return RecordError(f"{path}: {what}; wanted: the file itself, by its one name")


class WriterLock:
    """An exclusive lock on `<record>.lock` and on the record, until released or the program ends.

    While it is held, the lock file holds the number of the process. It stays behind: `found` is
    what stood in it, what the last writer left on releasing, or its process number if it never
    did. The record, made where there is none, is locked too, so that no second writer gets in
    where the lock file was removed or the record is reached by another path.
    """

    def __init__(self, record_path: Path) -> None:
        self._path = beside(record_path, LOCK)
        self._record_path = record_path
        _require_own_name(record_path)
        require_no_link(record_path)
        require_own_files_beside(record_path)
        self._descriptor: int | None = _locked(self._path, record_path)
        self._record: int | None = None
        self.found = os.pread(self._descriptor, MOST_NOTED, 0).decode("ascii", "replace").strip()
        try:
            self._record = _locked(record_path, record_path)
            self._note(str(os.getpid()))
        except BaseException:
            self._let_go()
            raise

    def require_held(self) -> None:
        """Raise `RecordError` where another file has taken the place of the record or its lock."""
        for path, descriptor in ((self._path, self._descriptor), (self._record_path, self._record)):
            if descriptor is None or not _is_at(path, descriptor):
                raise RecordError(
                    f"{path}: was removed or replaced while the record is being written; nothing "
                    "was written: end this companion, see what happened, and begin again"
                )

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
            self._let_go()

    def _let_go(self) -> None:
        # SQLite's own locks go as well when the record is closed: its connection is closed before.
        for descriptor in (self._record, self._descriptor):
            if descriptor is not None:
                os.close(descriptor)
        self._record = self._descriptor = None


def _locked(path: Path, record_path: Path) -> int:
    descriptor = open_own_file(path, os.O_RDWR | os.O_CREAT)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        holder = ""
        if path != record_path:
            holder = os.read(descriptor, 32).decode("ascii", "replace").strip()
        os.close(descriptor)
        holder = holder or "?"
        raise RecordError(
            f"{record_path}: already open for writing (process {holder}); close the other "
            "companion first, or give this one another record file",
            said="record-busy",
            record=str(record_path),
            process=holder,
        ) from error
    if not _is_at(path, descriptor):
        os.close(descriptor)
        raise RecordError(f"{path}: was replaced while it was opened; try again")
    return descriptor


def _is_at(path: Path, descriptor: int) -> bool:
    try:
        there, held = os.stat(path, follow_symlinks=False), os.fstat(descriptor)
    except OSError:
        return False
    return os.path.samestat(there, held)


def is_locked(record_path: Path) -> bool:
    """Whether a program is writing into the record now; it may end, or begin, at any time."""
    lock = beside(record_path, LOCK)
    try:
        descriptor = os.open(lock, os.O_RDONLY | os.O_NOFOLLOW | os.O_CLOEXEC)
    except FileNotFoundError:
        return False
    except OSError:
        return True
    try:
        fcntl.flock(descriptor, fcntl.LOCK_SH | fcntl.LOCK_NB)
    except OSError:
        return True
    finally:
        os.close(descriptor)
    return False

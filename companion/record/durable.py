"""Files that are still there, and whole, when the power goes right after they were written."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import tempfile
from pathlib import Path

from companion.errors import CompanionError, RecordError


def write_new(path: Path, content: bytes, mode: int) -> None:
    """Write a file that is not there yet; raises `OSError`, also where it is there already."""
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, mode)
    _write(descriptor, content)
    sync_folder(path.parent)


def write_whole(path: Path, content: bytes, mode: int) -> None:
    """Write a file, or put it in place of an older one, whole or not at all.

    Until it has its name nobody but its owner may read it. Raises `OSError`.
    """
    descriptor, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.stem[:8]}-")
    try:
        _write(descriptor, content)
        os.chmod(temporary, mode)
        rename(Path(temporary), path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def read_plain(path: Path, most_bytes: int, *, also_by_link: bool = False) -> bytes | None:
    """The content of a plain file; None, unread, of anything else and of what is larger.

    Links are followed only where the caller says so, and a pipe is not waited for. Raises
    `OSError`.
    """
    links = 0 if also_by_link else os.O_NOFOLLOW
    descriptor = os.open(path, os.O_RDONLY | links | os.O_NONBLOCK | os.O_CLOEXEC)
    with os.fdopen(descriptor, "rb") as file:
        found = os.fstat(file.fileno())
        if not stat.S_ISREG(found.st_mode) or found.st_size > most_bytes:
            return None
        return file.read(most_bytes)


def read_kept(
    path: Path,
    most_bytes: int,
    what: str,
    refused: type[CompanionError] = RecordError,
    *,
    also_by_link: bool = False,
) -> bytes:
    """The same; raises `refused` for a file that cannot be read or is none that could be `what`."""
    try:
        content = read_plain(path, most_bytes, also_by_link=also_by_link)
    except OSError as error:
        raise refused(f"{path}: cannot be read ({error.strerror})") from error
    if content is None:
        raise refused(f"{path}: is no plain file, or too large for {what}")
    return content


def _write(descriptor: int, content: bytes) -> None:
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def rename(written: Path, path: Path) -> None:
    """Give a file that was synced its name, in its own folder, for good."""
    os.replace(written, path)
    sync_folder(path.parent)


def make_folder(folder: Path, mode: int) -> None:
    """Make a folder, and those above it, where it is not there; raises `OSError`."""
    if folder.is_dir():
        return
    make_folder(folder.parent, mode)
    folder.mkdir(mode=mode, exist_ok=True)
    sync_folder(folder.parent)


def require_readable(folder: Path, what: str) -> None:
    """Raise `RecordError` for a folder of `what` that cannot be looked through; none is fine."""
    why = ""
    try:
        os.scandir(folder).close()
        if not os.access(folder, os.X_OK):
            why = os.strerror(errno.EACCES)
    except FileNotFoundError:
        pass
    except OSError as error:
        why = str(error.strerror)
    if why:
        raise RecordError(
            f"{folder}: cannot be looked through for {what} ({why}); wanted: a folder, and a user "
            "who may read it"
        )


def sync_file(path: Path) -> None:
    """Have a file's content on the disk; raises `OSError`."""
    _sync(path, os.O_RDONLY)


def sync_folder(folder: Path) -> None:
    """Have a folder's list of names on the disk; raises `OSError`."""
    try:
        _sync(folder, os.O_RDONLY | os.O_DIRECTORY)
    except OSError as error:
        # Some file systems of other machines keep names at once, and know no sync of a folder.
        if error.errno != errno.EINVAL:
            raise


def _sync(path: Path, flags: int) -> None:
    descriptor = os.open(path, flags | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)

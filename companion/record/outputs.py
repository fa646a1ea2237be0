"""Files that a command writes where a person says: never over a record, nor over anything else.

An older output of the same kind is replaced, whole or not at all; whatever else stands there only
where the person insists, and a record, or what belongs to one, not even then.
"""

from __future__ import annotations

import os
import secrets
import stat
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from companion.errors import CompanionError
from companion.record.left_over import is_record
from companion.record.place import RIGHTS, owners

FIRST_BYTES = 2000
Written = TypeVar("Written")
IsOurs = Callable[[bytes], bool]
"""Whether the first bytes of a file are those of an output of the same kind."""


def require_free(out: Path, is_ours: IsOurs, *, force: bool) -> None:
    """Raise `CompanionError` where something stands at `out` that may not be replaced."""
    if _belongs_to_a_record(out):
        raise CompanionError(
            f"{out}: is a record or belongs to one, and none is ever overwritten; name another "
            "file",
            said="out-is-record",
            file=str(out),
        )
    if force or not out.is_file():
        return
    try:
        with out.open("rb") as file:
            first = file.read(FIRST_BYTES)
    except OSError as error:
        raise CompanionError(
            f"{out}: cannot be read ({error.strerror}); name another",
            said="out-not-read",
            file=str(out),
            why=str(error.strerror),
        ) from error
    if first and not is_ours(first):
        raise CompanionError(
            f"{out}: is there already and is something else; name another file, or give --force",
            said="out-is-other",
            file=str(out),
        )


def _belongs_to_a_record(out: Path) -> bool:
    return any(map(is_record, owners(out)))


def write_output(
    out: Path, write: Callable[[Path], Written], is_ours: IsOurs, *, force: bool = False
) -> Written:
    """What `write` gives, which is called with the path of a file to fill; `out` gets it whole.

    Names and voices are in it: a new file is for its owner and group, less what the umask takes; an
    older one's rights are kept. A pipe or device is written as it is. Raises `CompanionError` as
    `require_free` does, and where the folder takes no file.
    """
    require_free(out, is_ours, force=force)
    temporary: Path | None = None
    try:
        if out.exists() and not out.is_file():
            return write(out)
        half = out.with_name(f".part-{secrets.token_hex(8)}")
        descriptor = os.open(half, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, RIGHTS)
        temporary = half
        # What the umask left of them, which cannot be asked for without changing it.
        rights = stat.S_IMODE(os.fstat(descriptor).st_mode)
        os.fchmod(descriptor, 0o600)
        os.close(descriptor)
        if out.exists():
            rights = out.stat().st_mode & 0o777
        written = write(temporary)
        os.chmod(temporary, rights)
        os.replace(temporary, out)
        temporary = None
        return written
    except OSError as error:
        raise CompanionError(
            f"{out}: cannot be written ({error.strerror}); "
            "wanted: a folder that exists and has room",
            said="out-not-written",
            file=str(out),
            why=str(error.strerror),
        ) from error
    finally:
        if temporary is not None:
            with suppress(OSError):
                os.unlink(temporary)

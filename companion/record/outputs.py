"""Files that a command writes where a person says: never over a record, nor over anything else.

An older output of the same kind is replaced, whole or not at all; whatever else stands there only
where the person insists, and a record, or what belongs to one, not even then.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import TypeVar

from companion.errors import CompanionError
from companion.record.left_over import is_record
from companion.record.place import owners

FIRST_BYTES = 2000
RIGHTS = 0o644
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

    A pipe or device is written as it is. Raises `CompanionError` as `require_free` does, and where
    the folder takes no file.
    """
    require_free(out, is_ours, force=force)
    temporary: str | None = None
    try:
        if out.exists() and not out.is_file():
            return write(out)
        descriptor, temporary = tempfile.mkstemp(dir=out.parent, prefix=".part-")
        os.close(descriptor)
        written = write(Path(temporary))
        os.chmod(temporary, RIGHTS)
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

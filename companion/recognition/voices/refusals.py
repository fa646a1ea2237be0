"""What is said where a file of a voice cannot be read, written or deleted, or a name is none."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from companion.errors import CompanionError, EarsError

LONGEST_NAME = 200


def unreadable(path: Path, error: OSError) -> EarsError:
    """It is there, or may be, and this account cannot look."""
    return EarsError(
        f"{path}: cannot be read ({error.strerror}); wanted: the account that enrolled the voices, "
        "or the right to read there"
    )


def unwritable(path: Path, error: OSError) -> EarsError:
    """No room, or no right to write."""
    return EarsError(
        f"{path}: cannot be written ({error.strerror}); wanted: room beside the record, and the "
        "right to write there"
    )


def undeletable(path: Path, error: OSError) -> EarsError:
    """It stays although it should not."""
    return EarsError(
        f"{path}: cannot be deleted ({error.strerror}) and is still there; wanted: the right to "
        "write there"
    )


def raise_all(problems: Sequence[CompanionError]) -> None:
    """Raise what is wrong with several voices as one, each on its line; nothing for none."""
    if len(problems) == 1:
        raise problems[0]
    if problems:
        raise EarsError("\n".join(map(str, problems)))


def require_name(name: str) -> str:
    """A person's name as it is kept, with single spaces; raises `EarsError` where it is none."""
    plain = " ".join(name.split())
    if not 0 < len(plain) <= LONGEST_NAME or not _is_text(plain):
        raise EarsError(
            f"the name of whose voice it is: found {len(plain)} characters, or signs that are no "
            f"text; wanted: 1 to {LONGEST_NAME} characters",
            said="voice-no-name",
            found=len(plain),
            most=LONGEST_NAME,
        )
    return plain


def _is_text(name: str) -> bool:
    """Not so for what a terminal with another encoding hands over."""
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    return True

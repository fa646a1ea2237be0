"""Where a job's files lay, as the record may say it: a home folder's name is a person's.

The record's bytes go to the shop's store and into exports, and cannot be changed afterwards; so
what is written at the start names nobody, and is still enough to go on after a break.
"""

from __future__ import annotations

import pwd
from collections.abc import Iterator
from pathlib import Path

HOME = "~"
# What the system's own accounts call their home holds programs and data, not a person's files.
_FIRST_PERSON = 1000
_ABOVE_HOMES = (Path("/home"), Path("/Users"))


def told_of(path: Path) -> str:
    """The path, absolute; in one's own home `~/...`; in anybody else's the file's name alone."""
    lies = path.absolute()
    if lies.is_relative_to(_own_home()):
        return str(HOME / lies.relative_to(_own_home()))
    if any(lies.is_relative_to(home) for home in _homes_of_others(lies)):
        return lies.name
    return str(lies)


def lies_at(told: str) -> Path | None:
    """The path that `told_of` told, for whoever has this home; None where it told a name alone."""
    path = Path(told)
    if path.parts[:1] == (HOME,):
        return _own_home().joinpath(*path.parts[1:])
    return path if path.is_absolute() else None


def _own_home() -> Path:
    return Path.home().absolute()


def _homes_of_others(path: Path) -> Iterator[Path]:
    for above in _ABOVE_HOMES:
        if path.is_relative_to(above) and path.parent != above:
            yield above
    for account in pwd.getpwall():
        home = Path(account.pw_dir)
        if account.pw_uid >= _FIRST_PERSON and len(home.parts) > 1:
            yield home

"""What the last `companion check` found, kept beside the record for the box's keeper."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from companion.record.durable import read_plain, write_whole
from companion.record.place import RIGHTS

LONGEST = 10_000


@dataclass(frozen=True)
class LastCheck:
    """When it was; `wrong` and `look`: what was, by the looks' names.

    `ears_work`: processor seconds for a second of speech, None where it was not measured.
    """

    at_utc: str
    wrong: tuple[str, ...] = ()
    look: tuple[str, ...] = ()
    ears: str = ""
    ears_work: float | None = None


def keep(record: Path, check: LastCheck) -> None:
    """Keep it in place of the one before; raises `OSError`."""
    write_whole(_place(record), (json.dumps(asdict(check)) + "\n").encode(), RIGHTS)


def last_check(record: Path) -> LastCheck | None:
    """The last one; None where there was none, or the file is none."""
    try:
        told = json.loads(read_plain(_place(record), LONGEST) or b"")
        work = told["ears_work"]
        return LastCheck(
            str(told["at_utc"]),
            tuple(map(str, told["wrong"])),
            tuple(map(str, told["look"])),
            str(told["ears"]),
            float(work) if isinstance(work, int | float) else None,
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _place(record: Path) -> Path:
    return record.with_name(record.name + ".check")

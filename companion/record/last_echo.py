"""What the last `companion check --echo` measured, kept for these devices and this volume."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass
from pathlib import Path

from companion.record.durable import read_plain, write_whole
from companion.record.place import RIGHTS, record_path

LONGEST = 10_000


@dataclass(frozen=True)
class LastEcho:
    """The devices by their own names, the loudest that the voice may become (`limit_db`), and what
    the microphone heard of it then; levels in dB relative to full scale, the delay in seconds.

    `allows_answers`: answers may be given while it speaks.
    """

    at_utc: str
    microphone: str
    loudspeaker: str
    limit_db: float
    echo_dbfs: float
    background_dbfs: float
    gain_db: float
    delay_s: float
    allows_answers: bool

    @property
    def above_background_db(self) -> float:
        """Negative where the echo is below what else is heard."""
        return self.echo_dbfs - self.background_dbfs


def place() -> Path:
    """A file in the person's own data folder: it is about devices, whichever record is written."""
    record = record_path()
    return record.with_name("loudspeaker.echo")


def keep(measured: LastEcho) -> None:
    """Keep it in place of the one before; raises `OSError`."""
    place().parent.mkdir(parents=True, exist_ok=True)
    write_whole(place(), (json.dumps(asdict(measured)) + "\n").encode(), RIGHTS)


def last_echo() -> LastEcho | None:
    """The last one; None where there was none, or the file is none."""
    try:
        told = json.loads(read_plain(place(), LONGEST) or b"")
        found = LastEcho(
            at_utc=str(told["at_utc"]),
            microphone=str(told["microphone"]),
            loudspeaker=str(told["loudspeaker"]),
            limit_db=float(told["limit_db"]),
            echo_dbfs=float(told["echo_dbfs"]),
            background_dbfs=float(told["background_dbfs"]),
            gain_db=float(told["gain_db"]),
            delay_s=float(told["delay_s"]),
            allows_answers=told["allows_answers"] is True,
        )
    except (OSError, ValueError, KeyError, TypeError):
        return None
    figures = (found.limit_db, found.echo_dbfs, found.background_dbfs, found.gain_db, found.delay_s)
    return found if all(map(math.isfinite, figures)) else None

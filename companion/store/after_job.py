"""Sending after each job: by another process, so that no voice ever waits for a network.

On an installed box the companion has no network of its own. It leaves a sign beside the record, and
a service that has one begins to send (`bay-companion-shipping.path`). Elsewhere `companion ship` is
started here, and not waited for.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import subprocess
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

from companion.record.durable import write_whole
from companion.record.place import RIGHTS

_GENTLY = 10
_COMMAND = "from companion.cli import main; main()"


def leave_a_sign(record: Path, at_utc: str) -> None:
    """Say beside the record that a job is over; raises `OSError`."""
    write_whole(sign_path(record), f"{at_utc}\n".encode(), RIGHTS)


def sign_path(record: Path) -> Path:
    """Where the sign lies, as the service's unit names it."""
    return record.with_name(record.name + ".job-over")


def send_in_background(options: Sequence[str]) -> int:
    """Start `companion ship` with these options; its process id. Raises `OSError`."""
    started = subprocess.Popen(  # noqa: S603 - our own command, no shell
        [sys.executable, "-c", _COMMAND, "ship", *options],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    with contextlib.suppress(OSError):
        os.setpriority(os.PRIO_PROCESS, started.pid, _GENTLY)
    # The program that began this ends now; the process carries on, and leaves the outcome here.
    started.returncode = 0
    return started.pid


@contextlib.contextmanager
def sending_alone(record: Path) -> Iterator[bool]:
    """Whether nobody else sends this record at the moment; nobody begins to until the block ends.

    Raises `OSError`.
    """
    place = record.with_name(record.name + ".shipping")
    descriptor = os.open(place, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, RIGHTS)
    try:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            yield False
        else:
            yield True
    finally:
        os.close(descriptor)

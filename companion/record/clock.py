"""Clocks: the computer's, and one that stands where it is put."""

from __future__ import annotations

import ctypes
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from companion.record.port import Stamp
from companion.record.rfc3339 import format_rfc3339, parse_rfc3339

# systemd-timesyncd touches this file once it has set the time since the last boot.
_TIMESYNC_FLAG = Path("/run/systemd/timesync/synchronized")
_ADJTIMEX_STATUS_OFFSET_WORDS = 5
_STA_UNSYNC = 0x0040
_TIME_ERROR = 5


def time_is_synchronised() -> bool:
    """Whether something vouches for the computer's date; False whenever that is unknown.

    Asks the time-sync flag of systemd, then the kernel (`adjtimex(2)`, read only), whose
    unsynchronised bit every common time service clears.
    """
    return _TIMESYNC_FLAG.exists() or _kernel_says_synchronised()


def _kernel_says_synchronised() -> bool:
    if not sys.platform.startswith("linux"):
        return False
    # struct timex is at most 208 bytes; `modes` (its first word) left at 0 changes nothing.
    # Before `status` come modes (padded to a long), offset, freq, maxerror and esterror.
    timex = (ctypes.c_long * 64)()
    try:
        answer = ctypes.CDLL(None, use_errno=True).adjtimex(ctypes.byref(timex))
    except (OSError, AttributeError):
        return False
    if answer < 0 or answer == _TIME_ERROR:
        return False
    status = ctypes.c_int.from_buffer(
        timex, _ADJTIMEX_STATUS_OFFSET_WORDS * ctypes.sizeof(ctypes.c_long)
    )
    return not status.value & _STA_UNSYNC


class SystemClock:
    """The computer's clock, marked trusted only while its time is synchronised."""

    def now(self) -> Stamp:
        """The present moment."""
        return Stamp(
            at_utc=format_rfc3339(datetime.now(UTC)),
            monotonic_ns=time.monotonic_ns(),
            trusted=time_is_synchronised(),
        )


class FixedClock:
    """A clock for rehearsals and tests: starts where it is put, steps each time it is read."""

    def __init__(
        self,
        at_utc: str = "2030-01-01T08:00:00.000Z",
        step_ms: int = 1000,
        trusted: bool = True,
    ) -> None:
        self._moment = parse_rfc3339(at_utc)
        self._monotonic_ns = 0
        self._step_ms = step_ms
        self._trusted = trusted

    def now(self) -> Stamp:
        """The moment it stands at; the next reading is one step later."""
        stamp = Stamp(format_rfc3339(self._moment), self._monotonic_ns, self._trusted)
        self.advance(self._step_ms)
        return stamp

    def advance(self, milliseconds: int) -> None:
        """Move the clock on."""
        self._moment += timedelta(milliseconds=milliseconds)
        self._monotonic_ns += milliseconds * 1_000_000

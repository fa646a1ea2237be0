"""Keys as the kernel tells of them: names, the device that has one, and its going up and down.

The layout is that of `struct input_event` in the kernel's <linux/input.h>, the codes those of
<linux/input-event-codes.h>: both are fixed for good, as programs depend on them.
"""

from __future__ import annotations

import os
import select
import struct
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from companion.errors import EarsError

_EVENT = struct.Struct("@llHHi")
"""Seconds, microseconds, type, code, value."""
_EV_KEY = 1
_UP, _DOWN = 0, 1
_BITS_OF_A_LONG = 8 * struct.calcsize("@l")
_LAST_CODE = 0x2FF
_SYSTEM_DEVICES = Path("/sys/class/input")

KEY_CODES = {
    "KEY_ENTER": 28,
    "KEY_B": 48,
    "KEY_SPACE": 57,
    "KEY_PAGEUP": 104,
    "KEY_PAGEDOWN": 109,
    "KEY_PLAYPAUSE": 164,
    **{f"KEY_F{13 + number}": 183 + number for number in range(12)},
    **{f"BTN_{number}": 0x100 + number for number in range(10)},
    "BTN_LEFT": 0x110,
    "BTN_RIGHT": 0x111,
    "BTN_TRIGGER": 0x120,
}
"""The keys that pedals and single buttons send; any other goes by its number."""


@dataclass(frozen=True)
class KeyChange:
    """The key went down or up, at a time in seconds of the kernel's clock."""

    at_s: float
    down: bool


def key_code(key: str) -> int:
    """The code of a key by its kernel name or number. Raises EarsError for any other text."""
    code = int(key) if key.isascii() and key.isdigit() else KEY_CODES.get(key.upper(), -1)
    if not 0 < code <= _LAST_CODE:
        known = ", ".join(KEY_CODES)
        raise EarsError(
            f"pedal: {key!r} is not a key; wanted a number of 1 to {_LAST_CODE}, or one of {known}",
            said="pedal-no-key",
            key=key,
            last=_LAST_CODE,
            known=known,
        )
    return code


def find_key_device(code: int, devices: Path = _SYSTEM_DEVICES) -> Path:
    """The first input device that has this key; raises EarsError naming those looked at."""
    looked_at = []
    for folder in sorted(devices.glob("event*"), key=lambda path: (len(path.name), path.name)):
        try:
            name = (folder / "device" / "name").read_text(encoding="utf-8", errors="replace")
            bits = (folder / "device" / "capabilities" / "key").read_text(encoding="ascii")
        except OSError:
            continue
        looked_at.append(f"{folder.name} ({name.strip()})")
        if _has(bits.split(), code):
            return Path("/dev/input") / folder.name
    seen = ", ".join(looked_at) or "-"
    raise EarsError(
        f"pedal: no input device has the key {code}; wanted: a pedal that is plugged in; "
        f"looked at: {seen}",
        said="pedal-not-there",
        key=code,
        seen=seen,
    )


def _has(words: list[str], code: int) -> bool:
    """Whether the bit of the code is set; the words of a long each, the highest first."""
    place, bit = divmod(code, _BITS_OF_A_LONG)
    return place < len(words) and bool(int(words[-1 - place], 16) >> bit & 1)


class KeyDevice:
    """One key of one input device. Raises EarsError when that cannot be opened."""

    def __init__(self, path: Path, code: int) -> None:
        self._path = path
        self._code = code
        self._rest = b""
        try:
            self._file = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        except OSError as error:
            raise EarsError(
                f"pedal: {path} cannot be opened ({error.strerror}); wanted: plugged in, and the "
                "right to read it (see docs/live.md)",
                said="pedal-not-opened",
                file=str(path),
                why=str(error.strerror),
            ) from error

    def next(self, timeout_s: float) -> KeyChange | None:
        """The key's next change; None when none came in time. Raises EarsError when it is gone."""
        until_s = time.monotonic() + timeout_s
        while True:
            for change in self._held_back():
                return change
            left_s = until_s - time.monotonic()
            if not select.select([self._file], [], [], max(0.0, left_s))[0]:
                return None
            self._rest += self._read()

    def _read(self) -> bytes:
        try:
            read = os.read(self._file, 64 * _EVENT.size)
        except BlockingIOError:
            return b""
        except OSError as error:
            raise self._gone() from error
        if not read:
            raise self._gone()
        return read

    def _gone(self) -> EarsError:
        told = f"pedal: {self._path} is gone; wanted: a pedal that is plugged in"
        return EarsError(told, said="pedal-gone", file=str(self._path))

    def _held_back(self) -> Iterable[KeyChange]:
        while len(self._rest) >= _EVENT.size:
            seconds, micro, kind, code, value = _EVENT.unpack_from(self._rest)
            self._rest = self._rest[_EVENT.size :]
            if kind == _EV_KEY and code == self._code and value in (_UP, _DOWN):
                yield KeyChange(seconds + micro / 1e6, value == _DOWN)

    def close(self) -> None:
        """Let go of the device."""
        os.close(self._file)

"""PortAudio for everybody in this program: loaded once, started again when devices changed.

PortAudio lists the devices when it starts and never again, so a microphone that was unplugged and
plugged in stays unknown to it. Starting it again ends every open stream; `generation` tells an
owner of one that this has happened.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from typing import Any, Literal

from companion.errors import CompanionError

_lock = threading.Lock()
_generation = 0


class NoPortAudio(CompanionError):
    """The library that speaks to sound cards is not installed."""


def portaudio() -> Any:
    """The sounddevice module. Raises NoPortAudio where PortAudio is not installed."""
    try:
        # Importing it starts PortAudio, which fails where its library is not installed.
        import sounddevice
    except OSError as error:
        raise NoPortAudio(f"PortAudio is not installed ({error})") from error
    return sounddevice


def why(error: Exception) -> str:
    """What the library says of a device, in words; it calls "no device at all" number -1."""
    told = str(error)
    return "there is no sound device" if "device -1" in told else told


def name_of(device: int | str | None, kind: Literal["input", "output"]) -> str:
    """The device's own name, as PortAudio has it; None: that of the system's own.

    Raises ValueError where there is none, or it cannot be told which of several is meant.
    """
    library = portaudio()
    try:
        return str(library.query_devices(device, kind)["name"])
    except library.PortAudioError as error:
        raise ValueError(str(error)) from error


def generation() -> int:
    """How often PortAudio was started again; streams of an earlier generation are dead."""
    return _generation


@contextlib.contextmanager
def playing() -> Iterator[None]:
    """While something is played the devices are not listed anew: it would end in the middle."""
    with _lock:
        yield


def start_again() -> None:
    """Look at the devices anew, once nothing is played; every open stream of this program ends.

    Raises NoPortAudio where the library does not start.
    """
    with _lock:
        _start_again()


def start_again_if_quiet() -> bool:
    """The same, if nothing is played just now; whether it was done."""
    if not _lock.acquire(blocking=False):
        return False
    try:
        _start_again()
    finally:
        _lock.release()
    return True


def _start_again() -> None:
    global _generation
    library = portaudio()
    # It may not have started the last time.
    with contextlib.suppress(library.PortAudioError):
        # The library offers no other way to have the devices listed anew.
        library._terminate()
    _generation += 1
    try:
        library._initialize()
    except library.PortAudioError as error:
        raise NoPortAudio(f"PortAudio does not start ({error})") from error

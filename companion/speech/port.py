"""What the voice offers to the rest of the program."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

DEFAULT_SPEED_WPM = 160
BRISK_PERCENT = 110
"""Of the usual speed, what is said briskly: the pace that was measured (docs/talk.md)."""
SLOWEST_WPM = 80
FASTEST_WPM = 300


@dataclass(frozen=True)
class Spoken:
    """What was said.

    `duration_s` is the length of the whole prompt and `finished` is False when it was hushed.
    `sound` is the rendered file, None if none was made. `maker` names who made it; `complaints`
    say which makers failed before it, and why.
    """

    duration_s: float
    sound: Path | None
    maker: str
    finished: bool = True
    complaints: tuple[str, ...] = ()


class Voice(Protocol):
    """The port: say one prompt, and come back when it has been said."""

    def prepare(self, texts: Iterable[str], speed: int = DEFAULT_SPEED_WPM) -> None:
        """Render prompts ahead of time, so that `say` starts at once."""
        ...

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        """Say `text` at `speed` words a minute and `volume` from 0 to 1.

        Raises `VoiceError` when no maker can render it or it cannot be played.
        """
        ...

    def hush(self) -> None:
        """Stop what is being said, at once; may be called from another thread."""
        ...

    def close(self) -> None:
        """Let go of device and files; harmless when called twice."""
        ...

"""What passes between player and ears while the companion speaks and listens at the same time."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from companion.facts.talking import IntoPrompt
from companion.recognition.samples import Samples


class BeingSaid(Protocol):
    """One thing that the companion says, as long as it sounds."""

    def sound(self) -> Samples | None:
        """What is played, 16 kHz mono, full scale 1.0; None until its first sample is played."""
        ...

    def open_after_s(self) -> float | None:
        """So much of it has to have sounded before it may be answered; None: all of it."""
        ...

    def is_over(self) -> bool:
        """Whether nothing of it is played any more."""
        ...

    def is_said_out(self) -> bool:
        """Whether it was said to its end; only once it is over."""
        ...

    def hush(self) -> None:
        """Fall silent at once."""
        ...


@dataclass(frozen=True)
class Begun:
    """The ears stay open: there is no deaf time and no tone.

    `into`: an answer began while the companion spoke, and goes on; `frames` is its sound so far,
    from shortly before its beginning, and the companion fell silent with the last of them. None:
    a prompt that may be answered into has ended and nobody has spoken yet.
    """

    frames: tuple[bytes, ...] = field(repr=False)
    into: IntoPrompt | None

"""Typed lines as an ear: the way without voice, through the same port."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable

from companion.ears.port import Heard, Listening, Refusal, SoundEnded, Utterance


class TypedEars:
    """Each line is one utterance with confidence 1; an empty line counts as silence.

    `lines` is anything that gives lines: an open text stream (the keyboard), or a list.
    A keyboard cannot be made to give up waiting, so `timeout_s` has no effect here.
    Raises `SoundEnded` when the lines are used up.
    """

    name = "typed"

    def __init__(
        self, lines: Iterable[str], seconds_now: Callable[[], float] = time.monotonic
    ) -> None:
        self._lines = iter(lines)
        self._seconds_now = seconds_now
        self._opened_s = seconds_now()

    def hear(self, listening: Listening) -> Heard:
        """The next line, in lower case and with single spaces."""
        start_s = self._seconds_now() - self._opened_s
        try:
            line = next(self._lines)
        except StopIteration:
            raise SoundEnded(
                f"typed text: no line is left for prompt {listening.prompt_id!r}"
            ) from None
        words = " ".join(line.lower().split())
        if not words:
            return Refusal("silence", "", b"", self.name, "an empty line was typed")
        end_s = self._seconds_now() - self._opened_s
        return Utterance(words, 1.0, start_s, end_s, (words,), b"", self.name)

    def close(self) -> None:
        """The stream belongs to whoever opened it."""

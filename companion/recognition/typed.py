"""Typed lines as an ear: the way without voice, through the same port."""

from __future__ import annotations

import contextlib
import queue
import threading
import time
from collections.abc import Callable, Iterable, Iterator

from companion.recognition.port import (
    Heard,
    Listening,
    SoundEnded,
    StepGrammarLike,
    in_words,
)

AsWords = Callable[[str, StepGrammarLike], str]
"""What was typed, as the words that would have been said under that grammar."""


class TypedEars:
    """Each line is one utterance with confidence 1; an empty line is no answer and is passed over.

    `lines` is anything that gives lines: an open text stream (the keyboard), or a list. `as_words`
    makes words of them; without it they are the words, in lower case.
    A keyboard cannot be made to give up waiting, so `timeout_s` has no effect here.
    Raises `SoundEnded` when the lines are used up.
    """

    name = "typed"

    def __init__(
        self,
        lines: Iterable[str],
        seconds_now: Callable[[], float] = time.monotonic,
        as_words: AsWords = lambda text, grammar: text.lower(),
    ) -> None:
        self._lines = iter(lines)
        self._as_words = as_words
        self._seconds_now = seconds_now
        self._opened_s = seconds_now()

    def hear(self, listening: Listening) -> Heard:
        """The next line with words in it, with single spaces."""
        start_s = self._seconds_now() - self._opened_s
        words = ""
        while not words:
            try:
                line = next(self._lines)
            except StopIteration:
                raise SoundEnded(
                    f"typed text: no line is left for prompt {listening.prompt_id!r}"
                ) from None
            words = " ".join(self._as_words(line, listening.grammar).split())
        end_s = self._seconds_now() - self._opened_s
        return in_words(words, listening.grammar, self.name, start_s, end_s)

    def close(self) -> None:
        """The stream belongs to the one that opened it."""


def with_signs_of_life(
    lines: Iterable[str], alive: Callable[[], None], every_s: float
) -> Iterator[str]:
    """The same lines; while one is waited for, `alive` is called every so many seconds.

    A thread reads, a line at a time and only when one is wanted, so that whatever marks the wait
    stands where it belongs; `alive` is called by the waiting thread, and so not when that hangs.
    """
    wanted: queue.SimpleQueue[None] = queue.SimpleQueue()
    read: queue.SimpleQueue[str | None] = queue.SimpleQueue()

    def collect() -> None:
        reading = iter(lines)
        while True:
            wanted.get()
            line = None
            # A terminal that is gone raises: no line will come any more.
            with contextlib.suppress(OSError, ValueError):
                line = next(reading, None)
            read.put(line)

    threading.Thread(target=collect, name="keyboard", daemon=True).start()

    def waited_for() -> str | None:
        wanted.put(None)
        while True:
            try:
                return read.get(timeout=every_s)
            except queue.Empty:
                alive()

    yield from iter(waited_for, None)

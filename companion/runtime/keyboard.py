"""What is typed while a job runs, a line at a time.

A line that a terminal sends twice in the same moment is one answer: nobody could have read what the
second would answer, and a "yes" or "done" to the next prompt is more than a slip of the key. From a
file or pipe every line is taken: no finger sends it.
"""

from __future__ import annotations

import contextlib
import queue
import sys
import threading
import time
from collections.abc import Iterable, Iterator

from companion.facts.message import Message
from companion.language.language import Language

DOUBLED_WITHIN_S = 0.5
Sent = tuple[str, float]
"""A line and when it came, in seconds of `time.monotonic`."""


def marked_lines(language: Language) -> Iterator[str]:
    """Lines of the keyboard, with a mark where one is wanted; of a file or pipe, as they are."""
    if not sys.stdin.isatty():
        # Read when it is wanted, and no line more: what runs behind may read on.
        yield from iter(sys.stdin.readline, "")
        return
    yield from _sent_once(_marked(_collected(), language), language)


def lines_as_they_come(language: Language) -> Iterator[str]:
    """Lines of the keyboard, to be read beside a voice."""
    if not sys.stdin.isatty():
        yield from sys.stdin
        return
    yield from _sent_once(_collected(), language)


def _sent_once(lines: Iterable[Sent], language: Language) -> Iterator[str]:
    """The lines less those that only repeat the last one at once, which is told."""
    last, last_s = "", 0.0
    for line, sent_s in lines:
        words = line.strip()
        is_second = bool(words) and words == last and sent_s - last_s < DOUBLED_WITHIN_S
        # A key that is held down sends many: each counts from the one before. Nobody has read what
        # comes next before this one was taken.
        last, last_s = words, max(sent_s, time.monotonic())
        if is_second:
            mark = language.show(Message("mark-note"))
            told = language.show(Message("typed-twice", {"words": words}))
            print(f"  {mark:6} {told}", flush=True)
        else:
            yield line


def _marked(lines: Iterable[Sent], language: Language) -> Iterator[Sent]:
    taken = iter(lines)
    while True:
        print(f"  {language.show(Message('mark-you')):6} ", end="", flush=True)
        sent = next(taken, None)
        if sent is None:
            return
        yield sent


def _collected() -> Iterator[Sent]:
    """The lines with the time at which they came, also while a prompt is spoken.

    A thread reads on behind a line that only says the last one again; another is waited with until
    it is taken, so that what runs behind the job finds its own lines.
    """
    lines: queue.Queue[Sent | None] = queue.Queue()

    def collect() -> None:
        last = ""
        # A terminal that is gone raises.
        with contextlib.suppress(OSError, ValueError):
            for line in sys.stdin:
                lines.put((line, time.monotonic()))
                if line != last:
                    lines.join()
                last = line
        lines.put(None)

    threading.Thread(target=collect, name="terminal", daemon=True).start()
    while (sent := lines.get()) is not None:
        lines.task_done()
        yield sent

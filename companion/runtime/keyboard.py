"""What is typed while a job runs, a line at a time.

A line that a terminal sends twice in the same moment is one answer: nobody could have read what the
second would answer, and a "yes" or "done" to the next prompt is more than a slip of the key. From a
file or pipe every line is taken: no finger sends it.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator

from companion.facts.message import Message
from companion.language.language import Language

DOUBLED_WITHIN_S = 0.5


def marked_lines(language: Language) -> Iterator[str]:
    """Lines of the keyboard, with a mark where one is wanted; of a file or pipe, as they are."""
    while True:
        if sys.stdin.isatty():
            print(f"  {language.show(Message('mark-you')):6} ", end="", flush=True)
        line = sys.stdin.readline()
        if not line:
            return
        yield line


def sent_once(lines: Iterable[str], language: Language) -> Iterator[str]:
    """The lines of a terminal less those that only repeat the last one at once, which is told."""
    if not sys.stdin.isatty():
        yield from lines
        return
    last, last_s = "", 0.0
    for line in lines:
        words, now_s = line.strip(), time.monotonic()
        is_second = bool(words) and words == last and now_s - last_s < DOUBLED_WITHIN_S
        # A key that is held down sends many: each counts from the one before.
        last, last_s = words, now_s
        if is_second:
            mark = language.show(Message("mark-note"))
            told = language.show(Message("typed-twice", {"words": words}))
            print(f"  {mark:6} {told}", flush=True)
        else:
            yield line

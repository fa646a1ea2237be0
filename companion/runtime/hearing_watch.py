"""Notices a recogniser that hangs: sound waits and nobody takes it."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable


class HearingWatch:
    """Calls `hung` once when the ears work for longer than `limit_s` without asking for sound.

    Between two frames the ears only think. `thinking` marks that they began to, `waiting` that they
    wait for sound or that nobody listens. The watching thread looks on and touches nothing.
    """

    def __init__(self, limit_s: float, hung: Callable[[], None]) -> None:
        self._limit_s = limit_s
        self._hung = hung
        self._since_s: float | None = None
        self._closed = threading.Event()
        self._thread = threading.Thread(target=self._look, name="hearing watch", daemon=True)
        self._thread.start()

    def thinking(self) -> None:
        """The ears have work."""
        self._since_s = time.monotonic()

    def waiting(self) -> None:
        """The ears wait for sound, or nobody listens."""
        self._since_s = None

    def close(self) -> None:
        """Stop looking."""
        self._closed.set()

    def _look(self) -> None:
        while not self._closed.wait(min(1.0, self._limit_s / 4)):
            since_s = self._since_s
            if since_s is not None and time.monotonic() - since_s > self._limit_s:
                self._hung()
                return

"""Renders prompts in the background, so that speech starts at once when they are said."""

from __future__ import annotations

import threading
from collections.abc import Iterable

from companion.errors import VoiceError
from companion.speech.port import Voice


class AheadOfTime:
    """Prepares texts one by one in a thread of its own, until done or closed.

    `texts`: each with its speed in words a minute.

    It stops at the first text that cannot be rendered: what is wrong is told when it is said.
    """

    def __init__(self, voice: Voice, texts: Iterable[tuple[str, int]]) -> None:
        self._closed = threading.Event()
        self._thread = threading.Thread(
            target=self._prepare, args=(voice, tuple(texts)), name="ahead", daemon=True
        )
        self._thread.start()

    def _prepare(self, voice: Voice, texts: tuple[tuple[str, int], ...]) -> None:
        for text, speed_wpm in texts:
            if self._closed.is_set():
                return
            try:
                voice.prepare([text], speed_wpm)
            except VoiceError:
                return

    def wait(self, timeout_s: float) -> bool:
        """Whether everything was prepared, or given up, within this time."""
        self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def close(self) -> None:
        """Prepare nothing more; comes back when the one under way is done."""
        self._closed.set()
        self._thread.join()

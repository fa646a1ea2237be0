"""A pedal, or any one button that the kernel calls a key: a hand-free yes, no and stop.

One press says the yes of the open prompt ("yes" to a read-back, "done", "continue"), two presses
within half a second say "no", or else "repeat"; held for a second it says "stop". What it says goes
through the strict parser as words do, and a press that the prompt has no use for is no answer.
While the companion speaks a press only interrupts it.
"""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable
from typing import Literal, Protocol

from companion.errors import EarsError
from companion.recognition.keys import KeyChange

Press = Literal["once", "twice", "held"]
HELD_S = 1.0
BETWEEN_S = 0.5
_LOOK_S = 0.25
WORDS: dict[Press, tuple[str, ...]] = {
    "once": ("yes", "done", "continue"),
    "twice": ("no", "repeat"),
    "held": ("stop",),
}
"""What a press may mean in English, the first that the open prompt takes."""


class Key(Protocol):
    """Where the changes of the one key come from."""

    def next(self, timeout_s: float) -> KeyChange | None:
        """The next change; None when none came within `timeout_s`. Raises EarsError when gone."""
        ...

    def close(self) -> None:
        """Let go of the device."""
        ...


class Pedal:
    """Collects presses in a thread of its own.

    `interrupt` is called as the key goes down; it stops what is being said and tells whether
    anything was, in which case the press is no answer. `open_key` is called again every few seconds
    after the device went away. Raises EarsError when it is not there at the start.
    """

    def __init__(
        self,
        open_key: Callable[[], Key],
        interrupt: Callable[[], bool],
        try_again_s: float = 3.0,
    ) -> None:
        self._open_key = open_key
        self._interrupt = interrupt
        self._try_again_s = try_again_s
        self._presses: queue.SimpleQueue[Press] = queue.SimpleQueue()
        self._prompts = 0
        self._closed = threading.Event()
        self._key: Key | None = open_key()
        self._thread = threading.Thread(target=self._collect, name="pedal", daemon=True)
        self._thread.start()

    def waiting(self) -> bool:
        """Whether a press has not been taken yet."""
        return not self._presses.empty()

    def take(self) -> Press:
        """The oldest press; only after `waiting` said so."""
        return self._presses.get_nowait()

    def forget(self) -> None:
        """Another prompt is open now: presses begun before count for nothing."""
        self._prompts += 1
        while not self._presses.empty():
            self._presses.get_nowait()

    def close(self) -> None:
        """Let go of the device."""
        self._closed.set()
        self._thread.join()

    def _collect(self) -> None:
        while not self._closed.is_set():
            try:
                self._key = self._key or self._open_key()
                if (change := self._key.next(_LOOK_S)) and change.down:
                    self._pressed(self._key, change)
            except EarsError:
                self._let_go()
                self._closed.wait(self._try_again_s)
        self._let_go()

    def _pressed(self, key: Key, down: KeyChange) -> None:
        begun_under = self._prompts
        interrupts = self._interrupt()
        press = self._kind(key, down)
        if not interrupts and press is not None and begun_under == self._prompts:
            self._presses.put(press)

    def _kind(self, key: Key, down: KeyChange) -> Press | None:
        """Wait for the rest of the press; None when the pedal was closed meanwhile."""
        up = self._change_to(key, HELD_S, down=False)
        if up is None or up.at_s - down.at_s >= HELD_S:
            return None if self._closed.is_set() else "held"
        if self._change_to(key, BETWEEN_S, down=True) is None:
            return "once"
        return "twice"

    def _change_to(self, key: Key, within_s: float, *, down: bool) -> KeyChange | None:
        until_s = time.monotonic() + within_s
        while (left_s := until_s - time.monotonic()) > 0 and not self._closed.is_set():
            change = key.next(min(_LOOK_S, left_s))
            if change is not None and change.down == down:
                return change
        return None

    def _let_go(self) -> None:
        if self._key is not None:
            self._key.close()
            self._key = None

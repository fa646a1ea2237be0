"""A record that waits for room: a full disk stops the talk, and loses nothing of it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from typing import TypeVar

from companion.errors import DiskFull
from companion.facts.kinds import Fact
from companion.facts.message import Message, Tell
from companion.record.port import Clips, Log, StoredEvent
from companion.record.rfc3339 import parse_rfc3339

Kept = TypeVar("Kept")
LONGEST_WAIT_S = 600.0
_TRY_AGAIN_S = 1.0
_JUMP_S = 5.0


class Patience:
    """Tries again while the disk is full, up to `longest_s`; then the error goes its way.

    `tell` hears once that room is wanted and once that work goes on; `alive` is called at each
    trial, for a service manager that would take waiting for hanging.
    """

    def __init__(
        self,
        tell: Tell,
        alive: Callable[[], None] = lambda: None,
        longest_s: float = LONGEST_WAIT_S,
    ) -> None:
        self._tell = tell
        self._alive = alive
        self._longest_s = longest_s

    def until_there_is_room(self, keep: Callable[[], Kept]) -> Kept:
        """What `keep` gives, as soon as it can. Raises DiskFull after the longest wait."""
        until_s = time.monotonic() + self._longest_s
        told = False
        while True:
            try:
                kept = keep()
            except DiskFull:
                if not told:
                    self._tell(Message("live-disk-full"))
                    told = True
                if time.monotonic() >= until_s:
                    raise
                self._alive()
                time.sleep(_TRY_AGAIN_S)
                continue
            if told:
                self._tell(Message("live-disk-has-room"))
            return kept


class WaitingLog:
    """A log that waits for room, and says when the computer's clock has jumped.

    Every event carries both the date and a clock that never steps, so a jump of the date by more
    than a few seconds shows; nothing hangs on the date but what people read.
    """

    def __init__(self, log: Log, patience: Patience, tell: Tell) -> None:
        self._log = log
        self._patience = patience
        self._tell = tell
        self._offset_s: float | None = None

    def append(self, facts: Sequence[Fact]) -> tuple[StoredEvent, ...]:
        """See `Log.append`; DiskFull only after a long wait."""
        stored = self._patience.until_there_is_room(lambda: self._log.append(facts))
        if stored:
            self._compare_clocks(stored[-1])
        return stored

    def _compare_clocks(self, event: StoredEvent) -> None:
        offset_s = parse_rfc3339(event.at_utc).timestamp() - event.monotonic_ns / 1e9
        jump_s = offset_s - (offset_s if self._offset_s is None else self._offset_s)
        self._offset_s = offset_s
        if abs(jump_s) > _JUMP_S:
            way = "forward" if jump_s > 0 else "back"
            self._tell(Message(f"live-clock-{way}", {"seconds": round(abs(jump_s))}))

    def events(self, session_id: str) -> Iterator[StoredEvent]:
        """See `Log.events`."""
        return self._log.events(session_id)


class WaitingClips:
    """A clip store that waits for room."""

    def __init__(self, clips: Clips, patience: Patience) -> None:
        self._clips = clips
        self._patience = patience

    def put(self, sound: bytes) -> str:
        """See `ClipStore.put`; DiskFull only after a long wait."""
        return self._patience.until_there_is_room(lambda: self._clips.put(sound))

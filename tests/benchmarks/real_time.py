"""Sound that arrives as fast as in a bay, without waiting for it: how late is a decision?"""

from __future__ import annotations

import time
from collections.abc import Iterator

from companion.recognition.port import FRAME_S
from companion.recognition.source import cut_into_frames


class TimedSource:
    """A `SoundSource` with a clock: when would its hearer be where it is, had the sound been live?

    A frame cannot be taken before it has been said, nor before the hearer is done with those
    before it; the time that the hearer spends is measured, the time that passes in the bay is
    counted. So a decision's delay holds both the pause that is waited for and all arithmetic,
    whenever it is done. `given_s`: how much sound was taken.
    """

    def __init__(self, sound: bytes) -> None:
        self._sound = sound
        self.given_s = 0.0
        self._reached_s = 0.0
        self._since = time.perf_counter()

    def frames(self) -> Iterator[bytes]:
        """The sound, frame by frame."""
        self._since = time.perf_counter()
        for number, frame in enumerate(cut_into_frames(self._sound)):
            said_s = self.given_s = (number + 1) * FRAME_S
            self._reached_s = max(self.clock_s(), said_s)
            self._since = time.perf_counter()
            yield frame

    def clock_s(self) -> float:
        """Seconds since the sound began, had it been live."""
        return self._reached_s + time.perf_counter() - self._since

    def flush(self, *, deaf: bool = True) -> None:
        """Nothing waits: the next frame is read when it is asked for."""

    def close(self) -> None:
        """Nothing to let go of."""

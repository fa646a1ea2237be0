"""A sink that lets others know what it is playing."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field

from companion.speech.player import Samples, SoundSink


@dataclass(frozen=True)
class Playing:
    """Samples of shape (n,) that are being played, full scale 1.0, and their rate."""

    samples: Samples = field(repr=False)
    rate_hz: int

    @property
    def whole_s(self) -> float:
        """How long all of it lasts."""
        return len(self.samples) / self.rate_hz


class TappedSink:
    """Passes everything on to another sink; what it plays may be asked from another thread."""

    def __init__(self, sink: SoundSink) -> None:
        self._sink = sink
        self._playing: dict[int, Playing] = {}

    def playing(self, thread: int | None) -> Playing | None:
        """What this thread has it play now: another may speak, too, of a device that is gone."""
        return None if thread is None else self._playing.get(thread)

    def play(self, samples: Samples, rate_hz: int) -> bool:
        """See `SoundSink.play`."""
        thread = threading.get_ident()
        self._playing[thread] = Playing(samples, rate_hz)
        try:
            return self._sink.play(samples, rate_hz)
        finally:
            del self._playing[thread]

    def hush(self) -> None:
        """See `SoundSink.hush`."""
        self._sink.hush()

    def close(self) -> None:
        """See `SoundSink.close`."""
        self._sink.close()

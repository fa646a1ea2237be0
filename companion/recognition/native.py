"""Sound as a device gives it, at its own rate and with its own channels, made into our frames."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import soxr

from companion.recognition.port import FRAME_BYTES, SAMPLE_RATE_HZ

_FULL_SCALE = 32768.0


class ToOwnFormat:
    """Makes 16 kHz mono frames of s16le sound of any rate and number of channels.

    Channels are averaged. What does not fill a frame waits for the next piece, and so do the few
    milliseconds that the resampler looks ahead.
    """

    def __init__(self, rate_hz: int, channels: int) -> None:
        self._channels = channels
        self._resampler = soxr.ResampleStream(rate_hz, SAMPLE_RATE_HZ, 1, dtype="float32")
        self._rest = b""

    def frames(self, sound: bytes) -> Iterator[bytes]:
        """The frames that this next piece fills."""
        each = np.frombuffer(sound, "<i2").reshape(-1, self._channels)
        mono = each.mean(axis=1, dtype=np.float32) / np.float32(_FULL_SCALE)
        made = self._resampler.resample_chunk(mono)
        samples = np.clip(np.rint(made * _FULL_SCALE), -_FULL_SCALE, _FULL_SCALE - 1)
        self._rest += samples.astype("<i2").tobytes()
        while len(self._rest) >= FRAME_BYTES:
            frame, self._rest = self._rest[:FRAME_BYTES], self._rest[FRAME_BYTES:]
            yield frame

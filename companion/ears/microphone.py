"""Sound from a microphone.

The sound card's callback only copies into a bounded queue: anything slower there loses sound.
"""

from __future__ import annotations

import queue
from collections.abc import Iterator
from typing import Any

from companion.ears.port import FRAME_BYTES, SAMPLE_RATE_HZ
from companion.errors import EarsError

_SOUND_LOST = b""
_HELD_FRAMES = 700
"""About 21 s of sound: longer than any utterance, short enough to bound the memory."""


class MicrophoneSource:
    """Frames from a sound card that records 16 kHz mono.

    `device`: a PortAudio device number or part of its name; None for the system's own choice.
    An overflow, in the card or in the queue, is handed on as an empty frame, which spoils the
    utterance it falls into. Raises `EarsError` when there is no such device, and from `frames`
    when the device falls silent for `heartbeat_s`.
    """

    def __init__(self, device: int | str | None = None, heartbeat_s: float = 2.0) -> None:
        self._frames: queue.Queue[bytes] = queue.Queue(maxsize=_HELD_FRAMES)
        self._heartbeat_s = heartbeat_s
        self._lost = False
        self._closed = False
        self._stream = self._open(device)

    def _open(self, device: int | str | None) -> Any:
        try:
            # Importing it starts PortAudio, which fails where its library is not installed.
            import sounddevice
        except OSError as error:
            raise EarsError(f"microphone: PortAudio is not installed ({error})") from error
        try:
            stream = sounddevice.RawInputStream(
                samplerate=SAMPLE_RATE_HZ,
                blocksize=FRAME_BYTES // 2,
                device=device,
                channels=1,
                dtype="int16",
                callback=self._copy,
            )
            stream.start()
        except (sounddevice.PortAudioError, ValueError) as error:
            wanted = "the system's own" if device is None else repr(device)
            raise EarsError(
                f"microphone: device {wanted} cannot record 16 kHz mono ({error}); "
                "wanted a connected microphone"
            ) from error
        return stream

    def _copy(self, sound: Any, frame_count: int, times: Any, status: Any) -> None:
        if status and status.input_overflow:
            self._lost = True
        try:
            if self._lost:
                self._frames.put_nowait(_SOUND_LOST)
                self._lost = False
            self._frames.put_nowait(bytes(sound))
        except queue.Full:
            self._lost = True

    def frames(self) -> Iterator[bytes]:
        """Frames as they are recorded, until the source is closed."""
        while not self._closed:
            try:
                yield self._frames.get(timeout=self._heartbeat_s)
            except queue.Empty:
                if self._closed:
                    return
                raise EarsError(
                    f"microphone: no sound came for {self._heartbeat_s:.0f} s; "
                    "wanted the microphone connected and switched on"
                ) from None

    def flush(self) -> None:
        """Forget what was recorded and not yet used."""
        while True:
            try:
                self._frames.get_nowait()
            except queue.Empty:
                return

    def close(self) -> None:
        """Stop recording and let go of the device."""
        if not self._closed:
            self._closed = True
            self._stream.close()

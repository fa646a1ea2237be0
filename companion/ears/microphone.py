"""Sound from a microphone.

The sound card's callback only copies into a bounded queue: anything slower there loses sound.
"""

from __future__ import annotations

import queue
from collections.abc import Iterator
from typing import Any

from companion.ears.port import FRAME_BYTES, SAMPLE_RATE_HZ
from companion.errors import EarsError

SOUND_LOST = b""
_HELD_FRAMES = 700
"""About 21 s of sound: longer than any utterance, short enough to bound the memory."""


class FrameQueue:
    """Between the sound card's thread and the listening one: bounded, and honest about losses.

    A loss is handed on as an empty frame at the place where sound is missing.
    """

    def __init__(self, held_frames: int = _HELD_FRAMES) -> None:
        self._frames: queue.Queue[bytes] = queue.Queue(maxsize=held_frames)
        self._lost = False

    def put(self, frame: bytes, lost_before: bool = False) -> None:
        """Add a frame without ever waiting; a full queue loses it."""
        self._lost = self._lost or lost_before
        try:
            if self._lost:
                self._frames.put_nowait(SOUND_LOST)
                self._lost = False
            self._frames.put_nowait(frame)
        except queue.Full:
            self._lost = True

    def get(self, timeout_s: float) -> bytes | None:
        """The oldest frame; None if none came within `timeout_s`."""
        try:
            return self._frames.get(timeout=timeout_s)
        except queue.Empty:
            return None

    def clear(self) -> None:
        """Forget what is held."""
        while True:
            try:
                self._frames.get_nowait()
            except queue.Empty:
                return


class MicrophoneSource:
    """Frames from a sound card that records 16 kHz mono.

    `device`: a PortAudio device number or part of its name; None for the system's own choice.
    An overflow, in the card or in the queue, is handed on as an empty frame, which spoils the
    utterance it falls into. Raises `EarsError` when there is no such device, and from `frames`
    when the device falls silent for `heartbeat_s`.
    """

    def __init__(self, device: int | str | None = None, heartbeat_s: float = 2.0) -> None:
        self._queue = FrameQueue()
        self._heartbeat_s = heartbeat_s
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
        self._queue.put(bytes(sound), lost_before=bool(status and status.input_overflow))

    def frames(self) -> Iterator[bytes]:
        """Frames as they are recorded, until the source is closed."""
        while not self._closed:
            frame = self._queue.get(self._heartbeat_s)
            if frame is not None:
                yield frame
            elif not self._closed:
                raise EarsError(
                    f"microphone: no sound came for {self._heartbeat_s:.0f} s; "
                    "wanted the microphone connected and switched on"
                )

    def flush(self) -> None:
        """Forget what was recorded and not yet used."""
        self._queue.clear()

    def close(self) -> None:
        """Stop recording and let go of the device."""
        if not self._closed:
            self._closed = True
            self._stream.close()

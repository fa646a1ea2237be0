"""Sound from a microphone, which may be unplugged and come back.

The sound card's callback only copies into a bounded queue: anything slower there loses sound.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Iterator
from typing import Any

from companion.base import sound_cards
from companion.errors import EarsError
from companion.facts.message import Message, Tell
from companion.recognition.native import ToOwnFormat
from companion.recognition.port import FRAME_BYTES, FRAME_S, SAMPLE_RATE_HZ

SOUND_LOST = b""
_HELD_FRAMES = 700
"""About 21 s of sound: longer than any utterance, short enough to bound the memory."""
_SILENCE = bytes(FRAME_BYTES)
_TRY_AGAIN_S = 1.0
_MOST_CHANNELS = 2
"""A device with many is a virtual one or a mixer; speech stands on the first two."""


class MicrophoneError(EarsError):
    """The microphone is not there; another look at the devices may help."""


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
    """Frames of 16 kHz mono from a sound card.

    A card that records nothing but another rate or more channels is opened as it is, and its sound
    is converted as it is read.

    `device`: a PortAudio device number or part of its name, which survives replugging; None for
    the system's own choice. `deaf_s`: so much sound is thrown away after each `flush`, so that the
    last of what the companion said is not heard. An overflow, in the card or in the queue, is
    handed on as an empty frame, which spoils the utterance it falls into.

    When no sound comes for `heartbeat_s` the microphone counts as gone: that is told once, one
    empty frame follows, and then silence, while the device is looked for every second. Raises
    `MicrophoneError` when there is no such device at the start.
    """

    def __init__(
        self,
        device: int | str | None = None,
        heartbeat_s: float = 2.0,
        deaf_s: float = 0.0,
        tell: Tell = lambda message: None,
    ) -> None:
        self._device = device
        self._queue = FrameQueue()
        self._heartbeat_s = heartbeat_s
        self._deaf_frames = round(deaf_s / FRAME_S)
        self._skip = 0
        self._format: tuple[int, int] | None = None
        self._converter: ToOwnFormat | None = None
        self._tell = tell
        self._closed = False
        self.gone = False
        self._stream: Any = self._open()

    def _open(self) -> Any:
        try:
            library = sound_cards.portaudio()
        except sound_cards.NoPortAudio as error:
            raise EarsError(
                f"microphone: {error}", said="microphone-no-portaudio", why=str(error)
            ) from error
        self._generation = sound_cards.generation()
        self._format = None
        try:
            try:
                return self._stream_of(library, SAMPLE_RATE_HZ, 1)
            except library.PortAudioError:
                rate_hz, channels = self._own_format(library)
                stream = self._stream_of(library, rate_hz, channels)
        except (library.PortAudioError, ValueError) as error:
            name, why = self._named(), sound_cards.why(error)
            raise MicrophoneError(
                f"microphone ({name}): can record neither 16 kHz mono nor what it names as "
                f"its own ({why}); wanted a connected microphone",
                said="microphone-not-there",
                name=name,
                why=why,
            ) from error
        self._format = (rate_hz, channels)
        self._convert()
        return stream

    def _stream_of(self, library: Any, rate_hz: int, channels: int) -> Any:
        stream = library.RawInputStream(
            samplerate=rate_hz,
            blocksize=round(rate_hz * FRAME_S),
            device=self._device,
            channels=channels,
            dtype="int16",
            callback=self._copy,
        )
        try:
            stream.start()
        except library.PortAudioError:
            stream.close(ignore_errors=True)
            raise
        return stream

    def _own_format(self, library: Any) -> tuple[int, int]:
        """The rate and the channels that the device has by itself."""
        named = library.query_devices(self._device, "input")
        return int(named["default_samplerate"]), min(named["max_input_channels"], _MOST_CHANNELS)

    def _convert(self) -> None:
        """Convert from here on; what a converter holds of older sound goes."""
        self._converter = ToOwnFormat(*self._format) if self._format is not None else None

    def _as_own(self, sound: bytes) -> Iterator[bytes]:
        if self._converter is None or not sound:
            yield sound
        else:
            yield from self._converter.frames(sound)

    def _named(self) -> str:
        return "default" if self._device is None else str(self._device)

    def _copy(self, sound: Any, frame_count: int, times: Any, status: Any) -> None:
        self._queue.put(bytes(sound), lost_before=bool(status and status.input_overflow))

    def frames(self) -> Iterator[bytes]:
        """Frames as they are recorded, until the source is closed."""
        while not self._closed:
            if self._generation != sound_cards.generation():
                # Somebody had the devices listed anew, which ended this stream.
                self._come_back()
            frame = self._queue.get(self._heartbeat_s)
            if frame is None:
                if not self._closed:
                    yield from self._without_microphone()
                continue
            for own in self._as_own(frame):
                if self._skip:
                    self._skip -= 1
                else:
                    yield own

    def _without_microphone(self) -> Iterator[bytes]:
        """The loss, then silence at the pace of sound, until the device is there again."""
        self.gone = True
        self._tell(Message("live-microphone-gone", {"name": self._named()}))
        yield SOUND_LOST
        tried_s = time.monotonic()
        while not self._closed:
            time.sleep(FRAME_S)
            yield _SILENCE
            if time.monotonic() - tried_s >= _TRY_AGAIN_S:
                if self._come_back():
                    self.gone = False
                    self._tell(Message("live-microphone-back"))
                    self.flush()
                    return
                tried_s = time.monotonic()

    def _come_back(self) -> bool:
        """Open the device again, with the devices listed anew; whether sound comes."""
        self._let_go()
        try:
            is_known = self._generation == sound_cards.generation()
            # A prompt that is being said is said to its end; it is tried again in a moment.
            if is_known and not sound_cards.start_again_if_quiet():
                return False
            self._stream = self._open()
        except (EarsError, sound_cards.NoPortAudio):
            return False
        first = self._queue.get(_TRY_AGAIN_S)
        return first is not None

    def _let_go(self) -> None:
        if self._stream is not None and self._generation == sound_cards.generation():
            self._stream.close(ignore_errors=True)
        self._stream = None

    def flush(self, *, deaf: bool = True) -> None:
        """See `SoundSource.flush`."""
        self._queue.clear()
        self._convert()
        self._skip = self._deaf_frames if deaf else 0

    def close(self) -> None:
        """Stop recording and let go of the device."""
        if not self._closed:
            self._closed = True
            self._let_go()

"""Finding one utterance in a stream of frames: where speech begins, ends, or goes wrong.

The voice detector of the `pocketsphinx` package judges single frames. The judgement over several
frames is made here, because the one in that package wants most of a window as long as the pause
to be speech before it starts, which misses a short "up" or "yes".
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field

from pocketsphinx import Vad

from companion.recognition.level import frame_levels_dbfs, measure_levels
from companion.recognition.port import (
    FRAME_BYTES,
    FRAME_S,
    SAMPLE_RATE_HZ,
    Levels,
    RefusalReason,
    SoundEnded,
)

_LONGEST_FALSE_START_S = 1.2
_SETTLING_FRAMES = 8
"""At the start of a stream the detector takes any noise for speech. Nothing is missed: less than
the lead-in, which is kept."""
_STEADY_DB = 4.0
"""Speech rises and falls by more than this; a machine that runs on does not."""


@dataclass(frozen=True)
class EndpointSettings:
    """When speech counts as begun, ended or spoiled.

    `vad_strictness`: 0 (takes much for speech) to 3. Speech begins once `start_frames` of the
    last `start_window` frames are speech, and ends after `end_pause_s` in which no more than one
    frame is. A frame below `least_speech_dbfs` is never speech. `lead_in_s` of sound before the
    beginning is kept. Longer than `longest_s` is too long. The levels are chosen by trial, to
    be set to the bay and its microphone by the shop.
    """

    vad_strictness: int = 3
    start_frames: int = 3
    start_window: int = 5
    end_pause_s: float = 0.45
    lead_in_s: float = 0.3
    longest_s: float = 10.0
    least_speech_dbfs: float = -50.0
    loudest_background_dbfs: float = -20.0
    least_above_background_db: float = 12.0
    most_clipped_share: float = 0.001


@dataclass(frozen=True)
class Speech:
    """One utterance, cut out; times in seconds from the start of the stream."""

    sound: bytes = field(repr=False)
    start_s: float
    end_s: float
    levels: Levels


@dataclass(frozen=True)
class NoSpeech:
    """No utterance that could be recognised, and why."""

    reason: RefusalReason
    sound: bytes = field(repr=False)
    detail: str


class Endpointer:
    """Cuts utterances out of one stream of frames; one `next_utterance` per turn."""

    def __init__(self, frames: Iterator[bytes], settings: EndpointSettings | None = None) -> None:
        self._frames = frames
        self._settings = settings or EndpointSettings()
        self._vad = Vad(self._settings.vad_strictness, SAMPLE_RATE_HZ, FRAME_S)
        self._frames_read = 0

    def next_utterance(self, timeout_s: float) -> Speech | NoSpeech:
        """The next utterance.

        `timeout_s` of sound without a beginning is silence. Raises `SoundEnded` if the stream
        had already ended before a first frame.
        """
        settings = self._settings
        lead_in: deque[bytes] = deque(maxlen=_frame_count(settings.lead_in_s))
        recent: deque[bool] = deque(maxlen=settings.start_window)
        first_frame = self._frames_read
        while self._frames_read - first_frame < max(1, _frame_count(timeout_s)):
            frame = self._read()
            if frame is None:
                if self._frames_read == first_frame:
                    raise SoundEnded("the sound source has no more sound")
                return NoSpeech("silence", b"".join(lead_in), "the sound ended without speech")
            if not frame:
                return _sound_lost(b"".join(lead_in))
            lead_in.append(frame)
            recent.append(self._is_speech(frame))
            if sum(recent) < settings.start_frames:
                continue
            found = self._until_the_end(list(lead_in))
            if not _is_false_start(found):
                return found
            recent.clear()
        return NoSpeech("silence", b"".join(lead_in), f"no speech began within {timeout_s:.1f} s")

    def _is_speech(self, frame: bytes) -> bool:
        if self._frames_read <= _SETTLING_FRAMES:
            # Asked all the same: this is how the detector gets to know the room.
            self._vad.is_speech(frame)
            return False
        if frame_levels_dbfs(frame)[0] < self._settings.least_speech_dbfs:
            return False
        return bool(self._vad.is_speech(frame))

    def _read(self) -> bytes | None:
        frame = next(self._frames, None)
        if frame is not None:
            self._frames_read += 1
        return frame

    def _until_the_end(self, utterance: list[bytes]) -> Speech | NoSpeech:
        settings = self._settings
        start_s = (self._frames_read - len(utterance)) * FRAME_S
        pause: deque[bool] = deque([True], maxlen=_frame_count(settings.end_pause_s))
        while True:
            if len(utterance) > _frame_count(settings.longest_s):
                return self._too_long(b"".join(utterance))
            frame = self._read()
            if frame is None:
                break
            if not frame:
                return _sound_lost(b"".join(utterance))
            utterance.append(frame)
            pause.append(self._is_speech(frame))
            if len(pause) == pause.maxlen and sum(pause) <= 1:
                break
        return self._judged(b"".join(utterance), start_s)

    def _judged(self, sound: bytes, start_s: float) -> Speech | NoSpeech:
        settings = self._settings
        levels = measure_levels(sound)
        if levels.clipped_share > settings.most_clipped_share:
            return NoSpeech(
                "clipped",
                sound,
                f"{100 * levels.clipped_share:.1f} % of the sound is cut off at full scale; "
                f"wanted at most {100 * settings.most_clipped_share:.1f} %",
            )
        if levels.background_dbfs > settings.loudest_background_dbfs:
            return NoSpeech(
                "too_loud",
                sound,
                f"the background is at {levels.background_dbfs:.0f} dBFS; "
                f"wanted {settings.loudest_background_dbfs:.0f} dBFS or less",
            )
        if levels.speech_above_background_db < settings.least_above_background_db:
            return NoSpeech(
                "too_loud",
                sound,
                f"speech stands {levels.speech_above_background_db:.0f} dB above the background; "
                f"wanted {settings.least_above_background_db:.0f} dB or more",
            )
        return Speech(sound, start_s, self._frames_read * FRAME_S, levels)

    def _too_long(self, sound: bytes) -> NoSpeech:
        """Speech without end: a talker, or a noise that the detector takes for speech."""
        settings = self._settings
        levels = frame_levels_dbfs(sound)
        spread_db = measure_levels(sound).speech_above_background_db
        if spread_db < _STEADY_DB:
            return NoSpeech(
                "too_loud", sound, f"a steady noise at {levels.mean():.0f} dBFS that never pauses"
            )
        return NoSpeech(
            "too_long", sound, f"speech went on for more than {settings.longest_s:.0f} s"
        )


def _is_false_start(found: Speech | NoSpeech) -> bool:
    """A short stretch no louder than its surroundings: the detector had to get used to a noise."""
    return (
        isinstance(found, NoSpeech)
        and found.reason == "too_loud"
        and len(found.sound) < _frame_count(_LONGEST_FALSE_START_S) * FRAME_BYTES
        and measure_levels(found.sound).speech_above_background_db < _STEADY_DB
    )


def _sound_lost(sound: bytes) -> NoSpeech:
    return NoSpeech("sound_lost", sound, "sound was lost between microphone and program")


def _frame_count(seconds: float) -> int:
    return round(seconds / FRAME_S)

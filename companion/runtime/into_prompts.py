"""Speaking and listening at the same time: the voice speaks in a thread of its own meanwhile."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from typing import Protocol

import soxr

from companion.dialogue.effects import Pace, Say
from companion.errors import VoiceError
from companion.recognition.into import BeingSaid
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.recognition.samples import Samples
from companion.speech.port import BRISK_PERCENT, DEFAULT_SPEED_WPM, Spoken, Voice
from companion.speech.tapped import Playing, TappedSink

LEAST_SOUNDED_S = 0.6
"""Nothing is an answer that begins earlier, whatever the words are."""


Lasts = Callable[[str, int], float]


class SpeaksMeanwhile(Protocol):
    """The port: say something while somebody else listens to it and into it."""

    def saying(self, say: Say) -> AbstractContextManager[BeingSaid]:
        """It is being said; at the end of the block nothing of it sounds any more."""
        ...


class SpeaksInThread:
    """`SpeaksMeanwhile` with the voice of a live job.

    `tap` is the sink that it speaks into; `seconds`: how long a text lasts, said by itself at a
    speed in words a minute. `brisk_percent`: how fast a brisk pace is, of the other.
    """

    def __init__(
        self, voice: Voice, tap: TappedSink, seconds: Lasts, brisk_percent: int = BRISK_PERCENT
    ) -> None:
        self._voice = voice
        self._tap = tap
        self._seconds = seconds
        self._brisk_percent = brisk_percent

    @contextmanager
    def saying(self, say: Say) -> Iterator[BeingSaid]:
        """See `SpeaksMeanwhile.saying`."""
        speed_wpm = speed_of(say, self._brisk_percent)
        with speaking(self._voice, self._tap, say.text, speed_wpm, say.volume) as aside:
            yield _Saying(aside, self._seconds, say, speed_wpm)


class Speaking:
    """Something that is being said in a thread of its own, through a tap."""

    def __init__(self, voice: Voice, tap: TappedSink, say: Callable[[], Spoken]) -> None:
        self._voice = voice
        self._tap = tap
        self._say = say
        self._spoken: Spoken | None = None
        self._failed: BaseException | None = None
        self._sound: Samples | None = None
        self.playing: Playing | None = None
        self._thread = threading.Thread(target=self._speak, name="speaking", daemon=True)
        self._thread.start()

    def _speak(self) -> None:
        try:
            self._spoken = self._say()
        except BaseException as error:
            self._failed = error

    def sound(self) -> Samples | None:
        """What is played, 16 kHz; None until its first sample is. `playing`: as it is played."""
        if self._sound is None:
            self.playing = self._tap.playing(self._thread.ident)
            self._sound = as_heard(self.playing) if self.playing is not None else None
        return self._sound

    def is_over(self) -> bool:
        """Whether nothing of it is played any more."""
        return not self._thread.is_alive()

    def is_said_out(self) -> bool:
        """Whether it was said to its end."""
        return self._spoken is not None and self._spoken.finished

    def hush(self) -> None:
        """Fall silent at once."""
        self._voice.hush()

    def wait(self) -> None:
        """Until nothing of it sounds; raises what the voice raised."""
        self._thread.join()
        if self._failed is not None:
            raise self._failed


@contextmanager
def speaking(
    voice: Voice, tap: TappedSink, text: str, speed_wpm: int, volume: float
) -> Iterator[Speaking]:
    """It is being said in a thread of its own; at the end of the block nothing of it sounds.

    Then it raises what the voice raised.
    """
    aside = Speaking(voice, tap, lambda: voice.say(text, speed_wpm, volume))
    try:
        yield aside
    except BaseException:
        aside.hush()
        raise
    finally:
        aside.wait()


class _Saying:
    """A prompt being said: see `BeingSaid`."""

    def __init__(self, aside: Speaking, seconds: Lasts, say: Say, speed_wpm: int) -> None:
        self._aside = aside
        self._seconds = seconds
        self._say = say
        self._speed = speed_wpm
        self._open_after_s: float | None = None
        self._knows_when = False

    def sound(self) -> Samples | None:
        """See `BeingSaid.sound`."""
        sound, playing = self._aside.sound(), self._aside.playing
        if playing is not None and not self._knows_when:
            self._knows_when = True
            self._open_after_s = self._words_out_s(playing)
        return sound

    def _words_out_s(self, playing: Playing) -> float | None:
        """When the words are out after which it may be answered.

        A tone may come before the prompt; said by themselves the words last rather longer.
        """
        if not self._say.open_after:
            return None
        try:
            seconds = self._seconds(self._say.open_after, self._speed)
            whole_s = self._seconds(self._say.text, self._speed)
        except VoiceError:
            return None  # Heard to its end; what ails the voice is its own to tell.
        return max(LEAST_SOUNDED_S, playing.whole_s - whole_s + seconds)

    def open_after_s(self) -> float | None:
        """See `BeingSaid.open_after_s`."""
        return self._open_after_s

    def is_over(self) -> bool:
        """See `BeingSaid.is_over`."""
        return self._aside.is_over()

    def is_said_out(self) -> bool:
        """See `BeingSaid.is_said_out`."""
        return self._aside.is_said_out()

    def hush(self) -> None:
        """See `BeingSaid.hush`."""
        self._aside.hush()


def as_heard(playing: Playing) -> Samples:
    """What is played at the rate of the ears."""
    if playing.rate_hz == SAMPLE_RATE_HZ:
        return playing.samples
    sound: Samples = soxr.resample(playing.samples, playing.rate_hz, SAMPLE_RATE_HZ)
    return sound


def speed_of(say: Say, brisk_percent: int = BRISK_PERCENT) -> int:
    """In words a minute; `brisk_percent`: how fast a brisk pace is, of the unhurried one."""
    return speed_at(say.pace, brisk_percent) * say.speed_percent // 100


def speed_at(pace: Pace, brisk_percent: int = BRISK_PERCENT) -> int:
    """A pace in words a minute, where nobody has asked for slower or faster."""
    return DEFAULT_SPEED_WPM * (brisk_percent if pace == "brisk" else 100) // 100

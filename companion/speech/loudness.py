"""As loud as the room asks for: a voice that is told the noise, and never louder than allowed."""

from __future__ import annotations

import contextlib
import math
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median

from companion.errors import VoiceError
from companion.speech.earcons import Earcon
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken, Voice
from companion.speech.speech import SpeechVoice

QUIET_FLOOR_DBFS = -60.0
"""Below this noise floor the voice is as in a quiet room (a headset's in an empty bay)."""
DB_PER_DB = 0.5
"""People in noise speak about half as much louder as the noise is (from memory: Lombard, 1911)."""
USUAL_VOLUME = 0.8
"""The conversation's volume at which nobody has asked for louder or quieter."""
_REMEMBERED = 5


@dataclass(frozen=True)
class Loudness:
    """`in_quiet_db` and `limit_db`: below the voice's full level (0 dB)."""

    in_quiet_db: float = -8.0
    limit_db: float = 0.0
    follows_noise: bool = True

    def gain(self, noise_floor_dbfs: float | None, volume: float = USUAL_VOLUME) -> float:
        """The factor on the samples, 0 to 1: what the noise asks for and, on top, the person.

        `volume` is what "louder" and "quieter" have made of `USUAL_VOLUME`.
        """
        if volume <= 0:
            return 0.0
        wanted_db = self.in_quiet_db + 20 * math.log10(volume / USUAL_VOLUME)
        if self.follows_noise and noise_floor_dbfs is not None:
            wanted_db += DB_PER_DB * max(0.0, noise_floor_dbfs - QUIET_FLOOR_DBFS)
        return float(10 ** (min(wanted_db, self.limit_db) / 20))


class SettledVoice:
    """A voice with the shop's speed and loudness, which follows the noise that it is told of.

    With `earcons` a voice that makes sound also plays the tones. The noise floor that counts is
    the median of the last five, so that one bang shouts at nobody.
    """

    def __init__(
        self,
        voice: Voice,
        loudness: Loudness,
        speed_wpm: int = DEFAULT_SPEED_WPM,
        earcons: bool = False,
    ) -> None:
        self._voice = voice
        self._speech = voice if isinstance(voice, SpeechVoice) else None
        self._sounding = self._speech if earcons else None
        self._loudness = loudness
        self._speed_wpm = speed_wpm
        self._floors: deque[float] = deque(maxlen=_REMEMBERED)

    def hear_noise(self, floor_dbfs: float) -> None:
        """The noise floor of the last listening, in dB relative to full scale."""
        self._floors.append(floor_dbfs)

    def prepare(self, texts: Iterable[str], speed: int = DEFAULT_SPEED_WPM) -> None:
        """See `Voice.prepare`."""
        self._voice.prepare(texts, self._speed(speed))

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        """See `Voice.say`; `volume` is on top of what the room asks for."""
        return self._voice.say(text, self._speed(speed), self._gain(volume))

    def seconds(self, text: str, speed: int = DEFAULT_SPEED_WPM) -> float:
        """How long a text lasts that is said by itself; 0 from a voice without sound."""
        return 0.0 if self._speech is None else self._speech.seconds(text, self._speed(speed))

    def listening(self) -> None:
        """The tone for: your turn."""
        if self._sounding is not None:
            # A tone that cannot be played is no reason not to listen.
            with contextlib.suppress(VoiceError):
                self._sounding.play_tone("listening", self._gain())

    def answered(self, understood: bool) -> None:
        """The tone for: heard, or not understood; it opens the next prompt."""
        if self._sounding is not None:
            tone: Earcon = "heard" if understood else "refused"
            self._sounding.tone_before_next(tone, self._gain())

    def _gain(self, volume: float = USUAL_VOLUME) -> float:
        floor = median(self._floors) if self._floors else None
        return self._loudness.gain(floor, volume)

    def _speed(self, speed: int) -> int:
        return round(speed * self._speed_wpm / DEFAULT_SPEED_WPM)

    def hush(self) -> None:
        """See `Voice.hush`."""
        self._voice.hush()

    def close(self) -> None:
        """See `Voice.close`."""
        self._voice.close()

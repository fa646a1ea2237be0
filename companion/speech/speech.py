"""The usual voice: speech makers, the cache and a sink behind the one port."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np

from companion.speech.cache import PromptCache
from companion.speech.earcons import Earcon, earcon
from companion.speech.makers import EspeakMaker, MakerChain, Pyttsx3Maker
from companion.speech.player import SoundSink, read_prompt
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from companion.speech.text import speakable

_TONE_RATE_HZ = 22_050


def usual_makers(voice: str = EspeakMaker.voice) -> MakerChain:
    """The espeak-ng program first, and pyttsx3 where it is missing or fails.

    `voice`: one of espeak-ng's. pyttsx3 is left out where that is another than its own: it would
    read the language as if it were English.
    Both speak with the same synthesiser; the program starts in a fifth of the time, which is the
    wait before a read-back that nobody has said before.
    """
    if voice != EspeakMaker.voice:
        return MakerChain((EspeakMaker(voice),))
    return MakerChain((EspeakMaker(), Pyttsx3Maker()))


class SpeechVoice:
    """Renders each prompt once, then plays it from `cache_folder`."""

    def __init__(
        self, cache_folder: Path, sink: SoundSink, makers: MakerChain | None = None
    ) -> None:
        self._cache = PromptCache(cache_folder, makers or usual_makers())
        self._sink = sink
        self._before: tuple[Earcon, float] | None = None

    def prepare(self, texts: Iterable[str], speed: int = DEFAULT_SPEED_WPM) -> None:
        """Render what is not in the cache yet. Raises `VoiceError` if no maker can."""
        for text in texts:
            words = speakable(text)
            if words:
                self._cache.prompt(words, speed)

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        """See `Voice.say`; a text without anything to pronounce is said in no time."""
        words = speakable(text)
        if not words:
            return Spoken(0.0, None, "")
        rendered = self._cache.prompt(words, speed)
        samples, rate_hz = read_prompt(rendered.path, volume)
        if self._before is not None:
            tone, loudness = self._before
            self._before = None
            samples = np.concatenate([earcon(tone, rate_hz, loudness), samples])
        finished = self._sink.play(samples, rate_hz)
        return Spoken(
            duration_s=len(samples) / rate_hz,
            sound=rendered.path,
            maker=rendered.maker,
            finished=finished,
            complaints=rendered.complaints,
        )

    def seconds(self, text: str, speed: int = DEFAULT_SPEED_WPM) -> float:
        """How long a text lasts that is said by itself. Raises `VoiceError` if no maker can."""
        words = speakable(text)
        if not words:
            return 0.0
        samples, rate_hz = read_prompt(self._cache.prompt(words, speed).path, 1.0)
        return len(samples) / rate_hz

    def play_tone(self, tone: Earcon, loudness: float) -> None:
        """Play an earcon now, at most as loud as `LOUDEST` times `loudness` (0 to 1)."""
        self._sink.play(earcon(tone, _TONE_RATE_HZ, loudness), _TONE_RATE_HZ)

    def tone_before_next(self, tone: Earcon, loudness: float) -> None:
        """Let the next prompt begin with an earcon: in the same breath, so it costs no gap."""
        self._before = (tone, loudness)

    def hush(self) -> None:
        """Stop what is being said."""
        self._sink.hush()

    def close(self) -> None:
        """Let go of the sink; the cache stays for the next time."""
        self._sink.close()

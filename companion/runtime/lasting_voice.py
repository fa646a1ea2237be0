"""A voice that never ends the job: without a loudspeaker the prompts stand on the screen."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable

from companion.errors import CompanionError, VoiceError
from companion.facts.message import Message, Tell, problem
from companion.speech.player import LoudspeakerError
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken, Voice

LOOK_AGAIN_S = 5.0


class LastingVoice:
    """Passes prompts on to a voice; when the loudspeaker fails, looks anew and tries again.

    `look_again` has the sound devices listed anew; it is not called more than every `LOOK_AGAIN_S`.
    What went wrong is told once, and once that all is well again; `tell` writes it, as it cannot be
    said. `interrupt` may be called from another thread.
    """

    def __init__(self, voice: Voice, look_again: Callable[[], None], tell: Tell) -> None:
        self._voice = voice
        self._look_again = look_again
        self._tell = tell
        self._failing = False
        self._looked_s = -LOOK_AGAIN_S
        self._speaking = False
        self._one_at_a_time = threading.RLock()

    def prepare(self, texts: Iterable[str], speed: int = DEFAULT_SPEED_WPM) -> None:
        """Render ahead; what cannot be rendered now is tried again when it is said."""
        try:
            self._voice.prepare(texts, speed)
        except VoiceError as error:
            self._complain(error)

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        """See `Voice.say`; never raises VoiceError: what was not said is not `finished`."""
        # What is wrong with the microphone may be told while a prompt is being said.
        with self._one_at_a_time:
            self._speaking = True
            try:
                return self._said(text, speed, volume)
            finally:
                self._speaking = False

    def _said(self, text: str, speed: int, volume: float) -> Spoken:
        try:
            spoken = self._voice.say(text, speed, volume)
        except VoiceError as error:
            again = None
            if isinstance(error, LoudspeakerError):
                again = self._once_more(text, speed, volume)
            if again is None:
                self._complain(error)
                return Spoken(0.0, None, "", finished=False, complaints=(str(error),))
            spoken = again
        if self._failing:
            self._failing = False
            self._tell(Message("live-voice-back"))
        return spoken

    def _once_more(self, text: str, speed: int, volume: float) -> Spoken | None:
        if time.monotonic() - self._looked_s < LOOK_AGAIN_S:
            return None
        self._looked_s = time.monotonic()
        try:
            self._look_again()
            return self._voice.say(text, speed, volume)
        except CompanionError:
            return None

    def _complain(self, error: VoiceError) -> None:
        if not self._failing:
            self._failing = True
            self._tell(Message("live-voice-gone", {"error": problem(error)}))

    def interrupt(self) -> bool:
        """Stop what is being said; whether anything was."""
        speaking = self._speaking
        if speaking:
            self._voice.hush()
        return speaking

    def hush(self) -> None:
        """Stop what is being said."""
        self._voice.hush()

    def close(self) -> None:
        """Let go of the voice."""
        self._voice.close()

"""Ears that tell the rest of the program when they listen, what came of it, and how loud it is."""

from __future__ import annotations

import time
from collections.abc import Callable

from companion.errors import EarsError
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.level import measure_levels
from companion.recognition.port import (
    Ears,
    Heard,
    Listening,
    OverhearingEars,
    Refusal,
    RoomListener,
    Utterance,
)


class SignallingEars:
    """Other ears, with a signal before each listening and after each answer by sound.

    `listening` is called `pause_s` after the companion spoke, just before the ears open: they
    forget what was sounding until then. `answered` is told whether words were heard (never after
    silence, nor for an answer without sound), `noise` the noise floor of the sound in dBFS.
    """

    def __init__(
        self,
        ears: Ears,
        listening: Callable[[], None],
        answered: Callable[[bool], None],
        noise: Callable[[float], None],
        pause_s: float = 0.0,
    ) -> None:
        self.name = ears.name
        self._ears = ears
        self._listening = listening
        self._answered = answered
        self._noise = noise
        self._pause_s = pause_s

    def hear(self, listening: Listening) -> Heard:
        """See `Ears.hear`."""
        if listening.begun is None:
            if self._pause_s > 0:
                time.sleep(self._pause_s)
            self._listening()
        heard = self._ears.hear(listening)
        if heard.sound:
            noise_dbfs = heard.how.background_dbfs
            if noise_dbfs is None:
                noise_dbfs = measure_levels(heard.sound).background_dbfs
            self._noise(noise_dbfs)
            if not isinstance(heard, Refusal):
                self._answered(True)
            elif heard.reason != "silence":
                self._answered(False)
        return heard

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """See `OverhearingEars.overhear`. Raises EarsError for ears that cannot."""
        if not isinstance(self._ears, OverhearingEars):
            raise EarsError(f"the ears '{self.name}' cannot listen while the companion speaks")
        heard = self._ears.overhear(said, stop)
        if isinstance(heard, Utterance):
            self._answered(True)
        return heard

    def room_sound(self, seconds: float) -> bytes:
        """See `RoomListener.room_sound`; nothing from ears that have no level."""
        if not isinstance(self._ears, RoomListener):
            return b""
        sound = self._ears.room_sound(seconds)
        if sound:
            self._noise(measure_levels(sound).background_dbfs)
        return sound

    def close(self) -> None:
        """See `Ears.close`."""
        self._ears.close()

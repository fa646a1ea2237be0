"""A voice without sound: keeps what was said, for tests, rehearsals and the screen alone."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from companion.speech.port import DEFAULT_SPEED_WPM, Spoken

_SECONDS_PER_MINUTE = 60.0


class SilentVoice:
    """Collects the prompts in `texts` and hands each to `show`, if given.

    The durations are those that the words would take at the asked speed.
    """

    def __init__(self, show: Callable[[str], None] | None = None) -> None:
        self.texts: list[str] = []
        self.prepared: list[str] = []
        self._show = show

    def prepare(self, texts: Iterable[str], speed: int = DEFAULT_SPEED_WPM) -> None:
        """Remember which prompts were announced."""
        self.prepared.extend(texts)

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        """Keep the text; takes no time."""
        self.texts.append(text)
        if self._show is not None:
            self._show(text)
        return Spoken(len(text.split()) * _SECONDS_PER_MINUTE / speed, None, "silent")

    def hush(self) -> None:
        """Nothing is ever being said."""

    def close(self) -> None:
        """Nothing to let go of."""

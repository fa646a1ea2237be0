"""Voice and keyboard side by side: whichever answers first. There is always a way without voice."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterable, Iterator

from companion.facts.talking import TYPED
from companion.recognition.endpoint import EndpointSettings
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.listening import StreamEars
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.port import (
    Heard,
    Listening,
    Recogniser,
    SoundEnded,
    SoundSource,
    Utterance,
    in_words,
)
from companion.recognition.typed import AsWords

_BREAK_OFF = b""


class Keyboard:
    """Lines as they are typed, collected by a thread of its own.

    `lines` is an open text stream; each line becomes one answer. The thread ends with the stream,
    and never keeps the program from ending.
    """

    def __init__(self, lines: Iterable[str]) -> None:
        self._typed: queue.SimpleQueue[str] = queue.SimpleQueue()
        threading.Thread(target=self._collect, args=(lines,), name="keyboard", daemon=True).start()

    def waiting(self) -> bool:
        """Whether a line has been typed and not yet taken."""
        return not self._typed.empty()

    def take(self) -> str:
        """The oldest line; only after `waiting` said so."""
        return self._typed.get_nowait()

    def _collect(self, lines: Iterable[str]) -> None:
        for line in lines:
            if line.strip():
                self._typed.put(line.strip())


class EitherEars:
    """`StreamEars` that a typed line interrupts: the line is then the answer.

    `as_words` turns what was typed into the words that would have been said under that grammar.
    """

    def __init__(
        self,
        source: SoundSource,
        recogniser: Recogniser,
        keyboard: Keyboard,
        as_words: AsWords,
        settings: EndpointSettings | None = None,
        over_voice: OverVoiceSettings | None = None,
    ) -> None:
        self._keyboard = keyboard
        self._as_words = as_words
        self._ears = StreamEars(_Interruptible(source, keyboard), recogniser, settings, over_voice)
        self.name = recogniser.name

    def hear(self, listening: Listening) -> Heard:
        """See `Ears.hear`; when the sound has ended the keyboard goes on alone."""
        heard: Heard | None = None
        if not self._keyboard.waiting():
            try:
                heard = self._ears.hear(listening)
            except SoundEnded:
                if not self._keyboard.waiting():
                    raise
        if self._keyboard.waiting():
            words = self._as_words(self._keyboard.take(), listening.grammar)
            return in_words(words, listening.grammar, TYPED)
        assert heard is not None  # noqa: S101  -- no typed line, so the ears answered or raised
        return heard

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """See `OverhearingEars.overhear`; a typed line waits until the prompt has ended."""
        return self._ears.overhear(said, stop)

    def room_sound(self, seconds: float) -> bytes:
        """See `RoomListener.room_sound`; a typed line ends it."""
        return self._ears.room_sound(seconds)

    def close(self) -> None:
        """Let go of the sound source."""
        self._ears.close()


class _Interruptible:
    """A source that reports lost sound as soon as a line is typed, which ends the listening."""

    def __init__(self, source: SoundSource, keyboard: Keyboard) -> None:
        self._source = source
        self._keyboard = keyboard

    def frames(self) -> Iterator[bytes]:
        for frame in self._source.frames():
            yield _BREAK_OFF if self._keyboard.waiting() else frame

    def flush(self, *, deaf: bool = True) -> None:
        self._source.flush(deaf=deaf)

    def close(self) -> None:
        self._source.close()

"""The ears of a live job: voice, keyboard and pedal, whichever answers first.

There is always a way without voice.
"""

from __future__ import annotations

import contextlib
import queue
import threading
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Protocol

from companion.facts.meanings import Command
from companion.facts.talking import TYPED
from companion.recognition.endpoint import EndpointSettings
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.listening import StreamEars
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.pedal import WORDS, Pedal, Press
from companion.recognition.port import (
    Heard,
    Listening,
    Recogniser,
    Refusal,
    SoundEnded,
    SoundSource,
    StepGrammarLike,
    Utterance,
    in_words,
)
from companion.recognition.typed import AsWords
from companion.runtime.hearing_watch import HearingWatch

_BREAK_OFF = b""
_STOP = Command("stop")


class Microphone(SoundSource, Protocol):
    """A sound source that can go missing."""

    gone: bool


class Hands:
    """The keyboard and, where there is one, the pedal: both answer by a line of words.

    `lines` is an open text stream, collected by a thread of its own; each line becomes one answer.
    The thread ends with the stream, and never keeps the program from ending. `words`: what each
    press of the pedal says, the first that the open prompt takes.
    """

    def __init__(
        self,
        lines: Iterable[str],
        pedal: Pedal | None = None,
        words: Mapping[Press, tuple[str, ...]] = WORDS,
    ) -> None:
        self._typed: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._pedal = pedal
        self._words = words
        self._pressed: str | None = None
        self._grammar: StepGrammarLike | None = None
        threading.Thread(target=self._collect, args=(lines,), name="keyboard", daemon=True).start()

    def _collect(self, lines: Iterable[str]) -> None:
        # A terminal that is gone raises; the keyboard has ended then, the job has not.
        with contextlib.suppress(OSError, ValueError):
            for line in lines:
                if line.strip():
                    self._typed.put(line.strip())

    def open_prompt(self, grammar: StepGrammarLike) -> None:
        """Another prompt listens now; what was pressed before it counts for nothing."""
        self._grammar = grammar
        self._pressed = None
        if self._pedal is not None:
            self._pedal.forget()

    def waiting(self) -> bool:
        """Whether a line was typed, or the pedal pressed to a prompt that has a use for it."""
        while self._pressed is None and self._pedal is not None and self._pedal.waiting():
            self._pressed = self._word_of(self._pedal)
        return self._pressed is not None or not self._typed.empty()

    def take(self) -> tuple[str, str]:
        """The word of the press, or the oldest line, and which; only after `waiting` said so."""
        word, self._pressed = self._pressed, None
        return (self._typed.get_nowait(), TYPED) if word is None else (word, "pedal")

    def _word_of(self, pedal: Pedal) -> str | None:
        grammar, words = self._grammar, self._words[pedal.take()]
        if grammar is None:
            return None
        return next((word for word in words if grammar.parse(word) is not None), None)

    def close(self) -> None:
        """Let go of the pedal."""
        if self._pedal is not None:
            self._pedal.close()


class LiveEars:
    """`StreamEars` that hands interrupt: the line or the press is then the answer.

    `as_words` turns what was typed into the words that would have been said under that grammar.
    `watch`: looks on while the recogniser works.
    """

    def __init__(
        self,
        microphone: Microphone,
        recogniser: Recogniser,
        hands: Hands,
        as_words: AsWords,
        watch: HearingWatch,
        settings: EndpointSettings | None = None,
        over_voice: OverVoiceSettings | None = None,
    ) -> None:
        self._microphone = microphone
        self._hands = hands
        self._as_words = as_words
        self._watch = watch
        source = _LiveSource(microphone, hands, watch)
        self._ears = StreamEars(source, recogniser, settings, over_voice)
        self.name = recogniser.name

    def hear(self, listening: Listening) -> Heard:
        """See `Ears.hear`; when the sound has ended the hands go on alone."""
        hands, grammar = self._hands, listening.grammar
        hands.open_prompt(grammar)
        heard = None if hands.waiting() else self._listened(listening)
        if isinstance(heard, Utterance) and heard.meaning == _STOP:
            # What was typed meanwhile waits: whoever says stop wants nothing to go on.
            return heard
        if heard is None or hands.waiting():
            line, by = hands.take()
            return in_words(self._as_words(line, grammar), grammar, by)
        if isinstance(heard, Refusal) and heard.reason == "sound_lost" and self._microphone.gone:
            how = replace(heard.how, detail="the microphone is gone")
            return replace(heard, reason="no_microphone", how=how)
        return heard

    def _listened(self, listening: Listening) -> Heard | None:
        """What is heard; None where the sound has ended and the hands have answered."""
        self._watch.thinking()
        try:
            return self._ears.hear(listening)
        except SoundEnded:
            if self._hands.waiting():
                return None
            raise
        finally:
            self._watch.waiting()

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """See `OverhearingEars.overhear`; a typed line waits until the prompt has ended."""
        self._watch.thinking()
        try:
            return self._ears.overhear(said, stop)
        finally:
            self._watch.waiting()

    def room_sound(self, seconds: float) -> bytes:
        """See `RoomListener.room_sound`; a typed line ends it."""
        try:
            return self._ears.room_sound(seconds)
        finally:
            self._watch.waiting()

    def close(self) -> None:
        """Let go of microphone and pedal."""
        self._watch.close()
        self._hands.close()
        self._ears.close()


class _LiveSource:
    """Tells the watch when frames are wanted and when they are taken.

    As soon as the hands have answered it reports lost sound, which ends the listening.
    """

    def __init__(self, source: SoundSource, hands: Hands, watch: HearingWatch) -> None:
        self._source = source
        self._hands = hands
        self._watch = watch

    def frames(self) -> Iterator[bytes]:
        frames = iter(self._source.frames())
        while True:
            self._watch.waiting()
            frame = next(frames, None)
            self._watch.thinking()
            if frame is None:
                return
            yield _BREAK_OFF if self._hands.waiting() else frame

    def flush(self, *, deaf: bool = True) -> None:
        self._source.flush(deaf=deaf)

    def close(self) -> None:
        self._source.close()

"""The ears of a live job: voice, keyboard and pedal, whichever answers first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Protocol

from companion.recognition.either import EitherEars, Keyboard
from companion.recognition.endpoint import EndpointSettings
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.pedal import WORDS, Pedal, Press
from companion.recognition.port import (
    Heard,
    Listening,
    Recogniser,
    Refusal,
    SoundSource,
    StepGrammarLike,
    Utterance,
)
from companion.recognition.typed import AsWords
from companion.runtime.hearing_watch import HearingWatch, WatchedSource


class Microphone(SoundSource, Protocol):
    """A sound source that can go missing."""

    gone: bool


class Hands(Keyboard):
    """The keyboard and, where there is one, the pedal: both answer by a line of words.

    `words`: what each press of the pedal says, the first that the open prompt takes.
    """

    def __init__(
        self,
        lines: Iterable[str],
        pedal: Pedal | None = None,
        words: Mapping[Press, tuple[str, ...]] = WORDS,
    ) -> None:
        super().__init__(lines)
        self._pedal = pedal
        self._words = words
        self._pressed: str | None = None
        self._grammar: StepGrammarLike | None = None
        self.last_was_pedal = False

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
        return self._pressed is not None or super().waiting()

    def take(self) -> str:
        """The word that the press stands for, or the oldest line."""
        self.last_was_pedal = self._pressed is not None
        if self._pressed is None:
            return super().take()
        word, self._pressed = self._pressed, None
        return word

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
    """`EitherEars` with a pedal, a watch on the recogniser, and a word for a missing microphone."""

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
        self._watch = watch
        source = WatchedSource(microphone, watch)
        self._ears = EitherEars(source, recogniser, hands, as_words, settings, over_voice)
        self.name = recogniser.name

    def hear(self, listening: Listening) -> Heard:
        """See `Ears.hear`."""
        self._hands.open_prompt(listening.grammar)
        self._hands.last_was_pedal = False
        self._watch.thinking()
        try:
            heard = self._ears.hear(listening)
        finally:
            self._watch.waiting()
        match heard:
            case Utterance() if self._hands.last_was_pedal:
                return replace(heard, how=replace(heard.how, ears="pedal"))
            case Refusal(reason="sound_lost") if self._microphone.gone:
                how = replace(heard.how, detail="the microphone is gone")
                return replace(heard, reason="no_microphone", how=how)
            case _:
                return heard

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """See `OverhearingEars.overhear`."""
        self._watch.thinking()
        try:
            return self._ears.overhear(said, stop)
        finally:
            self._watch.waiting()

    def room_sound(self, seconds: float) -> bytes:
        """See `RoomListener.room_sound`."""
        try:
            return self._ears.room_sound(seconds)
        finally:
            self._watch.waiting()

    def close(self) -> None:
        """Let go of microphone and pedal."""
        self._watch.close()
        self._hands.close()
        self._ears.close()

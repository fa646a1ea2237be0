"""The technician as a sound source and as typed ears, for the loop to listen to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from companion.facts.talking import How, IntoPrompt
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.port import (
    FRAME_BYTES,
    FRAME_S,
    SAMPLE_RATE_HZ,
    Heard,
    Listening,
    Refusal,
    Utterance,
    in_words,
)
from companion.simulation.rehearsal import Rehearsal

HUSHED_AFTER_S = 0.2
"""From the beginning of an answer until the companion is silent."""


class TechnicianSource:
    """A stream of frames: for each prompt heard the answer once, silence around it.

    The stream ends when `patience_s` of silence went by without a new prompt: then nobody is
    talking any more. Frames come as fast as they are taken.
    """

    def __init__(self, rehearsal: Rehearsal, patience_s: float = 60.0) -> None:
        self._rehearsal = rehearsal
        self._patience_s = patience_s
        self._answered = 0
        self._waiting = b""
        self._closed = False

    def frames(self) -> Iterator[bytes]:
        """16 kHz mono s16le, 30 ms each."""
        silent_s = 0.0
        while not self._closed and silent_s < self._patience_s:
            if self._answered < self._rehearsal.prompts_heard:
                self._answered = self._rehearsal.prompts_heard
                self._waiting = self._rehearsal.sound()
                silent_s = 0.0
            if self._waiting:
                frame, self._waiting = self._waiting[:FRAME_BYTES], self._waiting[FRAME_BYTES:]
                if len(frame) < FRAME_BYTES:
                    frame += self._rehearsal.speaker.quiet(FRAME_BYTES - len(frame))
            else:
                silent_s += FRAME_S
                frame = self._rehearsal.speaker.quiet(FRAME_BYTES)
            yield frame

    def flush(self, *, deaf: bool = True) -> None:
        """Forget the rest of an earlier answer; the newest prompt's is not made yet."""
        self._waiting = b""

    def close(self) -> None:
        """The stream ends."""
        self._closed = True


class TypedTechnician:
    """Ears that take the technician's answers as typed words."""

    name = "typed technician"

    def __init__(self, rehearsal: Rehearsal) -> None:
        self._rehearsal = rehearsal
        self._clock_s = 0.0

    def hear(self, listening: Listening) -> Heard:
        """The answer to the newest prompt; a refusal for silence."""
        answer = self._rehearsal.answer()
        start_s = self._clock_s + answer.delay_s
        if answer.text is None:
            self._clock_s += listening.timeout_s
            detail = f"nothing was said within {listening.timeout_s:g} s"
            return Refusal("silence", How(ears=self.name, detail=detail))
        # About the pace of plain speech; only the order of times matters here.
        self._clock_s = start_s + 0.4 * len(answer.text.split())
        heard = in_words(answer.text, listening.grammar, self.name, start_s, self._clock_s)
        if listening.begun is None:
            return heard
        return replace(heard, how=replace(heard.how, into=listening.begun.into))

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """See `OverhearingEars.overhear`: he answers a while after the words are out that tell
        what is asked, where he may; he never says "stop" into anything."""
        open_after_s, sound = said.open_after_s(), said.sound()
        if open_after_s is None or sound is None:
            return None
        answer = self._rehearsal.answer()
        if answer.text is None:
            return None
        whole_s = len(sound) / SAMPLE_RATE_HZ
        begins_s = open_after_s + answer.delay_s
        if begins_s >= whole_s:
            return Begun((), None)
        said.hush()
        sounded_s = min(whole_s, begins_s + HUSHED_AFTER_S)
        return Begun((), IntoPrompt(round(begins_s, 2), round(sounded_s, 2), round(whole_s, 2)))

    def close(self) -> None:
        """Nothing to let go of."""

"""The technician as a sound source and as typed ears, for the loop to listen to."""

from __future__ import annotations

from collections.abc import Iterator

from companion.facts.talking import How
from companion.recognition.port import (
    FRAME_BYTES,
    FRAME_S,
    Heard,
    Listening,
    Refusal,
    in_words,
)
from companion.simulation.rehearsal import Rehearsal


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
        return in_words(answer.text, listening.grammar, self.name, start_s, self._clock_s)

    def close(self) -> None:
        """Nothing to let go of."""

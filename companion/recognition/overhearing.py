"""Listening while the companion speaks: for "stop" all along, for an answer once it may be given.

Whoever speaks has to stand out of the background and of what the microphone hears of the
loudspeaker (`OverVoice`), and it has to be speech by the ears' own test. Only then does the
companion fall silent, and the answer is heard from its beginning. Where its own voice is heard
although the measurement says that it is not, nothing that is said into this prompt is an answer: it
plays on, and is listened after as ever.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

import numpy as np

from companion.facts.talking import IntoPrompt
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.over_voice import Echo, OverVoice
from companion.recognition.port import (
    FRAME_BYTES,
    FRAME_S,
    Recognition,
    StreamEndpointer,
    Utterance,
)
from companion.recognition.samples import Samples, samples_of

MOST_EXPLAINED = 0.3
"""More of what stands out must not be explained by the companion's own voice."""
OWN_VOICE = 0.5
"""So much of it explained, it is the companion's own voice."""
LEAST_STOP_FRAMES = 5
MOST_OWN_VOICE_FRAMES = 5
LEAD_IN_S = 0.3
RING_S = 0.1
_KEPT_S = 2.0
_TESTED_S = 1.0
_SPEECH_WITHIN_S = 0.3
_LEAST_SPEECH_S = 0.08
_VECTORS_PER_S = 50
_SPEECH = 0.5
_GOES_ON_VECTORS = 2
_AFTER_END_S = 0.15
_LONGEST_S = 5.0
_BREATH_FRAMES = 8


@runtime_checkable
class TellsSpeech(Protocol):
    """A recogniser that can tell speech from other sounds, at every fiftieth of a second."""

    def speech(self, samples: Samples) -> Samples:
        """The probability that somebody speaks, for a stretch of 16 kHz sound."""
        ...


@dataclass(frozen=True)
class OverVoiceSettings:
    """How the loudspeaker arrives at the microphone.

    `own_voice_heard` is called once, when the companion hears itself where by that it should not.
    """

    echo: Echo
    own_voice_heard: Callable[[], None] = lambda: None


class Overhearing:
    """Follows the stream while something is being said. One for a job."""

    def __init__(self, recogniser: TellsSpeech, settings: OverVoiceSettings) -> None:
        self._recogniser = recogniser
        self._rings_s = settings.echo.delay_s + RING_S
        self._over = OverVoice(settings.echo)
        self._own_voice_heard = settings.own_voice_heard
        self._told = False
        self._prompt = _Prompt()

    def listen(
        self,
        said: BeingSaid,
        frames: Iterator[bytes],
        endpointer: StreamEndpointer,
        as_stop: Callable[[Recognition], Utterance | None],
    ) -> Begun | tuple[Utterance, IntoPrompt] | None:
        """What somebody says into it: an answer that has begun, or a whole "stop"; else None, when
        it has ended.

        Whatever it is, the companion is silent then. `as_stop`: what `endpointer` found, where it
        is to be taken for one.
        """
        prompt = self._prompt = _Prompt()
        endpointer.begin()
        late = 0
        while True:
            if said.is_over():
                if late * FRAME_S >= _LONGEST_S or not self._somebody_speaks(prompt):
                    return self._at_the_end(prompt, said)
                # Who spoke too soon is let finish: the rest of what he says is no answer.
                late += 1
            frame = next(frames, None)
            if frame is None:
                return None
            if not frame:
                # Sound was lost, or a line typed: nothing of this prompt can be followed any more.
                _wait(said, frames)
                return None
            self._begin(prompt, said)
            self._follow(prompt, frame)
            found = endpointer.follow(frame)
            if isinstance(found, Recognition) and prompt.stood_clear(found):
                stop = as_stop(found)
                if stop is not None:
                    said.hush()
                    return stop, prompt.into(found.end_s - found.start_s)
            in_time = late * FRAME_S < _AFTER_END_S
            if in_time and prompt.may_be_answered(said) and self._is_speech(prompt):
                said.hush()
                return Begun(prompt.answer(), prompt.into())

    def _at_the_end(self, prompt: _Prompt, said: BeingSaid) -> Begun | None:
        """Who may answer into it may answer right behind it, where nothing rings in the ears."""
        if said.open_after_s() is None or prompt.own_voice_frames or self._over.hears_echo():
            return None
        return Begun((), None)

    def follow_on(self, frame: bytes) -> None:
        """One more frame of an answer that has begun."""
        self._follow(self._prompt, frame)

    def is_a_persons(self, found: Recognition, since_s: float, *, is_stop: bool) -> bool:
        """Whether somebody said it who is not the companion, silent since `since_s` before its end.

        Whoever goes on speaking when its echo has rung off; what ends with the companion was the
        companion's own. A "stop" is over by then, and asked no more than one into any other prompt.
        """
        return (is_stop and self._prompt.stood_clear(found)) or self._goes_on(found.sound, since_s)

    def _goes_on(self, sound: bytes, since_s: float) -> bool:
        after = round((since_s - self._rings_s) * _VECTORS_PER_S)
        if after <= 0:
            return False
        speech = self._recogniser.speech(samples_of(sound))
        return int(np.count_nonzero(speech[-after:] > _SPEECH)) >= _GOES_ON_VECTORS

    def _begin(self, prompt: _Prompt, said: BeingSaid) -> None:
        sound = said.sound()
        if sound is not None and not prompt.sounds:
            prompt.sounds = True
            prompt.whole_s = len(sound) / _RATE_HZ
            self._over.begin(sound)

    def _follow(self, prompt: _Prompt, frame: bytes) -> None:
        stands = self._over.follow(frame)
        explained = self._over.explained() if stands and prompt.sounds else None
        prompt.add(frame, self._over.stood_out_just_now(), explained)
        if prompt.own_voice_frames >= MOST_OWN_VOICE_FRAMES and not self._told:
            self._told = True
            self._own_voice_heard()

    def _somebody_speaks(self, prompt: _Prompt) -> bool:
        """Whether what stands out is speech: a noise at a prompt's end is not waited for."""
        return prompt.standing() and self._is_speech(prompt)

    def _is_speech(self, prompt: _Prompt) -> bool:
        """The ears' own test: what stands out is somebody who speaks."""
        speech = self._recogniser.speech(prompt.last(_TESTED_S))
        within = speech[-round(_SPEECH_WITHIN_S * _VECTORS_PER_S) :]
        return int(np.count_nonzero(within > _SPEECH)) >= round(_LEAST_SPEECH_S * _VECTORS_PER_S)


class _Prompt:
    """What was heard along with one prompt: frames, and which of them stood out, and how.

    A frame is clear where it stands out and the companion's own voice does not explain that.
    """

    def __init__(self) -> None:
        self.sounds = False
        self.whole_s = 0.0
        self.own_voice_frames = 0
        self._count = 0
        self._frames: deque[bytes] = deque(maxlen=round(_KEPT_S / FRAME_S))
        self._stands: deque[bool] = deque(maxlen=round(_KEPT_S / FRAME_S))
        self._clear: deque[bool] = deque(maxlen=round(_KEPT_S / FRAME_S))
        self._quiet_since_open = False

    def add(self, frame: bytes, stands: bool, explained: float | None) -> None:
        self._count += self.sounds
        self._frames.append(frame)
        self._stands.append(stands)
        self._clear.append(explained is not None and explained <= MOST_EXPLAINED)
        if explained is not None and explained > OWN_VOICE:
            self.own_voice_frames += 1

    def standing(self) -> bool:
        """Whether something stands out just now, or did within a breath."""
        return any(list(self._stands)[-_BREATH_FRAMES:])

    def may_be_answered(self, said: BeingSaid) -> bool:
        """Whether something begins to stand out where the prompt may be answered."""
        open_after_s = said.open_after_s()
        if open_after_s is None or self._count * FRAME_S < open_after_s:
            return False
        self._quiet_since_open = self._quiet_since_open or not self._stands[-1]
        own_voice = self.own_voice_frames >= MOST_OWN_VOICE_FRAMES
        return self._quiet_since_open and not own_voice and self._clear[-1]

    def stood_clear(self, found: Recognition) -> bool:
        """Whether what was found stood out as speech does, and not as the companion's own."""
        lasted = max(1, round((found.end_s - found.start_s) / FRAME_S))
        stands, clear = list(self._stands)[-lasted:], list(self._clear)[-lasted:]
        return sum(clear) >= LEAST_STOP_FRAMES and sum(clear) >= 0.5 * sum(stands)

    def last(self, seconds: float) -> Samples:
        """The last sound heard."""
        count = round(seconds / FRAME_S)
        return samples_of(b"".join(list(self._frames)[-count:]))

    def answer(self) -> tuple[bytes, ...]:
        """The answer so far, from shortly before it stood out."""
        kept = self._since_it_stands() + round(LEAD_IN_S / FRAME_S)
        return tuple(self._frames)[-kept:]

    def into(self, lasted_s: float | None = None) -> IntoPrompt:
        """When it began (`lasted_s` ago), of what is being said."""
        now_s = self._count * FRAME_S
        since_s = self._since_it_stands() * FRAME_S if lasted_s is None else lasted_s
        whole_s = max(self.whole_s, 0.0)
        return IntoPrompt(max(0.0, now_s - since_s), min(now_s, whole_s), whole_s)

    def _since_it_stands(self) -> int:
        stands = list(self._stands)
        count = 0
        while count < len(stands) and stands[-1 - count]:
            count += 1
        return count


def _wait(said: BeingSaid, frames: Iterator[bytes]) -> None:
    while not said.is_over() and next(frames, None) is not None:
        pass


_RATE_HZ = FRAME_BYTES // 2 / FRAME_S

"""Finds utterances in a stream by what is said in it: the head listens along.

Noise neither begins an utterance nor hides one, since it is the head that tells speech from the
rest; and where the grammar is at its end, nobody has to wait for a pause.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import numpy.typing as npt

from companion.facts.talking import How
from companion.recognition.gate import Gate
from companion.recognition.own.completion import Completion
from companion.recognition.own.head import Judged
from companion.recognition.own.mel import SAMPLES_PER_VECTOR
from companion.recognition.own.search import BLANK, Hearing
from companion.recognition.port import FRAME_S, SAMPLE_RATE_HZ, Expects, Recognition, Refusal
from companion.recognition.samples import Samples, samples_of


@dataclass(frozen=True)
class HeadEndpointSettings:
    """How closely the stream is watched, and how long a pause ends an utterance.

    The head is asked every `look_s` while the gate is open and nobody speaks, every
    `look_closely_s` while somebody does, every `look_at_end_s` once the words are complete, at
    once where the level has been low for `over_s`, and every `look_while_low_s` from then on if
    the words are complete: the head holds speech for going on a little longer than it does. Once
    the words are sure and nothing can follow, the next look is at the end of the pause. A pause
    ends an utterance after
    `over_s` where no word can follow that would change the meaning and the words are sure, after
    `complete_s` where none is likely to and they are sure, after `whole_s` where they are an answer
    as they are, after `open_s` where they are a likely one that may go on to be another ("two
    hundred", "and four"), after `unfinished_s` where something is missing or may be (a hesitation
    within a number), and after `strange_s` where nothing fits. Whether words are sure is asked as
    soon as there has been a pause of `ahead_s`.
    Speech without any word of at least `word_probability` is taken for noise. `lead_in_s` of sound
    before the beginning is kept.
    """

    look_s: float = 0.3
    look_closely_s: float = 0.18
    look_at_end_s: float = 0.09
    look_while_low_s: float = 0.06
    over_s: float = 0.06
    complete_s: float = 0.12
    whole_s: float = 0.33
    open_s: float = 0.6
    unfinished_s: float = 1.15
    strange_s: float = 0.45
    lead_in_s: float = 0.5
    ahead_s: float = 0.02
    longest_s: float = 10.0
    speech_probability: float = 0.5
    least_speech_s: float = 0.08
    word_probability: float = 0.7


class Listener(Protocol):
    """What the endpointer asks of the recogniser that it belongs to."""

    def judge(self, samples: Samples) -> Judged:
        """The head's judgement of a stretch of sound."""
        ...

    def so_far(self, tokens: npt.NDArray[np.float32]) -> Hearing:
        """What the loaded grammar makes of it."""
        ...

    def completion(self, so_far: Hearing, expects: Expects | None) -> Completion:
        """Whether more is to be expected after what has been said."""
        ...

    def recognise(self, sound: bytes) -> Recognition:
        """The final word on a whole utterance."""
        ...

    def recognise_if_sure(self, sound: bytes) -> Recognition | None:
        """The same where it is to be believed, else None, and that at the least expense."""
        ...


_WINDOW_S = 2.0
_SHARE_OF_LENGTH = 0.03
"""Looks at a long utterance are farther apart, by so much of its length: each takes longer."""
_FRUITLESS_S = 4.0
"""Speech without a single word for so long is none."""
_LEAST_LIKELY = -12.0
"""Sentences less probable than this are nothing that anybody said."""


class HeadEndpointer:
    """`StreamEndpointer` of one stream; see `HeadEndpointSettings`."""

    def __init__(self, listener: Listener, settings: HeadEndpointSettings | None = None) -> None:
        self._listener = listener
        self._settings = settings or HeadEndpointSettings()
        self._gate = Gate()
        self._read = 0
        self._look_at = 0
        self._gate_open = False
        self._sound = np.zeros(0, np.float32)
        self._from = 0
        self._not_before = 0
        self._utterance: _Utterance | None = None
        self._expects: Expects | None = None

    def begin(self, expects: Expects | None = None) -> None:
        """See `StreamEndpointer.begin`."""
        self._expects = expects
        self._sound = np.zeros(0, np.float32)
        self._from = self._not_before = self._read
        self._utterance = None

    def speaking(self) -> bool:
        """See `StreamEndpointer.speaking`."""
        return self._utterance is not None

    def follow(self, frame: bytes) -> Recognition | Refusal | None:
        """See `StreamEndpointer.follow`."""
        self._gate_open = self._gate.passes(frame)
        samples = samples_of(frame)
        self._sound = np.concatenate([self._sound, samples])
        self._read += len(samples)
        if self._read < self._look_at and not self._may_just_be_over():
            return None
        if self._utterance is not None:
            return self._look_for_the_end(self._utterance)
        self._look_after(self._settings.look_s)
        self._forget()
        if self._gate_open:
            self._look_for_a_beginning()
        return None

    def end(self) -> Recognition | Refusal | None:
        """See `StreamEndpointer.end`."""
        if self._utterance is None:
            self._look_for_a_beginning()
        if self._utterance is None:
            return None
        self._utterance.judged = self._listener.judge(self._sound)
        return self._finished()

    def _look_after(self, seconds: float) -> None:
        self._look_at = self._read + round(seconds * SAMPLE_RATE_HZ)

    def _may_just_be_over(self) -> bool:
        """Somebody was speaking, and the level has been low for just long enough."""
        fallen = round(self._settings.over_s / FRAME_S)
        return self._utterance is not None and self._gate.fallen_frames == fallen

    def _forget(self) -> None:
        surplus = len(self._sound) - round(_WINDOW_S * SAMPLE_RATE_HZ)
        surplus -= surplus % SAMPLES_PER_VECTOR
        if surplus > 0:
            self._sound = self._sound[surplus:]
            self._from += surplus

    def _look_for_a_beginning(self) -> None:
        settings = self._settings
        if not len(self._sound):
            return
        judged = self._listener.judge(self._sound)
        active = self._active(judged)
        active[: max(0, self._not_before - self._from) // SAMPLES_PER_VECTOR] = False
        if np.count_nonzero(active) < _vectors(settings.least_speech_s):
            return
        first = self._from + int(np.argmax(active)) * SAMPLES_PER_VECTOR
        lead_in = _vectors(settings.lead_in_s) * SAMPLES_PER_VECTOR
        start = max(self._from, first - lead_in)
        self._sound = self._sound[start - self._from :]
        self._from = start
        self._utterance = _Utterance(start, judged)
        fallen_s = self._gate.fallen_frames * FRAME_S
        self._look_after(settings.look_closely_s if fallen_s < settings.over_s else 0.0)

    def _active(self, judged: Judged) -> npt.NDArray[np.bool_]:
        return np.asarray(judged.speech > self._settings.speech_probability)

    def _look_for_the_end(self, utterance: _Utterance) -> Recognition | Refusal | None:
        settings = self._settings
        judged = utterance.judged = self._listener.judge(self._sound)
        so_far = self._listener.so_far(judged.tokens)
        completion: Completion | None = None
        if so_far.likeliest > _LEAST_LIKELY:
            completion = self._listener.completion(so_far, self._expects)
        active = np.flatnonzero(self._active(judged))
        last = (int(active[-1]) + 1 if len(active) else 0) * SAMPLES_PER_VECTOR
        spoken_s = (self._read - utterance.start) / SAMPLE_RATE_HZ
        pause_s = spoken_s - last / SAMPLE_RATE_HZ
        if spoken_s >= settings.longest_s:
            return self._finished() if pause_s >= settings.over_s else self._too_long()
        sure_after_s = self._sure_after_s(completion)
        if sure_after_s is not None and pause_s >= settings.ahead_s:
            found = self._sure(utterance, so_far.whole[0].words, pause_s >= sure_after_s)
            if found is not None:
                return self._told(found)
        if pause_s < settings.over_s:
            if spoken_s > _FRUITLESS_S and _wordless(judged):
                self._drop()
            self._look_during_speech(spoken_s, completion in ("over", "complete"))
            if completion == "over" and utterance.sure is not None and pause_s >= settings.ahead_s:
                # Nothing is left but the rest of the pause: the next look falls on its end.
                self._look_after(settings.over_s - pause_s)
            return None
        left_s = self._pause_wanted_s(completion) - pause_s
        if left_s <= 0.0:
            return self._finished()
        if sure_after_s is not None and pause_s < sure_after_s:
            left_s = sure_after_s - pause_s
        self._look_after(min(left_s, settings.look_closely_s))
        return None

    def _sure_after_s(self, completion: Completion | None) -> float | None:
        """The pause after which such words are believed if they are sure; None where never."""
        if completion == "over":
            return self._settings.over_s
        return self._settings.complete_s if completion == "complete" else None

    def _sure(
        self, utterance: _Utterance, words: tuple[str, ...], is_over: bool
    ) -> Recognition | None:
        """What these words are to be believed as once the pause is long enough.

        They are asked about as soon as the pause begins, so that the arithmetic is done while it
        is waited for, and once more at its end where they were not sure.
        """
        if words != utterance.asked:
            utterance.asked, utterance.asked_at_end = words, is_over
            utterance.sure = self._listener.recognise_if_sure(self._heard())
        elif is_over and utterance.sure is None and not utterance.asked_at_end:
            utterance.asked_at_end = True
            utterance.sure = self._listener.recognise_if_sure(self._heard())
        return utterance.sure if is_over else None

    def _look_during_speech(self, spoken_s: float, over: bool) -> None:
        settings = self._settings
        if over and self._gate.fallen_frames * FRAME_S >= settings.over_s:
            self._look_after(max(settings.look_while_low_s, _SHARE_OF_LENGTH * spoken_s))
        elif over:
            self._look_after(max(settings.look_at_end_s, _SHARE_OF_LENGTH * spoken_s))
        else:
            self._look_after(max(settings.look_closely_s, 2.0 * _SHARE_OF_LENGTH * spoken_s))

    def _pause_wanted_s(self, completion: Completion | None) -> float:
        settings = self._settings
        if completion is None:
            return settings.strange_s
        longer_s = {"open": settings.open_s, "unfinished": settings.unfinished_s}
        return longer_s.get(completion, settings.whole_s)

    def _finished(self) -> Recognition | None:
        utterance = self._utterance
        assert utterance is not None  # noqa: S101  -- only called within an utterance
        recognition = self._listener.recognise(self._heard())
        blank = float(np.exp(utterance.judged.tokens[:, BLANK].min(initial=0.0)))
        if not recognition.words and 1.0 - blank < self._settings.word_probability:
            self._drop()
            return None
        return self._told(recognition)

    def _heard(self) -> bytes:
        return bytes(np.rint(self._sound * 32768.0).astype("<i2").tobytes())

    def _told(self, recognition: Recognition) -> Recognition:
        start_s, end_s = self._from / SAMPLE_RATE_HZ, self._read / SAMPLE_RATE_HZ
        told = replace(recognition, sound=self._heard(), start_s=start_s, end_s=end_s)
        self._drop()
        return told

    def _too_long(self) -> Refusal:
        seconds = (self._read - self._from) / SAMPLE_RATE_HZ
        sound = self._heard()
        self._drop()
        return Refusal("too_long", How(detail=f"speech went on for {seconds:.0f} s"), sound)

    def _drop(self) -> None:
        self._utterance = None
        self._not_before = self._read
        self._forget()


@dataclass
class _Utterance:
    """One utterance under way: where it begins, what the head made of it.

    `asked`: the words that both heads were last asked about, `asked_at_end` whether at the end of
    the pause they need, `sure` what came of it.
    """

    start: int
    judged: Judged
    asked: tuple[str, ...] = ()
    asked_at_end: bool = False
    sure: Recognition | None = None


def _wordless(judged: Judged) -> bool:
    """Whether nowhere a word is more probable than none."""
    return not np.any(judged.tokens[:, BLANK] < np.log(0.5))


def _vectors(seconds: float) -> int:
    return round(seconds * SAMPLE_RATE_HZ / SAMPLES_PER_VECTOR)


__all__ = ["Completion", "HeadEndpointSettings", "HeadEndpointer", "Listener"]

"""The usual ears: a sound source, something that finds utterances, and a recogniser."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice, takewhile

from companion.facts.talking import How
from companion.recognition.endpoint import Endpointer, EndpointSettings, NoSpeech
from companion.recognition.level import measure_levels
from companion.recognition.port import (
    FRAME_S,
    FollowingRecogniser,
    Heard,
    Levels,
    Listening,
    Recogniser,
    Recognition,
    Refusal,
    RefusalReason,
    SoundEnded,
    SoundSource,
    StreamEndpointer,
    Utterance,
)

_MOST_CLIPPED_SHARE = 0.005
# Overdriven by so much, one word may look like another: however sure the ears are, it is not taken.
_SPOILED_CLIPPED_SHARE = 0.05
# So near to a sample's smallest step (rounding to it is noise at -101 dBFS) soft sounds are gone.
_SPOILED_SPEECH_DBFS = -75.0
_LEAST_ABOVE_BACKGROUND_DB = 6.0
_LEAST_SPEECH_DBFS = -52.0
"""Where words were not understood, the first of these that does not hold is given as the reason."""


class StreamEars:
    """Hears one utterance per turn from a source.

    A recogniser that finds utterances by itself is left to do so; for any other they are cut out
    by level (`Endpointer`, to which the `settings` go). `hear` first forgets what the source
    collected since the last turn (what was said while the companion spoke). Not for use from
    several threads at once.
    """

    def __init__(
        self,
        source: SoundSource,
        recogniser: Recogniser,
        settings: EndpointSettings | None = None,
    ) -> None:
        self.name = recogniser.name
        self._source = source
        self._recogniser = recogniser
        self._frames = iter(source.frames())
        self._stream: StreamEndpointer | None = None
        if isinstance(recogniser, FollowingRecogniser):
            self._stream = recogniser.endpointer()
        self._endpointer = Endpointer(self._frames, settings)

    def hear(self, listening: Listening) -> Heard:
        """One utterance or the reason why there is none.

        Raises `EarsError` if the grammar holds words that cannot be heard or the source fails,
        `SoundEnded` if the source was already used up.
        """
        self._recogniser.load(listening.grammar)
        self._source.flush()
        if self._stream is not None:
            return self._followed(self._stream, listening)
        found = self._endpointer.next_utterance(listening.timeout_s)
        if isinstance(found, NoSpeech):
            return self._refused(found.reason, found.detail, found.sound)
        told = self._recogniser.recognise(found.sound)
        return self._judged(
            replace(told, sound=found.sound, start_s=found.start_s, end_s=found.end_s)
        )

    def room_sound(self, seconds: float) -> bytes:
        """See `RoomListener.room_sound`."""
        self._source.flush()
        return b"".join(takewhile(bool, islice(self._frames, round(seconds / FRAME_S))))

    def _followed(self, endpointer: StreamEndpointer, listening: Listening) -> Heard:
        endpointer.begin(listening.expects)
        timeout_s = listening.timeout_s
        waited_s = 0.0
        while waited_s < timeout_s or endpointer.speaking():
            frame = next(self._frames, None)
            if frame is None:
                found = endpointer.end()
                if found is None and waited_s == 0.0:
                    raise SoundEnded("the sound source has no more sound")
                return self._judged(found) if found else self._refused("silence", "the sound ended")
            if not frame:
                return self._refused("sound_lost", "sound was lost between microphone and program")
            waited_s += FRAME_S
            if found := endpointer.follow(frame):
                return self._judged(found)
        return self._refused("silence", f"no speech began within {timeout_s:.1f} s")

    def _refused(self, reason: RefusalReason, detail: str, sound: bytes = b"") -> Refusal:
        how = How(ears=self.name, detail=detail)
        return Refusal(reason, _with_levels(how, measure_levels(sound)) if sound else how, sound)

    def _judged(self, found: Recognition | Refusal) -> Heard:
        recogniser = self._recogniser
        levels = measure_levels(found.sound)
        if isinstance(found, Refusal):
            detail = f"{found.how.detail}; {levels}"
            return self._refused(found.reason, detail, found.sound)
        how = _with_levels(How(found.words, self.name), levels)
        is_unsure = not found.words or found.confidence < recogniser.least_confidence
        if is_unsure or _is_spoiled(levels):
            unfit = not found.words or found.confidence < recogniser.least_resemblance
            reason = _why_not(levels) or ("not_in_grammar" if unfit else "unsure")
            how = replace(how, detail=f"{found.detail}; {levels}")
            return Refusal(reason, how, found.sound, found.meaning)
        how = replace(
            how,
            confidence=found.confidence,
            start_s=found.start_s,
            end_s=found.end_s,
            n_best=found.n_best,
        )
        return Utterance(found.meaning, how, found.sound)

    def close(self) -> None:
        """Let go of the source."""
        self._source.close()


def _with_levels(how: How, levels: Levels) -> How:
    return replace(
        how,
        speech_dbfs=round(levels.speech_dbfs, 1),
        background_dbfs=round(levels.background_dbfs, 1),
        snr_db=round(levels.speech_above_background_db, 1),
    )


def _is_spoiled(levels: Levels) -> bool:
    """The sound is such that nothing in it may be believed."""
    return (
        levels.clipped_share > _SPOILED_CLIPPED_SHARE or levels.speech_dbfs < _SPOILED_SPEECH_DBFS
    )


def _why_not(levels: Levels) -> RefusalReason | None:
    """What about the sound itself may have kept words from being understood."""
    if levels.clipped_share > _MOST_CLIPPED_SHARE:
        return "clipped"
    if levels.speech_dbfs < _LEAST_SPEECH_DBFS:
        return "too_quiet"
    if levels.speech_above_background_db < _LEAST_ABOVE_BACKGROUND_DB:
        return "too_loud"
    return None

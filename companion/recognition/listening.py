"""The usual ears: a sound source, something that finds utterances, and a recogniser."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, islice, takewhile

from companion.errors import EarsError
from companion.recognition.endpoint import Endpointer, EndpointSettings, NoSpeech
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.level import measure_levels
from companion.recognition.overhearing import Overhearing, OverVoiceSettings, TellsSpeech
from companion.recognition.port import (
    FRAME_S,
    FollowingRecogniser,
    Found,
    Heard,
    Levels,
    Listening,
    Recogniser,
    Refusal,
    RefusalReason,
    SoundEnded,
    SoundSource,
    StreamEndpointer,
    Utterance,
)

_NOTHING_BEGAN_S = 1.0
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
    several threads at once. `over_voice`: how to listen while the companion speaks, where that is
    done at all; only a recogniser that finds utterances by itself can.
    """

    def __init__(
        self,
        source: SoundSource,
        recogniser: Recogniser,
        settings: EndpointSettings | None = None,
        over_voice: OverVoiceSettings | None = None,
    ) -> None:
        self.name = recogniser.name
        self._source = source
        self._recogniser = recogniser
        self._frames = iter(source.frames())
        self._stream: StreamEndpointer | None = None
        if isinstance(recogniser, FollowingRecogniser):
            self._stream = recogniser.endpointer()
        self._endpointer = Endpointer(self._frames, settings)
        self._overhearing: Overhearing | None = None
        if over_voice is not None and isinstance(recogniser, TellsSpeech):
            self._overhearing = Overhearing(recogniser, over_voice)

    def hear(self, listening: Listening) -> Heard:
        """One utterance or the reason why there is none.

        Raises `EarsError` if the grammar holds words that cannot be heard or the source fails,
        `SoundEnded` if the source was already used up.
        """
        self._recogniser.load(listening.grammar)
        if self._stream is not None and listening.begun is not None:
            heard = self._heard_on(self._stream, listening, listening.begun)
            return heard or self._followed(self._stream, listening)
        self._source.flush()
        if self._stream is not None:
            return self._followed(self._stream, listening)
        found = self._endpointer.next_utterance(listening.timeout_s)
        if isinstance(found, NoSpeech):
            levels = measure_levels(found.sound)
            return Refusal(found.reason, "", found.sound, self.name, found.detail, levels)
        recognition = self._recogniser.recognise(found.sound)
        return self._judged(Found(found.sound, found.start_s, found.end_s, recognition))

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """See `OverhearingEars.overhear`. Raises EarsError where these ears cannot."""
        if self._overhearing is None or self._stream is None:
            raise EarsError(f"the ears '{self.name}' cannot listen while the companion speaks")
        self._recogniser.load(stop.grammar)
        self._source.flush(deaf=False)
        found = self._overhearing.listen(said, self._frames, self._stream, self._is_sure)
        if found is None or isinstance(found, Begun):
            return found
        what, into = found
        heard = self._judged(what)
        assert isinstance(heard, Utterance)  # noqa: S101  -- `_is_sure` has asked
        return replace(heard, into=into)

    def _is_sure(self, found: Found) -> bool:
        return isinstance(self._judged(found), Utterance)

    def _heard_on(
        self, endpointer: StreamEndpointer, listening: Listening, begun: Begun
    ) -> Heard | None:
        """The answer that began while the companion spoke; None where nobody said anything.

        What ends with the companion's own voice is refused, for what is heard after it may be the
        rest of an answer.
        """
        assert self._overhearing is not None  # noqa: S101  -- it has heard the beginning
        endpointer.begin(listening.expects)
        since_s = 0.0
        for place, frame in enumerate(chain(begun.frames, self._frames)):
            if not frame:
                detail = "sound was lost between microphone and program"
                return Refusal("sound_lost", "", b"", self.name, detail)
            since_s += FRAME_S if place >= len(begun.frames) else 0.0
            if found := endpointer.follow(frame):
                if self._overhearing.goes_on(found, since_s):
                    return replace(self._judged(found), into=begun.into)
                detail = "nobody went on speaking when the companion fell silent"
                return Refusal("unsure", "", found.sound, self.name, detail, into=begun.into)
            if since_s > _NOTHING_BEGAN_S and not endpointer.speaking():
                return None
        return None

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
                return self._judged(found) if found else self._silence("the sound ended")
            if not frame:
                detail = "sound was lost between microphone and program"
                return Refusal("sound_lost", "", b"", self.name, detail)
            waited_s += FRAME_S
            if found := endpointer.follow(frame):
                return self._judged(found)
        return self._silence(f"no speech began within {timeout_s:.1f} s")

    def _silence(self, detail: str) -> Refusal:
        return Refusal("silence", "", b"", self.name, detail)

    def _judged(self, found: Found) -> Heard:
        recogniser = self._recogniser
        levels = measure_levels(found.sound)
        recognition = found.recognition
        if recognition is None:
            detail = f"speech went on for {found.end_s - found.start_s:.0f} s; {levels}"
            return Refusal("too_long", "", found.sound, self.name, detail, levels)
        detail = f"{recognition.detail}; {levels}"
        is_unsure = not recognition.words or recognition.confidence < recogniser.least_confidence
        if is_unsure or _is_spoiled(levels):
            unfit = not recognition.words or recognition.confidence < recogniser.least_resemblance
            reason = _why_not(levels) or ("not_in_grammar" if unfit else "unsure")
            words = recognition.words
            return Refusal(reason, words, found.sound, self.name, detail, levels)
        return Utterance(
            words=recognition.words,
            confidence=recognition.confidence,
            start_s=found.start_s,
            end_s=found.end_s,
            n_best=recognition.n_best,
            sound=found.sound,
            ears=self.name,
            detail=detail,
            levels=levels,
        )

    def close(self) -> None:
        """Let go of the source."""
        self._source.close()


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

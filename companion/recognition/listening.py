"""The usual ears: a sound source, something that finds utterances, and a recogniser."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, islice, takewhile

from companion.errors import EarsError
from companion.facts.talking import How
from companion.recognition.endpoint import Endpointer, EndpointSettings, NoSpeech
from companion.recognition.into import Begun, BeingSaid
from companion.recognition.level import measure_levels
from companion.recognition.overhearing import Overhearing, OverVoiceSettings, TellsSpeech
from companion.recognition.port import (
    FRAME_S,
    Heard,
    Levels,
    Listening,
    Recogniser,
    Recognition,
    Refusal,
    RefusalReason,
    SoundEnded,
    SoundSource,
    StepGrammarLike,
    StreamEndpointer,
    StreamingRecogniser,
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
        if isinstance(recogniser, StreamingRecogniser):
            self._stream = recogniser.endpointer()
        self._endpointer = Endpointer(self._frames, settings)
        self._stop: StepGrammarLike | None = None
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
            return self._refused(found.reason, found.detail, found.sound)
        told = self._recogniser.recognise(found.sound)
        return self._judged(
            replace(told, sound=found.sound, start_s=found.start_s, end_s=found.end_s)
        )

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """See `OverhearingEars.overhear`. Raises EarsError where these ears cannot."""
        if self._overhearing is None or self._stream is None:
            raise EarsError(f"the ears '{self.name}' cannot listen while the companion speaks")
        self._recogniser.load(stop.grammar)
        self._source.flush(deaf=False)
        self._stop = stop.grammar
        found = self._overhearing.listen(said, self._frames, self._stream, self._as_stop)
        if found is None or isinstance(found, Begun):
            return found
        heard, into = found
        return replace(heard, how=replace(heard.how, into=into))

    def _as_stop(self, found: Recognition) -> Utterance | None:
        heard = self._judged(found)
        return heard if isinstance(heard, Utterance) else None

    def _heard_on(
        self, endpointer: StreamEndpointer, listening: Listening, begun: Begun
    ) -> Heard | None:
        """The answer that began while the companion spoke; None where nobody said anything.

        What ends with the companion's own voice is refused, for what is heard after it may be the
        rest of an answer.
        """
        if begun.into is None or self._overhearing is None:
            return None
        endpointer.begin(listening.expects)
        since_s = 0.0
        for place, frame in enumerate(chain(begun.frames, self._frames)):
            if not frame:
                return self._refused("sound_lost", "sound was lost between microphone and program")
            if place >= len(begun.frames):
                since_s += FRAME_S
                self._overhearing.follow_on(frame)
            if found := endpointer.follow(frame):
                heard = self._judged(found)
                if isinstance(found, Recognition) and not self._is_a_persons(found, since_s):
                    detail = "nobody went on speaking when the companion fell silent"
                    heard = self._refused("unsure", detail, found.sound)
                how = replace(heard.how, into=begun.into)
                if isinstance(heard, Refusal):
                    # The companion's own words lie under it: no guess at it acts, not even "stop".
                    return replace(heard, how=how, meaning=None)
                return replace(heard, how=how)
            if since_s > _NOTHING_BEGAN_S and not endpointer.speaking():
                return None
        return None

    def _is_a_persons(self, found: Recognition, since_s: float) -> bool:
        if self._overhearing is None:
            return False
        stop = self._stop.parse(found.words) if self._stop is not None else None
        is_stop = stop is not None and stop == found.meaning
        return self._overhearing.is_a_persons(found, since_s, is_stop=is_stop)

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

"""The usual ears: a sound source, an endpointer and a recogniser behind the one port."""

from __future__ import annotations

from companion.ears.endpoint import Endpointer, EndpointSettings, NoSpeech, Speech
from companion.ears.port import (
    Heard,
    Listening,
    Recogniser,
    Recognition,
    Refusal,
    SoundSource,
    Utterance,
)


class StreamEars:
    """Hears one utterance per turn from a source.

    `hear` first forgets what the source collected since the last turn (what was said while the
    companion spoke). Not for use from several threads at once.
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
        self._endpointer = Endpointer(iter(source.frames()), settings)

    def hear(self, listening: Listening) -> Heard:
        """One utterance or the reason why there is none.

        Raises `EarsError` if the grammar holds words that cannot be heard or the source fails,
        `SoundEnded` if the source was already used up.
        """
        self._recogniser.load(listening.grammar)
        self._source.flush()
        found = self._endpointer.next_utterance(listening.timeout_s)
        if isinstance(found, NoSpeech):
            return Refusal(found.reason, "", found.sound, self.name, found.detail)
        return self._judged(found, self._recogniser.recognise(found.sound))

    def _judged(self, speech: Speech, recognition: Recognition) -> Heard:
        recogniser = self._recogniser
        levels = (
            f"speech {speech.levels.speech_dbfs:.0f} dBFS, "
            f"background {speech.levels.background_dbfs:.0f} dBFS"
        )
        detail = f"{recognition.detail}; {levels}"
        if not recognition.words or recognition.confidence < recogniser.least_resemblance:
            return Refusal("not_in_grammar", recognition.words, speech.sound, self.name, detail)
        if recognition.confidence < recogniser.least_confidence:
            return Refusal("unsure", recognition.words, speech.sound, self.name, detail)
        return Utterance(
            words=recognition.words,
            confidence=recognition.confidence,
            start_s=speech.start_s,
            end_s=speech.end_s,
            n_best=recognition.n_best,
            sound=speech.sound,
            ears=self.name,
        )

    def close(self) -> None:
        """Let go of the source."""
        self._source.close()

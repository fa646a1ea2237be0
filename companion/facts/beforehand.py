"""What is found out about room and voice before the work begins."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from companion.facts.codec import LEFT_OUT, SPREAD


@dataclass(frozen=True, slots=True)
class RoomNoise:
    """What was heard while nobody spoke, and whether the voice can be relied on here."""

    floor_dbfs: Annotated[float | None, "the quiet moments, dB below full scale"]
    loud_dbfs: Annotated[float | None, "what it often comes to, dB below full scale"]
    voice: Annotated[str, "reliable, uncertain or unreliable"]
    advice: Annotated[str, "the same in words, with what to do"]
    found: Annotated[
        str, LEFT_OUT, "quiet, loud, too_loud, overdriven or dead; by it a language finds its words"
    ] = ""


@dataclass(frozen=True, slots=True)
class EchoHeard:
    """What the microphone hears of the loudspeaker, as it was measured for this pair of devices."""

    above_background_db: Annotated[float, "negative where it is below what else is heard"]
    echo_dbfs: Annotated[float, "its level at the microphone, dB below full scale"]
    delay_s: Annotated[float, "so much later than it is played, seconds"]


@dataclass(frozen=True, slots=True)
class IntoPrompts:
    """Answers may be given into prompts; None in its place where they may not."""

    echo: EchoHeard
    known: Annotated[
        tuple[str, ...], LEFT_OUT, "prompts that this person heard in full earlier that day"
    ] = ()


@dataclass(frozen=True, slots=True)
class HearingBefore:
    """What is known of the hearing before the first word.

    Limits on answers come from the person's voice check earlier that day.
    """

    noise: Annotated[RoomNoise | None, "null where there is no microphone"] = None
    offer_check: Annotated[bool, "the voice check is to be offered"] = False
    digit_by_digit: Annotated[bool, "numbers are taken digit by digit alone"] = False
    least_confidence: Annotated[float, "an answer has to be surer than this, 0 to 1"] = 0.0
    into_prompts: Annotated[
        IntoPrompts | None, LEFT_OUT, "answers may be given before a known prompt has ended"
    ] = None


@dataclass(frozen=True, slots=True)
class NoiseChecked:
    """The room was listened to before the first word."""

    KIND: ClassVar[str] = "noise_checked"

    noise: Annotated[RoomNoise, SPREAD]


@dataclass(frozen=True, slots=True)
class VoiceFound:
    """What a voice check that was made to its end found, and what follows for the answers."""

    asked: Annotated[int, "words"]
    right: Annotated[int, "words that were understood as they were asked for"]
    confused: Annotated[tuple[str, ...], 'taken for another word: "fifteen -> fifty"']
    speech_dbfs: Annotated[float | None, "middle of the words, dB below full scale"]
    snr_db: Annotated[float | None, "middle of the words: how far they stood above the noise"]
    digit_by_digit: Annotated[bool, "numbers are taken digit by digit alone from here on"]
    least_confidence: Annotated[float, "an answer has to be surer than this, 0 to 1"]


@dataclass(frozen=True, slots=True)
class VoiceChecked:
    """How the voice check ended; only one made to its end has more than its outcome."""

    KIND: ClassVar[str] = "voice_checked"

    outcome: Annotated[str, "well, fair or poor; else declined, left or unanswered"]
    found: Annotated[VoiceFound | None, SPREAD] = None

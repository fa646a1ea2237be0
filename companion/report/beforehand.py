"""In words: what was found out about room and voice before the work began."""

from __future__ import annotations

from companion.facts.beforehand import NoiseChecked, RoomNoise, VoiceChecked, VoiceFound
from companion.report.wording import Wording


def checked_beforehand(fact: NoiseChecked | VoiceChecked, wording: Wording) -> tuple[str, str, str]:
    """A noise or voice check: its label, what came of it, and the figures behind it."""
    match fact:
        case NoiseChecked(noise):
            told = wording(
                "room-told",
                voice=wording.words.named("voice-", noise.voice),
                advice=_advice(noise, wording),
            )
            return wording("label-noise_check"), told, _levels(noise, wording)
        case VoiceChecked(outcome, found):
            said = wording.words.named("voice-outcome-", outcome)
            if found is None:
                return wording("label-voice_check"), said, ""
            told = wording("voice-check-told", outcome=said, right=found.right, asked=found.asked)
            return wording("label-voice_check"), told, " · ".join(_figures(found, wording))


def _advice(noise: RoomNoise, wording: Wording) -> str:
    """By what was found; as it was recorded where an older record does not say it."""
    id_ = f"noise-{noise.found}"
    return wording(id_) if wording.words.has(id_) else noise.advice


def _levels(noise: RoomNoise, wording: Wording) -> str:
    if noise.floor_dbfs is None or noise.loud_dbfs is None:
        return ""
    floor, loud = (wording.number(level, 0) for level in (noise.floor_dbfs, noise.loud_dbfs))
    return wording("room-levels", floor=floor, loud=loud)


def _figures(found: VoiceFound, wording: Wording) -> list[str]:
    told = []
    if found.confused:
        told.append(wording("voice-confused", words=", ".join(found.confused)))
    if found.speech_dbfs is not None:
        told.append(wording("voice-speech", level=wording.number(found.speech_dbfs, 0)))
    if found.snr_db is not None:
        told.append(wording("voice-above-noise", level=wording.number(found.snr_db, 0)))
    if found.digit_by_digit:
        told.append(wording("voice-digit-by-digit"))
    if found.least_confidence:
        confidence = wording.number(found.least_confidence, 2)
        told.append(wording("voice-asked-again", confidence=confidence))
    return told

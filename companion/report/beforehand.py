"""In words: what was found out about room and voice before the work began."""

from __future__ import annotations

from companion.facts.beforehand import NoiseChecked, RoomNoise, VoiceChecked, VoiceFound


def checked_beforehand(fact: NoiseChecked | VoiceChecked) -> tuple[str, str, str]:
    """A noise or voice check: its label, what came of it, and the figures behind it."""
    match fact:
        case NoiseChecked(noise):
            return "noise check", f"voice {noise.voice}: {noise.advice}", _levels(noise)
        case VoiceChecked(outcome, found):
            if found is None:
                return "voice check", outcome, ""
            told = f"heard {outcome}, {found.right} of {found.asked} words right"
            return "voice check", told, " · ".join(_figures(found))


def _levels(noise: RoomNoise) -> str:
    if noise.floor_dbfs is None or noise.loud_dbfs is None:
        return ""
    return f"floor {noise.floor_dbfs:.0f} dBFS, often {noise.loud_dbfs:.0f}"


def _figures(found: VoiceFound) -> list[str]:
    told = []
    if found.confused:
        told.append(f"taken for another: {', '.join(found.confused)}")
    if found.speech_dbfs is not None:
        told.append(f"speech {found.speech_dbfs:.0f} dBFS")
    if found.snr_db is not None:
        told.append(f"{found.snr_db:.0f} dB above the noise")
    if found.digit_by_digit:
        told.append("numbers digit by digit from here on")
    if found.least_confidence:
        told.append(f"answers below {found.least_confidence:.2f} asked again")
    return told

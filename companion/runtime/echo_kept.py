"""Whether answers may be given into prompts on this box: what was measured has to hold for it."""

from __future__ import annotations

from companion.base import sound_cards
from companion.errors import EarsError
from companion.recognition.microphone import MicrophoneError
from companion.record.last_echo import LastEcho, last_echo
from companion.runtime.assembly import DEFAULT_RECOGNISER, EarsChoice, VoiceChoice
from companion.settings.model import Settings

MEASURE = "companion check --echo"


def echo_for_answers(settings: Settings, ears: EarsChoice, voice: VoiceChoice) -> LastEcho | None:
    """What the microphone hears of the loudspeaker, where answers into prompts are set; else None.

    Raises EarsError, with what to do, where they are set and cannot be: nothing was measured, it
    was with other devices or another volume, or the loudspeaker is heard too well.
    """
    if not settings.answers_into_prompts:
        return None
    if ears.kind != DEFAULT_RECOGNISER or ears.sound is not None or voice.kind != "speaker":
        raise _refused("into-prompts-not-live", ears=DEFAULT_RECOGNISER)
    measured = last_echo()
    if measured is None:
        raise _refused("into-prompts-not-measured")
    try:
        now = (
            sound_cards.name_of(ears.microphone, "input"),
            sound_cards.name_of(voice.loudspeaker, "output"),
        )
    except (ValueError, sound_cards.NoPortAudio) as error:
        said, why = "into-prompts-no-device", str(error)
        raise MicrophoneError(_TOLD[said].format(why=why), said=said, why=why) from error
    if now != (measured.microphone, measured.loudspeaker):
        raise _refused(
            "into-prompts-other-devices",
            then=f"{measured.microphone}, {measured.loudspeaker}",
            now=", ".join(now),
        )
    if settings.loudness_limit_db > measured.limit_db:
        raise _refused(
            "into-prompts-other-volume",
            then=f"{measured.limit_db:g}",
            now=f"{settings.loudness_limit_db:g}",
        )
    if not measured.allows_answers:
        raise _refused("into-prompts-too-loud", above=f"{measured.above_background_db:.0f}")
    return measured


_WANTED = f"wanted: '{MEASURE}', or 'answers_into_prompts: false' in the settings"
_TOLD = {
    "into-prompts-not-live": "answers into prompts: only by a live microphone, the ears '{ears}' "
    "and a voice that is spoken; wanted: --ears {ears} --voice speaker, or "
    "'answers_into_prompts: false' in the settings",
    "into-prompts-not-measured": "answers into prompts: found no measurement of what the "
    "microphone hears of the loudspeaker; " + _WANTED,
    "into-prompts-no-device": "answers into prompts: the devices cannot be told ({why}); wanted: a "
    "connected microphone and loudspeaker",
    "into-prompts-other-devices": "answers into prompts: measured with {then}; found {now}; "
    + _WANTED,
    "into-prompts-other-volume": "answers into prompts: measured with a voice of at most {then} "
    "dB; found {now} dB; " + _WANTED,
    "into-prompts-too-loud": "answers into prompts: the microphone hears the loudspeaker {above} "
    "dB above the background; wanted: a headset, and '" + MEASURE + "' with it, or "
    "'answers_into_prompts: false' in the settings",
}


def _refused(said: str, **values: str) -> EarsError:
    return EarsError(_TOLD[said].format(**values), said=said, **values)

"""Whether answers may be given into prompts on this box: what was measured has to hold for it."""

from __future__ import annotations

from companion.base import sound_cards
from companion.errors import EarsError
from companion.recognition.microphone import MicrophoneError
from companion.record.last_echo import LastEcho, last_echo
from companion.runtime.assembly import DEFAULT_RECOGNISER, EarsChoice, VoiceChoice
from companion.settings.model import Settings


def echo_for_answers(settings: Settings, ears: EarsChoice, voice: VoiceChoice) -> LastEcho | None:
    """What the microphone hears of the loudspeaker, where answers into prompts are set; else None.

    Raises EarsError, with what to do, where they are set and cannot be: nothing was measured, it
    was with other devices or another volume, or the loudspeaker is heard too well.
    """
    if not settings.answers_into_prompts:
        return None
    if ears.kind != DEFAULT_RECOGNISER or ears.sound is not None or voice.kind != "speaker":
        own = DEFAULT_RECOGNISER
        raise EarsError(
            f"answers into prompts: only by a live microphone, the ears '{own}' and a voice that "
            f"is spoken; wanted: --ears {own} --voice speaker, or 'answers_into_prompts: false' "
            "in the settings",
            said="into-prompts-not-live",
            ears=own,
        )
    measured = last_echo()
    if measured is None:
        raise EarsError(
            "answers into prompts: found no measurement of what the microphone hears of the "
            "loudspeaker; wanted: 'companion check --echo', or 'answers_into_prompts: false' in "
            "the settings",
            said="into-prompts-not-measured",
        )
    _refuse_others(measured, ears, voice)
    if settings.loudness_limit_db > measured.limit_db:
        then, now = f"{measured.limit_db:g}", f"{settings.loudness_limit_db:g}"
        raise EarsError(
            f"answers into prompts: measured with a voice of at most {then} dB; found {now} dB; "
            "wanted: 'companion check --echo', or 'answers_into_prompts: false' in the settings",
            said="into-prompts-other-volume",
            then=then,
            now=now,
        )
    if not measured.allows_answers:
        echo = f"{measured.echo_dbfs:.0f}"
        raise EarsError(
            f"answers into prompts: the microphone hears the loudspeaker at {echo} dBFS, which is "
            "too loud; wanted: a headset, and 'companion check --echo' with it, or "
            "'answers_into_prompts: false' in the settings",
            said="into-prompts-too-loud",
            echo=echo,
        )
    return measured


def _refuse_others(measured: LastEcho, ears: EarsChoice, voice: VoiceChoice) -> None:
    try:
        microphone = sound_cards.name_of(ears.microphone, "input")
        loudspeaker = sound_cards.name_of(voice.loudspeaker, "output")
    except (ValueError, sound_cards.NoPortAudio) as error:
        raise MicrophoneError(
            f"answers into prompts: the devices cannot be told ({error}); wanted: a connected "
            "microphone and loudspeaker",
            said="into-prompts-no-device",
            why=str(error),
        ) from error
    if (microphone, loudspeaker) != (measured.microphone, measured.loudspeaker):
        then, now = f"{measured.microphone}, {measured.loudspeaker}", f"{microphone}, {loudspeaker}"
        raise EarsError(
            f"answers into prompts: measured with {then}; found {now}; wanted: 'companion check "
            "--echo', or 'answers_into_prompts: false' in the settings",
            said="into-prompts-other-devices",
            then=then,
            now=now,
        )

"""Ears and voice as the settings want them: speed, loudness, tones, and prompts made ahead."""

from __future__ import annotations

from companion.dialogue.machine import begin
from companion.dialogue.prefetch import said_ahead
from companion.job.loader import LoadedJob
from companion.language.language import Language
from companion.recognition.port import Ears
from companion.recognition.signals import SignallingEars
from companion.runtime.into_prompts import speed_at
from companion.settings.model import Settings
from companion.speech.ahead import AheadOfTime
from companion.speech.loudness import Loudness, SettledVoice
from companion.speech.port import BRISK_PERCENT, Voice

TAIL_S = 0.15
"""After the listening tone the ears stay deaf for so long: it rings off in the room."""


def settled_voice(voice: Voice, settings: Settings) -> SettledVoice:
    """The voice with the shop's speed and loudness."""
    loudness = Loudness(
        settings.loudness_in_quiet_db, settings.loudness_limit_db, settings.loudness_follows_noise
    )
    return SettledVoice(voice, loudness, settings.voice_speed_wpm, settings.earcons)


def settled_ears(ears: Ears, voice: SettledVoice, settings: Settings) -> Ears:
    """The ears, which tell the voice how loud it is and let it play the tones."""
    pause_s = settings.deaf_after_speaking_s - microphone_deaf_s(settings)
    return SignallingEars(ears, voice.listening, voice.answered, voice.hear_noise, pause_s)


def microphone_deaf_s(settings: Settings) -> float:
    """How long the microphone itself is deaf once listening begins.

    Where a tone says that it is the person's turn, most of the deaf time lies before the tone.
    """
    sounds = settings.earcons and settings.voice == "speaker" and settings.ears != "typed"
    deaf_s = settings.deaf_after_speaking_s
    return min(TAIL_S, deaf_s) if sounds else deaf_s


def render_ahead(
    voice: Voice, loaded: LoadedJob, language: Language, brisk_percent: int = BRISK_PERCENT
) -> AheadOfTime:
    """Begin to render what the job will say in the background, each thing at its pace.

    What is brisk where all goes well comes unhurried after that: so it is said in a loud room, and
    once more where it was not answered.
    """
    ahead = tuple(said_ahead(begin(loaded.plan, language)))
    as_usual = ((text, speed_at(pace, brisk_percent)) for text, pace in ahead)
    once_more = ((text, speed_at("unhurried")) for text, pace in ahead if pace == "brisk")
    return AheadOfTime(voice, (*as_usual, *once_more))

"""Looks at the voice: the loudspeaker, the speech, and whether the ears hear it say something."""

from __future__ import annotations

import threading

import numpy as np

from companion.dialogue.asking import confirmation_of
from companion.dialogue.kind import kind_of
from companion.errors import CompanionError, EarsError, VoiceError
from companion.language.grammar import StepGrammar
from companion.recognition.conditions import room_levels
from companion.recognition.listening import StreamEars
from companion.recognition.port import Heard, Listening, Utterance
from companion.runtime import assembly
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding
from companion.speech.player import SilentSink, read_prompt
from companion.speech.speech import SpeechVoice

PHRASE = "where are we"
"""Both recognisers that ship hear it from the usual voice; shorter words they often refuse."""
_PAUSE_BEFORE_S = 0.8
_PATIENCE_S = 6.0
_STANDS_OUT_DB = 10.0


def loudspeaker(bench: Bench) -> Finding:
    """Whether the loudspeaker can be opened."""
    name = bench.settings.loudspeaker or "the system's own loudspeaker"
    wanted = "a loudspeaker that plays"
    try:
        bench.open_loudspeaker().close()
    except VoiceError as error:
        if not bench.needs_loudspeaker:
            return Finding("skipped", f"prompts are shown, not spoken, and: {error}", wanted)
        to_do = "Plug it in; its name: companion check --devices; then set 'loudspeaker'."
        return Finding("wrong", str(error), wanted, to_do)
    return Finding("well", f"{name} can play", wanted)


def voice(bench: Bench) -> Finding:
    """Whether a speech maker makes sound of words."""
    wanted = "a spoken prompt"
    try:
        spoken = SpeechVoice(bench.voice_folder, SilentSink()).say(PHRASE)
        assert spoken.sound is not None  # noqa: S101  -- the phrase has words in it
        samples, _ = read_prompt(spoken.sound, 1.0)
    except VoiceError as error:
        to_do = "Install a speech maker: apt install espeak-ng libespeak-ng1"
        return Finding("wrong" if bench.needs_loudspeaker else "look", str(error), wanted, to_do)
    loudest = float(np.abs(samples).max())
    found = f"{spoken.maker} spoke {spoken.duration_s:.1f} s, up to {loudest:.0%} of full scale"
    if loudest < 0.01:
        return Finding("wrong", found, wanted, "The speech maker gives silence. Reinstall it.")
    to_do = f"Before it failed: {'; '.join(spoken.complaints)}" if spoken.complaints else ""
    return Finding("look" if to_do else "well", found, wanted, to_do)


def loop_back(bench: Bench) -> Finding:
    """Speak a phrase through the loudspeaker and hear it through the microphone."""
    wanted = f"'{PHRASE}', spoken here and heard here"
    try:
        heard, quiet = _speak_and_hear(bench)
    except (EarsError, VoiceError) as error:
        return Finding("skipped", str(error), wanted)
    except StopIteration:
        return Finding("skipped", "the job has no reading to listen for", wanted)
    rise_db = room_levels(heard.sound).loud_dbfs - quiet if heard.sound else 0.0
    if isinstance(heard, Utterance) and heard.words == PHRASE:
        return Finding("well", f"'{heard.words}', {rise_db:.0f} dB above the room", wanted)
    if rise_db < _STANDS_OUT_DB:
        to_do = "Hold a headset's earpiece to its microphone and check again, or turn it up."
        return Finding("look", "the microphone does not hear the loudspeaker", wanted, to_do)
    found = f"a sound {rise_db:.0f} dB above the room, understood as '{heard.words}'"
    return Finding("look", found, wanted, "Check again where it is quiet; then speak a job.")


def _speak_and_hear(bench: Bench) -> tuple[Heard, float]:
    """What was heard of the phrase, and the room's level in dBFS without it."""
    quiet_dbfs = room_levels(bench.room_sound).floor_dbfs
    plan = bench.loaded.plan
    reading = next(step for step in plan.steps if kind_of(plan, step).takes_readings)
    grammar: StepGrammar = bench.language.for_step(confirmation_of(plan, reading))
    recogniser = bench.recogniser
    speaking = SpeechVoice(bench.voice_folder, bench.open_loudspeaker())
    speaking.prepare([PHRASE])
    ears = StreamEars(
        bench.open_microphone(), recogniser, assembly.endpoint_settings(bench.ears_kind)
    )
    failed: list[CompanionError] = []

    def speak() -> None:
        try:
            speaking.say(PHRASE)
        except CompanionError as error:
            failed.append(error)

    speaker = threading.Timer(_PAUSE_BEFORE_S, speak)
    try:
        recogniser.load(grammar)
        speaker.start()
        heard = ears.hear(Listening("check", grammar, _PATIENCE_S))
    finally:
        speaker.join()
        ears.close()
        speaking.close()
    if failed:
        raise failed[0]
    return heard, quiet_dbfs

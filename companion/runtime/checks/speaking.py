"""Looks at the voice: the loudspeaker, the speech, and whether the ears hear it say something."""

from __future__ import annotations

import threading

import numpy as np

from companion.dialogue.kind import confirmation_of, kind_of
from companion.errors import CompanionError, EarsError, VoiceError
from companion.language.grammar import StepGrammar
from companion.recognition.conditions import room_levels
from companion.recognition.listening import StreamEars
from companion.recognition.port import Heard, Listening, Utterance
from companion.runtime import assembly
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding, State
from companion.speech.player import SilentSink, read_prompt

PHRASE = "where_are_we"
"""The command that is said. In English both recognisers that ship hear it from the usual voice;
shorter words they often refuse."""
_PAUSE_BEFORE_S = 0.8
_PATIENCE_S = 6.0
_STANDS_OUT_DB = 10.0


def loudspeaker(bench: Bench) -> Finding:
    """Whether the loudspeaker can be opened."""
    say = bench.say
    name = bench.settings.loudspeaker or say("check-loudspeaker-own")
    wanted = say("check-loudspeaker-wanted")
    try:
        bench.open_loudspeaker().close()
    except VoiceError as error:
        if not bench.needs_loudspeaker:
            return Finding(
                "skipped",
                say("check-loudspeaker-shown", error=bench.say.words.problem(error)),
                wanted,
            )
        return Finding(
            "wrong", bench.say.words.problem(error), wanted, say("check-loudspeaker-to-do")
        )
    return Finding("well", say("check-loudspeaker-well", name=name), wanted)


def voice(bench: Bench) -> Finding:
    """Whether a speech maker makes sound of words."""
    say = bench.say
    wanted = say("check-voice-wanted")
    try:
        spoken = bench.speaking(SilentSink()).say(_phrase(bench))
        assert spoken.sound is not None  # noqa: S101  -- the phrase has words in it
        samples, _ = read_prompt(spoken.sound, 1.0)
    except VoiceError as error:
        state: State = "wrong" if bench.needs_loudspeaker else "look"
        return Finding(state, bench.say.words.problem(error), wanted, say("check-voice-to-do"))
    loudest = float(np.abs(samples).max())
    found = say(
        "check-voice-found",
        maker=spoken.maker,
        seconds=say.number(spoken.duration_s, 1),
        loudest=say.share(100 * loudest),
    )
    if loudest < 0.01:
        return Finding("wrong", found, wanted, say("check-voice-silent"))
    if not spoken.complaints:
        return Finding("well", found, wanted)
    to_do = say("check-voice-complaints", complaints="; ".join(spoken.complaints))
    return Finding("look", found, wanted, to_do)


def loop_back(bench: Bench) -> Finding:
    """Speak a phrase through the loudspeaker and hear it through the microphone."""
    say = bench.say
    phrase = _phrase(bench)
    wanted = say("check-loop-wanted", phrase=phrase)
    try:
        heard, quiet = _speak_and_hear(bench, phrase)
    except (EarsError, VoiceError) as error:
        return Finding("skipped", bench.say.words.problem(error), wanted)
    except StopIteration:
        return Finding("skipped", say("check-loop-no-reading"), wanted)
    rise_db = room_levels(heard.sound).loud_dbfs - quiet if heard.sound else 0.0
    rise = say.number(rise_db, 0)
    if isinstance(heard, Utterance) and heard.words == phrase:
        return Finding("well", say("check-loop-well", words=heard.words, rise=rise), wanted)
    if rise_db < _STANDS_OUT_DB:
        return Finding("look", say("check-loop-deaf"), wanted, say("check-loop-deaf-to-do"))
    found = say("check-loop-other", rise=rise, words=heard.words)
    return Finding("look", found, wanted, say("check-loop-other-to-do"))


def _phrase(bench: Bench) -> str:
    return bench.language.grammar.command_phrase(PHRASE)


def _speak_and_hear(bench: Bench, phrase: str) -> tuple[Heard, float]:
    """What was heard of the phrase, and the room's level in dBFS without it."""
    quiet_dbfs = room_levels(bench.room_sound).floor_dbfs
    plan = bench.loaded.plan
    reading = next(step for step in plan.steps if kind_of(plan, step).takes_readings)
    grammar: StepGrammar = bench.language.for_step(confirmation_of(plan, reading))
    recogniser = bench.recogniser
    speaking = bench.speaking(bench.open_loudspeaker())
    speaking.prepare([phrase])
    ears = StreamEars(
        bench.open_microphone(), recogniser, assembly.endpoint_settings(bench.ears_kind)
    )
    failed: list[CompanionError] = []

    def speak() -> None:
        try:
            speaking.say(phrase)
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

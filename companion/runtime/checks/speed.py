"""Looks at how fast the ears are on this very box: seconds of work for a second of speech."""

from __future__ import annotations

import time

from companion.dialogue.asking import PAUSED
from companion.errors import EarsError, VoiceError
from companion.recognition.listening import StreamEars
from companion.recognition.port import SAMPLE_BYTES, SAMPLE_RATE_HZ, Listening
from companion.recognition.source import MemorySource, read_sound
from companion.runtime import assembly
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding
from companion.speech.player import SilentSink

PHRASE = "where_are_we"
MOST_SHARE = 0.7
"""More work than this for a second of speech, and answers come late whenever anything else runs."""
TOO_SLOW_SHARE = 1.0
"""More than this, and the ears fall behind while somebody speaks."""
_TIMES = 3
_QUIET_S = 0.8
_PATIENCE_S = 10.0


def speed(bench: Bench) -> Finding:
    """Whether the ears keep up with speech on this box, measured on a phrase that its voice says.

    Counted is processor time, so that what else runs at this moment changes little.
    """
    say = bench.say
    wanted = say("check-speed-wanted", most=say.number(MOST_SHARE, 1))
    if not bench.needs_microphone:
        return Finding("skipped", say("check-answers-typed"), wanted)
    try:
        share = bench.ears_work = _share(bench)
    except (EarsError, VoiceError) as error:
        return Finding("skipped", bench.say.words.problem(error), wanted)
    found = say("check-speed-found", ears=bench.recogniser.name, work=say.number(share, 2))
    if share > TOO_SLOW_SHARE:
        return Finding("wrong", found, wanted, say("check-speed-too-slow"))
    if share > MOST_SHARE:
        return Finding("look", found, wanted, say("check-speed-slow"))
    return Finding("well", found, wanted)


def _share(bench: Bench) -> float:
    """Processor seconds for a second of speech, with the quiet before and behind it."""
    quiet = bytes(SAMPLE_BYTES * round(_QUIET_S * SAMPLE_RATE_HZ))
    phrase = bench.language.grammar.command_phrase(PHRASE)
    spoken = bench.speaking(SilentSink()).say(phrase)
    assert spoken.sound is not None  # noqa: S101  -- the phrase has words in it
    speech = read_sound(spoken.sound)
    sound = quiet + speech + quiet
    grammar = bench.language.for_step(PAUSED)
    settings = assembly.endpoint_settings(bench.ears_kind)
    recogniser = bench.recogniser
    recogniser.load(grammar)
    recogniser.recognise(sound)  # The first time much is loaded that later is there.
    began_s = time.process_time()
    for _ in range(_TIMES):
        ears = StreamEars(MemorySource(sound), recogniser, settings)
        ears.hear(Listening("check", grammar, _PATIENCE_S))
        ears.close()
    seconds = _TIMES * len(speech) / (SAMPLE_BYTES * SAMPLE_RATE_HZ)
    return (time.process_time() - began_s) / seconds

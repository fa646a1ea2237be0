"""Looks at what the microphone hears of the loudspeaker: whether prompts may be answered into."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from companion.base import sound_cards
from companion.errors import EarsError
from companion.recognition.conditions import DEAD_DBFS
from companion.recognition.echo_measuring import MOST_ECHO_DBFS, EchoFound, echo_in
from companion.recognition.over_voice import LONGEST_DELAY_S
from companion.recognition.port import FRAME_S
from companion.recognition.samples import samples_of
from companion.record.clock import SystemClock
from companion.record.last_echo import LastEcho
from companion.report.wording import Wording
from companion.runtime.assembly import EarsChoice, VoiceChoice
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding
from companion.runtime.echo_kept import echo_for_answers
from companion.runtime.into_prompts import speaking
from companion.speech.tapped import TappedSink

BACKGROUND_S = 2.0


def kept(bench: Bench) -> Finding:
    """Whether answers into prompts are set, and what was measured allows them."""
    say, now = bench.say, bench.settings
    if not now.answers_into_prompts:
        return Finding("skipped", say("check-echo-off"), _wanted(say))
    ears = EarsChoice(now.ears, microphone=now.microphone)
    measured = echo_for_answers(now, ears, VoiceChoice(now.voice, loudspeaker=now.loudspeaker))
    assert measured is not None  # noqa: S101  -- they are set
    return judged(measured, say)


def judged(measured: LastEcho, say: Wording) -> Finding:
    """What was measured, in words."""
    above_db = measured.above_background_db
    told = {
        "echo": say.number(measured.echo_dbfs, 0),
        "above": say.number(abs(above_db), 0),
        "delay": say.number(1000 * measured.delay_s, 0),
    }
    if measured.delay_s == 0.0 and above_db < 0:
        found = say("check-echo-not-found", **told)
    else:
        found = say("check-echo-found" if above_db > 0 else "check-echo-found-below", **told)
    if measured.allows_answers:
        return Finding(
            "well", say("check-echo-yes", found=found), _wanted(say), say("check-echo-yes-to-do")
        )
    return Finding(
        "look", say("check-echo-no", found=found), _wanted(say), say("check-echo-no-to-do")
    )


def _wanted(say: Wording) -> str:
    return say("check-echo-wanted", most=say.number(MOST_ECHO_DBFS, 0))


def measure(bench: Bench) -> LastEcho:
    """Say one sentence as loudly as a job may become, and listen to it.

    Raises EarsError or VoiceError where a device fails, or the microphone gives no sound.
    """
    settings = bench.settings
    found = _found(bench)
    if found.background_dbfs < DEAD_DBFS:
        raise EarsError(f"{bench.say('check-echo-dead')}; wanted: a microphone that is switched on")
    return LastEcho(
        at_utc=SystemClock().now().at_utc,
        microphone=sound_cards.name_of(settings.microphone, "input"),
        loudspeaker=sound_cards.name_of(settings.loudspeaker, "output"),
        limit_db=settings.loudness_limit_db,
        echo_dbfs=round(found.echo_dbfs, 1),
        background_dbfs=round(found.background_dbfs, 1),
        gain_db=round(found.echo.gain_db, 1),
        delay_s=round(found.delay_s, 3),
        allows_answers=found.allows_answers,
    )


def _found(bench: Bench) -> EchoFound:
    sentence = bench.say("check-echo-sentence")
    volume = float(10.0 ** (bench.settings.loudness_limit_db / 20.0))
    tap = TappedSink(bench.open_loudspeaker())
    voice = bench.speaking(tap)
    voice.prepare([sentence], bench.settings.voice_speed_wpm)
    microphone = bench.open_microphone()
    heard: list[bytes] = []
    try:
        frames = microphone.frames()
        background = samples_of(b"".join(_some(frames, BACKGROUND_S)))
        microphone.flush(deaf=False)
        with speaking(voice, tap, sentence, bench.settings.voice_speed_wpm, volume) as aside:
            left = round(LONGEST_DELAY_S / FRAME_S)
            while left:
                frame = next(frames)
                sounds = aside.sound() is not None
                if not frame:
                    raise EarsError(
                        "microphone: sound was lost on its way; wanted: measure once more"
                    )
                if sounds:
                    heard.append(frame)
                left -= 1 if aside.is_over() else 0
            played = aside.sound()
    finally:
        microphone.close()
        voice.close()
    nothing = np.zeros(0, np.float32)
    return echo_in(samples_of(b"".join(heard)), background, nothing if played is None else played)


def _some(frames: Iterator[bytes], seconds: float) -> list[bytes]:
    return [next(frames) for _ in range(round(seconds / FRAME_S))]

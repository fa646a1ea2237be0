"""Looks at a person's voice: asks somebody to speak, and measures what arrives."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice

import numpy as np

from companion.errors import EarsError, VoiceError
from companion.recognition.conditions import MOST_CLIPPED_SHARE, room_levels
from companion.recognition.level import frame_levels_dbfs, measure_levels
from companion.recognition.port import FRAME_S
from companion.report.wording import Wording
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding, State

SPEAKING_S = 3.0
PATIENCE_S = 8.0
LOUDEST_DBFS, QUIETEST_DBFS = -9.0, -45.0
"""Speech outside of these is too near full scale, or too near what a microphone adds itself (from
practice, no source)."""
ENOUGH_DB, LEAST_DB = 15.0, 5.0
"""How far speech is wanted to stand out of the room, and below what the ears are of no use."""
_BEGINS_DB = 8.0
_BEGINS_FRAMES = 5


@dataclass(frozen=True)
class Spoken:
    """A person's speech as it arrived: its level while they spoke, in dBFS; how far that stands out
    of the room's louder moments, in dB; the share of samples that were cut off."""

    level_dbfs: float
    above_room_db: float
    clipped_share: float


def speech(bench: Bench) -> Finding:
    """Ask somebody to say a sentence; whether it arrives loud, clear and whole."""
    say = bench.say
    wanted = _wanted(say)
    if not bench.needs_microphone:
        return Finding("skipped", say("check-answers-typed"), wanted)
    if bench.ask is None:
        return Finding("skipped", say("check-speech-nobody-asked"), wanted)
    try:
        room = room_levels(bench.room_sound)
        _ask(bench)
        sound = _what_is_said(bench, room.loud_dbfs)
    except EarsError as error:
        return Finding("skipped", bench.say.words.problem(error), wanted)
    if not sound:
        nobody = say("check-speech-nobody", seconds=say.number(PATIENCE_S, 0))
        return Finding("skipped", nobody, wanted)
    return judge(measured(sound, room.loud_dbfs), say)


def measured(sound: bytes, room_dbfs: float) -> Spoken:
    """The speech in a stretch of sound (16 kHz mono s16le) in a room of that level."""
    levels = measure_levels(sound)
    return Spoken(levels.speech_dbfs, levels.speech_dbfs - room_dbfs, levels.clipped_share)


def judge(spoken: Spoken, say: Wording) -> Finding:
    """What the figures mean, and what to do."""
    found = say(
        "check-speech-found",
        level=say.number(spoken.level_dbfs, 0),
        above=say.number(spoken.above_room_db, 0),
        cut=say.share(100 * spoken.clipped_share, 1),
    )

    def told(state: State, what: str, to_do: str) -> Finding:
        judged = say("check-speech-judged", what=say(what), found=found)
        return Finding(state, judged, _wanted(say), say(to_do))

    if spoken.clipped_share > MOST_CLIPPED_SHARE:
        return told("wrong", "check-speech-overdriven", "check-speech-turn-down")
    if spoken.level_dbfs > LOUDEST_DBFS:
        return told("look", "check-speech-too-loud", "check-speech-turn-down-a-little")
    if spoken.above_room_db < ENOUGH_DB:
        state: State = "wrong" if spoken.above_room_db < LEAST_DB else "look"
        if spoken.level_dbfs < QUIETEST_DBFS:
            return told(state, "check-speech-too-quiet", "check-speech-nearer")
        return told(state, "check-speech-too-far", "check-speech-two-fingers")
    if spoken.level_dbfs < QUIETEST_DBFS:
        return told("look", "check-speech-too-quiet", "check-speech-turn-up")
    return Finding("well", found, _wanted(say))


def _wanted(say: Wording) -> str:
    return say(
        "check-speech-wanted",
        quietest=say.number(QUIETEST_DBFS, 0),
        loudest=say.number(LOUDEST_DBFS, 0),
        above=say.number(ENOUGH_DB, 0),
    )


def _ask(bench: Bench) -> None:
    """Aloud where prompts are spoken, and in writing always."""
    assert bench.ask is not None  # noqa: S101  -- the look has seen to it
    request = bench.say("check-please-say", sentence=bench.say("check-sentence"))
    bench.ask(request)
    if not bench.needs_loudspeaker:
        return
    try:
        speaking = bench.speaking(bench.open_loudspeaker())
    except VoiceError:
        return  # The look at the loudspeaker tells of it.
    try:
        speaking.say(request)
    except VoiceError:
        return
    finally:
        speaking.close()


def _what_is_said(bench: Bench, room_dbfs: float) -> bytes:
    """`SPEAKING_S` of sound from where somebody begins to speak; empty when nobody does."""
    microphone = bench.open_microphone()
    try:
        frames = microphone.frames()
        # What was just asked aloud may still ring.
        for _ in islice(frames, round(0.5 / FRAME_S)):
            pass
        recent: list[bytes] = []
        for frame in islice(frames, round(PATIENCE_S / FRAME_S)):
            recent = [*recent[1 - _BEGINS_FRAMES :], frame]
            levels = frame_levels_dbfs(b"".join(recent))
            if len(recent) == _BEGINS_FRAMES and np.median(levels) > room_dbfs + _BEGINS_DB:
                return b"".join([*recent, *islice(frames, round(SPEAKING_S / FRAME_S))])
        return b""
    finally:
        microphone.close()

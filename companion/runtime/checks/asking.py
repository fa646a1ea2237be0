"""Looks at a person's voice: asks somebody to speak, and measures what arrives."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice

import numpy as np

from companion.errors import EarsError, VoiceError
from companion.recognition.conditions import MOST_CLIPPED_SHARE, room_levels
from companion.recognition.level import frame_levels_dbfs, measure_levels
from companion.recognition.port import FRAME_S
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding, State
from companion.speech.speech import SpeechVoice

SENTENCE = "left arm, seven seven five millimetres, continue"
SPEAKING_S = 3.0
PATIENCE_S = 8.0
LOUDEST_DBFS, QUIETEST_DBFS = -9.0, -45.0
"""Speech outside of these is too near full scale, or too near what a microphone adds itself (from
practice, no source)."""
ENOUGH_DB, LEAST_DB = 15.0, 5.0
"""How far speech is wanted to stand out of the room, and below what the ears are of no use."""
_BEGINS_DB = 8.0
_BEGINS_FRAMES = 5
_WANTED = (
    f"speech of {QUIETEST_DBFS:.0f} to {LOUDEST_DBFS:.0f} dBFS, {ENOUGH_DB:.0f} dB above the room"
)


@dataclass(frozen=True)
class Spoken:
    """A person's speech as it arrived: its level while they spoke, in dBFS; how far that stands out
    of the room's louder moments, in dB; the share of samples that were cut off."""

    level_dbfs: float
    above_room_db: float
    clipped_share: float


def speech(bench: Bench) -> Finding:
    """Ask somebody to say a sentence; whether it arrives loud, clear and whole."""
    if not bench.needs_microphone:
        return Finding("skipped", "answers are typed", _WANTED)
    if bench.ask is None:
        return Finding("skipped", "nobody is asked to speak", _WANTED)
    try:
        room = room_levels(bench.room_sound)
        _ask(bench)
        sound = _what_is_said(bench, room.loud_dbfs)
    except EarsError as error:
        return Finding("skipped", str(error), _WANTED)
    if not sound:
        return Finding("skipped", f"nobody spoke within {PATIENCE_S:.0f} s", _WANTED)
    return judge(measured(sound, room.loud_dbfs))


def measured(sound: bytes, room_dbfs: float) -> Spoken:
    """The speech in a stretch of sound (16 kHz mono s16le) in a room of that level."""
    levels = measure_levels(sound)
    return Spoken(levels.speech_dbfs, levels.speech_dbfs - room_dbfs, levels.clipped_share)


def judge(spoken: Spoken) -> Finding:
    """What the figures mean, and what to do."""
    found = (
        f"speech of {spoken.level_dbfs:.0f} dBFS, {spoken.above_room_db:.0f} dB above the room, "
        f"{spoken.clipped_share:.1%} cut off"
    )
    if spoken.clipped_share > MOST_CLIPPED_SHARE:
        return _told("wrong", "overdriven", found, "Turn the microphone's level down and repeat.")
    if spoken.level_dbfs > LOUDEST_DBFS:
        return _told("look", "too loud", found, "Turn the microphone's level down a little.")
    if spoken.above_room_db < ENOUGH_DB:
        state: State = "wrong" if spoken.above_room_db < LEAST_DB else "look"
        if spoken.level_dbfs < QUIETEST_DBFS:
            to_do = "Come nearer to the microphone, turn its level up, and repeat."
            return _told(state, "too quiet", found, to_do)
        to_do = "Bring the microphone to two fingers from the mouth, or wait until it is quieter."
        return _told(state, "too far for this noise", found, to_do)
    if spoken.level_dbfs < QUIETEST_DBFS:
        return _told("look", "too quiet", found, "Turn the microphone's level up.")
    return Finding("well", found, _WANTED)


def _told(state: State, what: str, found: str, to_do: str) -> Finding:
    return Finding(state, f"{what}: {found}", _WANTED, to_do)


def _ask(bench: Bench) -> None:
    """Aloud where prompts are spoken, and in writing always."""
    assert bench.ask is not None  # noqa: S101  -- the look has seen to it
    request = f"Please say, for three seconds: {SENTENCE}."
    bench.ask(request)
    if not bench.needs_loudspeaker:
        return
    try:
        speaking = SpeechVoice(bench.voice_folder, bench.open_loudspeaker())
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

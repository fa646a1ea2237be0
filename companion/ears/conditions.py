"""Whether voice can be relied on here: the noise before a job, and what spoiled an utterance."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from companion.ears.level import clipped_share, frame_levels_dbfs
from companion.ears.port import FRAME_BYTES, RefusalReason
from companion.errors import EarsError

NEAR_SPEECH_DBFS = -26.0
"""The level at which a headset's speech usually arrives (from practice, no source)."""
RELIABLE_DB, _USABLE_DB = 10.0, 5.0
DEAD_DBFS = -85.0
MOST_CLIPPED_SHARE = 0.001


@dataclass(frozen=True)
class RoomLevels:
    """Levels in dBFS while nobody speaks: the floor, and what one frame in twenty exceeds."""

    floor_dbfs: float
    loud_dbfs: float


@dataclass(frozen=True)
class NoiseCheck:
    """The levels of a room as in `RoomLevels`, and what they mean.

    `voice`: whether voice alone will do, will do with care, or will not.
    """

    floor_dbfs: float
    loud_dbfs: float
    voice: str
    advice: str


def room_levels(sound: bytes) -> RoomLevels:
    """The levels of a stretch of sound (16 kHz mono s16le) without speech."""
    levels = frame_levels_dbfs(sound)
    return RoomLevels(float(np.percentile(levels, 20)), float(np.percentile(levels, 95)))


def check_noise(sound: bytes, speech_dbfs: float = NEAR_SPEECH_DBFS) -> NoiseCheck:
    """What a stretch of sound without speech tells. Raises `EarsError` where there is no sound.

    `speech_dbfs`: how loud the person's speech arrives, where it is known. Voice is "reliable"
    with 10 dB between it and the louder noise, "uncertain" with 5, else "unreliable".
    """
    if len(sound) < FRAME_BYTES:
        raise EarsError("no sound came to check the noise by; wanted a microphone that is on")
    room = room_levels(sound)
    floor, loud = room.floor_dbfs, room.loud_dbfs
    if clipped_share(sound) > MOST_CLIPPED_SHARE:
        return NoiseCheck(floor, loud, "unreliable", _ADVICE["clipped"])
    if loud < DEAD_DBFS:
        advice = "I hear nothing at all from the microphone. Is it switched on?"
        return NoiseCheck(floor, loud, "unreliable", advice)
    above_db = speech_dbfs - loud
    if above_db >= RELIABLE_DB:
        return NoiseCheck(floor, loud, "reliable", "It is quiet enough to work by voice.")
    if above_db >= _USABLE_DB:
        return NoiseCheck(
            floor,
            loud,
            "uncertain",
            "It is loud here. Speak near the microphone; you may be asked twice.",
        )
    return NoiseCheck(floor, loud, "unreliable", _ADVICE["too_loud"])


_ADVICE: dict[RefusalReason, str] = {
    "too_loud": "It is too loud here. Use the keyboard or the pedal, or wait until it is quieter.",
    "too_quiet": "You are hardly to be heard. Come nearer to the microphone, or speak up.",
    "clipped": "The microphone is overdriven. Hold it further away, or turn its level down.",
}


def advice_on(reason: RefusalReason) -> str:
    """What the person can do where the sound itself was the reason; "" where it was not."""
    return _ADVICE.get(reason, "")

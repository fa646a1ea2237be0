"""Whether voice can be relied on here: the noise before a job."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from companion.errors import EarsError
from companion.facts.beforehand import RoomNoise
from companion.recognition.level import clipped_share, frame_levels_dbfs
from companion.recognition.port import FRAME_BYTES

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


def room_levels(sound: bytes) -> RoomLevels:
    """The levels of a stretch of sound (16 kHz mono s16le) without speech."""
    levels = frame_levels_dbfs(sound)
    return RoomLevels(float(np.percentile(levels, 20)), float(np.percentile(levels, 95)))


def check_noise(sound: bytes, speech_dbfs: float = NEAR_SPEECH_DBFS) -> RoomNoise:
    """What a stretch of sound without speech tells. Raises `EarsError` where there is no sound.

    `speech_dbfs`: how loud the person's speech arrives, where it is known. Voice is "reliable"
    with 10 dB between it and the louder noise, "uncertain" with 5, else "unreliable".
    """
    if len(sound) < FRAME_BYTES:
        raise EarsError(
            "no sound arrived to measure the noise; wanted a microphone that is switched on",
            said="no-sound-for-noise",
        )
    room = room_levels(sound)
    found = _judged(sound, room.loud_dbfs, speech_dbfs - room.loud_dbfs)
    voice, advice = _TOLD[found]
    return RoomNoise(room.floor_dbfs, room.loud_dbfs, voice, advice, found)


_TOLD = {
    "overdriven": (
        "unreliable",
        "The microphone is overdriven. Hold it further away, or turn its level down.",
    ),
    "dead": ("unreliable", "I hear nothing at all from the microphone. Is it switched on?"),
    "quiet": ("reliable", "It is quiet enough to work by voice."),
    "loud": ("uncertain", "It is loud here. Speak near the microphone; you may be asked twice."),
    "too_loud": (
        "unreliable",
        "It is too loud here. Use the keyboard or the pedal, or wait until it is quieter.",
    ),
}
"""Whether voice will do, and what to do, in English; a job says it in its own language."""


def _judged(sound: bytes, loud_dbfs: float, above_db: float) -> str:
    """What the noise is like; `above_db`: how far speech stands above it."""
    if clipped_share(sound) > MOST_CLIPPED_SHARE:
        return "overdriven"
    if loud_dbfs < DEAD_DBFS:
        return "dead"
    if above_db >= RELIABLE_DB:
        return "quiet"
    return "loud" if above_db >= _USABLE_DB else "too_loud"

"""Looks at the ears: the microphone, the room, the words."""

from __future__ import annotations

from companion.errors import EarsError
from companion.recognition.conditions import (
    DEAD_DBFS,
    MOST_CLIPPED_SHARE,
    NEAR_SPEECH_DBFS,
    RELIABLE_DB,
    check_noise,
    room_levels,
)
from companion.recognition.level import clipped_share
from companion.runtime import assembly
from companion.runtime.checks.bench import LISTEN_S, Bench
from companion.runtime.checks.finding import Finding, State


def microphone(bench: Bench) -> Finding:
    """Whether the microphone opens and gives sound."""
    name = bench.settings.microphone or "the system's own microphone"
    wanted = "a microphone that records"
    try:
        seconds = len(bench.room_sound) / 32_000
    except EarsError as error:
        if not bench.needs_microphone:
            return Finding("skipped", f"answers are typed, and: {error}", wanted)
        to_do = "Plug it in; its name: companion check --devices; then set 'microphone'."
        return Finding("wrong", str(error), wanted, to_do)
    return Finding("well", f"{name} gave {seconds:.1f} s of sound", wanted)


def level(bench: Bench) -> Finding:
    """Whether what the microphone gives is neither nothing nor too much."""
    wanted = f"sound above {DEAD_DBFS:.0f} dBFS and not cut off at full scale"
    try:
        sound = bench.room_sound
    except EarsError:
        return Finding("skipped", "there is no microphone", wanted)
    loud_dbfs, cut = room_levels(sound).loud_dbfs, clipped_share(sound)
    found = f"up to {loud_dbfs:.0f} dBFS, {cut:.1%} cut off"
    state: State = "wrong" if bench.needs_microphone else "look"
    if loud_dbfs < DEAD_DBFS:
        return Finding(state, found, wanted, "No sound arrives. Switch it on; turn its level up.")
    if cut > MOST_CLIPPED_SHARE:
        return Finding(state, found, wanted, "Hold it further away, or turn its level down.")
    return Finding("well", found, wanted)


def noise(bench: Bench) -> Finding:
    """Whether the voice can be relied on in this room."""
    wanted = f"noise below {NEAR_SPEECH_DBFS - RELIABLE_DB:.0f} dBFS while nobody speaks"
    try:
        heard, room = check_noise(bench.room_sound), room_levels(bench.room_sound)
    except EarsError:
        return Finding("skipped", "there is no microphone", wanted)
    found = f"floor {room.floor_dbfs:.0f} dBFS, often {room.loud_dbfs:.0f} ({LISTEN_S:.0f} s)"
    match heard.voice:
        case "reliable":
            return Finding("well", found, wanted)
        case "uncertain":
            return Finding("look", found, wanted, heard.advice)
        case _:
            state: State = "wrong" if bench.needs_microphone else "look"
            return Finding(state, found, wanted, heard.advice)


def words(bench: Bench) -> Finding:
    """Whether the recogniser knows every word that the job may ask for."""
    wanted = "a recogniser that knows every word of the job"
    if not bench.needs_microphone:
        return Finding("skipped", "answers are typed", wanted)
    try:
        heard = assembly.check_words(bench.recogniser, bench.loaded, bench.language)
    except EarsError as error:
        return Finding("wrong", str(error), wanted, "Set another recogniser, or another model.")
    if heard.left_out:
        found = f"{bench.recogniser.name} does not know: {', '.join(heard.left_out)}"
        return Finding("look", found, wanted, "Nothing need be done: each answer has another word.")
    return Finding("well", f"{bench.recogniser.name} knows all words", wanted)

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
    say = bench.say
    name = bench.settings.microphone or say("check-microphone-own")
    wanted = say("check-microphone-wanted")
    try:
        seconds = len(bench.room_sound) / 32_000
    except EarsError as error:
        if not bench.needs_microphone:
            return Finding(
                "skipped",
                say("check-answers-typed-and", error=bench.say.words.problem(error)),
                wanted,
            )
        return Finding(
            "wrong", bench.say.words.problem(error), wanted, say("check-microphone-to-do")
        )
    found = say("check-microphone-found", name=name, seconds=say.number(seconds, 1))
    return Finding("well", found, wanted)


def level(bench: Bench) -> Finding:
    """Whether what the microphone gives is neither nothing nor too much."""
    say = bench.say
    wanted = say("check-level-wanted", dead=say.number(DEAD_DBFS, 0))
    try:
        sound = bench.room_sound
    except EarsError:
        return Finding("skipped", say("check-microphone-none"), wanted)
    loud_dbfs, cut = room_levels(sound).loud_dbfs, clipped_share(sound)
    found = say("check-level-found", loud=say.number(loud_dbfs, 0), cut=say.share(100 * cut, 1))
    state: State = "wrong" if bench.needs_microphone else "look"
    if loud_dbfs < DEAD_DBFS:
        return Finding(state, found, wanted, say("check-level-silent"))
    if cut > MOST_CLIPPED_SHARE:
        return Finding(state, found, wanted, say("check-level-loud"))
    return Finding("well", found, wanted)


def noise(bench: Bench) -> Finding:
    """Whether the voice can be relied on in this room."""
    say = bench.say
    wanted = say("check-noise-wanted", most=say.number(NEAR_SPEECH_DBFS - RELIABLE_DB, 0))
    try:
        heard, room = check_noise(bench.room_sound), room_levels(bench.room_sound)
    except EarsError:
        return Finding("skipped", say("check-microphone-none"), wanted)
    floor, loud = (say.number(level, 0) for level in (room.floor_dbfs, room.loud_dbfs))
    seconds = say.number(LISTEN_S, 0)
    found = say("check-noise-found", floor=floor, loud=loud, seconds=seconds)
    advice = say(f"noise-{heard.found}")
    match heard.voice:
        case "reliable":
            return Finding("well", found, wanted)
        case "uncertain":
            return Finding("look", found, wanted, advice)
        case _:
            state: State = "wrong" if bench.needs_microphone else "look"
            return Finding(state, found, wanted, advice)


def words(bench: Bench) -> Finding:
    """Whether the recogniser knows every word that the job may ask for."""
    say = bench.say
    wanted = say("check-words-wanted")
    if not bench.needs_microphone:
        return Finding("skipped", say("check-answers-typed"), wanted)
    try:
        heard = assembly.check_words(bench.recogniser, bench.loaded, bench.language)
    except EarsError as error:
        return Finding("wrong", bench.say.words.problem(error), wanted, say("check-words-to-do"))
    name = bench.recogniser.name
    if heard.left_out:
        found = say("check-words-left-out", ears=name, words=", ".join(heard.left_out))
        return Finding("look", found, wanted, say("check-words-left-out-to-do"))
    return Finding("well", say("check-words-well", ears=name), wanted)

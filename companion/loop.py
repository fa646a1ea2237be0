"""Joins the rooms: hear, decide, record, speak. The only place that knows them all.

One step is kept in the record, the event and all facts that follow from it together, before
anything of it is spoken; so a power cut loses at most what nobody has heard yet.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol

from companion import __version__
from companion.dialogue.effects import Close, Effect, Listen, Record, Say
from companion.dialogue.events import (
    Event,
    Heard,
    HearingBefore,
    Opened,
    Refused,
    Resumed,
    Silent,
    event_from_entry,
    event_to_entry,
)
from companion.dialogue.machine import begin, replay, step
from companion.dialogue.state import State
from companion.ears.port import Ears, Listening, Refusal, Utterance
from companion.errors import RecordError
from companion.procedure.loader import LoadedJob
from companion.record.afterwards import AFTERWARDS
from companion.record.port import Entry, Log, StoredEvent
from companion.voice.port import DEFAULT_SPEED_WPM, Voice
from companion.words.expectation import Expectation
from companion.words.grammar import Grammar
from companion.words.meanings import Command, Meaning

# These act on weak evidence: stopping for nothing costs a moment, not stopping may cost a hand.
ACT_ON_WEAK_EVIDENCE = frozenset({"stop", "wait"})


class Clips(Protocol):
    """Where the sound of utterances is kept."""

    def put(self, sound: bytes) -> str:
        """Keep the sound and give its name, the SHA-256 of the file."""
        ...


class Watcher(Protocol):
    """Looks on: prints, shows progress, counts. It cannot change anything."""

    def fact(self, kind: str, body: Mapping[str, Any]) -> None:
        """An event or a fact, as it has just been kept in the record."""
        ...


@dataclass(frozen=True)
class Room:
    """What a job is done with. `clips` is None where no sound can be kept."""

    ears: Ears
    voice: Voice
    log: Log
    clips: Clips | None
    watcher: Watcher


class Lexicon:
    """What the dialogue asks of the grammars."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar

    def choice_name(self, choice_id: str) -> str:
        return self._grammar.choice_name(choice_id)

    def examples(self, expectation: Expectation) -> tuple[str, ...]:
        return self._grammar.for_step(expectation).examples()


def start_job(
    room: Room,
    loaded: LoadedJob,
    grammar: Grammar,
    context: Mapping[str, Any],
    hearing: HearingBefore | None = None,
) -> State:
    """A new job from its first word to its end; the state it ended in.

    `context` joins the opening event: who, where, with which ears. `hearing`: what is known of
    the room and the voice before the first word.
    """
    files = loaded.plan.files
    opening = {
        "program_version": __version__,
        "job": files.job.model_dump(mode="json"),
        "vehicle": files.vehicle.model_dump(mode="json"),
        "mount": files.mount.model_dump(mode="json"),
        "bay": files.bay.model_dump(mode="json"),
        "file_hashes": dict(loaded.file_hashes),
        "example": files.example,
        **context,
    }
    opened = Opened(hearing or HearingBefore())
    return _run(room, grammar, begin(loaded.plan, Lexicon(grammar)), opened, opening)


def resume_job(
    room: Room, loaded: LoadedJob, grammar: Grammar, stored: Iterable[StoredEvent]
) -> State:
    """A job that was broken off, from where the record says it was.

    Raises RecordError when the record does not lead to a place in this job, or the job is over.
    """
    state = replay_record(loaded, grammar, stored)
    return _run(room, grammar, state, Resumed(), {})


def replay_record(loaded: LoadedJob, grammar: Grammar, stored: Iterable[StoredEvent]) -> State:
    """The state that the recorded events lead to, checked against the facts recorded with them.

    Raises RecordError when they do not fit this version of the companion and these files.
    """
    state = begin(loaded.plan, Lexicon(grammar))
    waiting: list[Record] = []
    opened = False
    for item in stored:
        if item.kind in AFTERWARDS:
            continue
        if item.kind == "opened":
            _check_files(loaded, item.body)
            opened = True
        if not opened:
            raise RecordError(_unlike(item, "'opened' was to come first"))
        event = event_from_entry(item.kind, item.body)
        if event is None:
            _check_fact(waiting, item)
            continue
        if waiting:
            raise RecordError(_unlike(item, f"a fact '{waiting[0].kind}' was to come first"))
        state, effects = step(state, event)
        waiting = [effect for effect in effects if isinstance(effect, Record)]
    if not opened or waiting:
        raise RecordError(
            "The record breaks off in the middle of what was kept together; "
            "wanted: the whole record, or a new job."
        )
    if state.result is not None:
        raise RecordError("This session is over; wanted: one that was broken off.")
    return state


def _check_files(loaded: LoadedJob, body: Mapping[str, Any]) -> None:
    changed = [
        name
        for name, digest in loaded.file_hashes.items()
        if body.get("file_hashes", {}).get(name) != digest
    ]
    if changed:
        raise RecordError(
            f"The {', '.join(changed)} file is not the one that the session began with; "
            "wanted: the same files, or a new job."
        )


def _check_fact(waiting: list[Record], item: StoredEvent) -> None:
    if not waiting or waiting[0].kind != item.kind:
        wanted = f"'{waiting[0].kind}'" if waiting else "an event"
        raise RecordError(_unlike(item, f"{wanted} was to come"))
    if not _same(waiting.pop(0).body, item.body):
        raise RecordError(_unlike(item, "the same step now gives something else"))


def _same(made: object, kept: object) -> bool:
    """Equal as JSON; figures within rounding, which may differ from machine to machine."""
    match made, kept:
        case Mapping(), Mapping():
            return made.keys() == kept.keys() and all(_same(made[k], kept[k]) for k in made)
        case ((list() | tuple()), (list() | tuple())):
            return len(made) == len(kept) and all(map(_same, made, kept))
        case float(), int() | float():
            return math.isclose(made, kept, rel_tol=1e-6, abs_tol=1e-9)
        case _:
            return made == kept


def _unlike(item: StoredEvent, why: str) -> str:
    return (
        f"Session {item.session_id}, event {item.seq} '{item.kind}': {why}. The session was made "
        f"by another version than {__version__}; wanted: that version, or a new job."
    )


def _run(
    room: Room, grammar: Grammar, state: State, event: Event, opening: Mapping[str, Any]
) -> State:
    following: Event | None = event
    while following is not None:
        state, effects = step(state, following)
        kind, body = event_to_entry(following)
        _keep(room, [Entry(kind, {**body, **opening}), *_facts(effects)])
        opening = {}
        following = _act(room, grammar, state, effects)
    return state


def _facts(effects: Iterable[Effect]) -> list[Entry]:
    return [Entry(effect.kind, effect.body) for effect in effects if isinstance(effect, Record)]


def _keep(room: Room, entries: list[Entry]) -> None:
    room.log.append(entries)
    for entry in entries:
        room.watcher.fact(entry.kind, entry.body)


def _act(room: Room, grammar: Grammar, state: State, effects: Iterable[Effect]) -> Event | None:
    """Speak, then listen; the event that comes of it, or None when the job is over."""
    event: Event | None = None
    for effect in effects:
        match effect:
            case Say(text, _, speed_percent, volume):
                room.voice.say(text, DEFAULT_SPEED_WPM * speed_percent // 100, volume)
            case Listen():
                event = listen(room, grammar, state, effect)
            case Record() | Close():
                pass
    return event


def listen(room: Room, grammar: Grammar, state: State, effect: Listen) -> Event:
    """What is heard under this prompt, through the strict parser, as an event."""
    step_grammar = grammar.for_step(effect.expectation)
    heard = room.ears.hear(Listening(effect.prompt_id, step_grammar, effect.timeout_s))
    if isinstance(heard, Refusal) and heard.reason == "silence":
        return Silent(effect.prompt_id, effect.timeout_s)
    keep = state.keep_sound and room.clips is not None and bool(heard.sound)
    clip = room.clips.put(heard.sound) if keep and room.clips is not None else None
    detail: dict[str, Any] = {"words": heard.words, "ears": heard.ears, "clip_sha256": clip}
    if heard.levels is not None:
        detail |= {
            "speech_dbfs": round(heard.levels.speech_dbfs, 1),
            "background_dbfs": round(heard.levels.background_dbfs, 1),
            "snr_db": round(heard.levels.speech_above_background_db, 1),
        }
    meaning = step_grammar.parse(heard.words) if heard.words else None
    if isinstance(heard, Utterance):
        detail |= {
            "confidence": heard.confidence,
            "start_s": heard.start_s,
            "end_s": heard.end_s,
            "n_best": list(heard.n_best),
        }
        if meaning is None:
            return Refused(effect.prompt_id, "not_in_grammar", detail)
        if _is_sure_enough(heard, state):
            return Heard(effect.prompt_id, meaning, detail)
        # Sure enough for the ears, but this voice was taken wrongly as surely in its check.
        return _by_weak_evidence(effect, meaning, detail, "unsure")
    detail |= {"detail": heard.detail}
    return _by_weak_evidence(effect, meaning, detail, heard.reason)


def _is_sure_enough(heard: Utterance, state: State) -> bool:
    """Whether it is surer than the surest mistake of the voice check, if there was one."""
    if not heard.sound or state.least_confidence == 0.0:
        return True
    return heard.confidence > state.least_confidence


def _by_weak_evidence(
    effect: Listen, meaning: Meaning | None, detail: dict[str, Any], reason: str
) -> Event:
    # A spoken note may hold any words; there "stop" has to be heard as well as a number has.
    if meaning is not None and not effect.note and _acts_on_weak_evidence(meaning):
        return Heard(effect.prompt_id, meaning, {**detail, "weak": True})
    return Refused(effect.prompt_id, reason, detail)


def _acts_on_weak_evidence(meaning: Meaning) -> bool:
    return isinstance(meaning, Command) and meaning.name in ACT_ON_WEAK_EVIDENCE


__all__ = ["Room", "Watcher", "replay", "replay_record", "resume_job", "start_job"]

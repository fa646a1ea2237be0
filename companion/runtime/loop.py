"""Joins the rooms: hear, decide, record, speak. The only place that knows them all.

One step is kept in the record, the event and all facts that follow from it together, before
anything of it is spoken; so a power cut loses at most what nobody has heard yet.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from companion import __version__
from companion.dialogue.effects import Close, Effect, Listen, Record, Say
from companion.dialogue.events import Answer, Event, is_event
from companion.dialogue.machine import begin, replay, step
from companion.dialogue.state import State
from companion.dialogue.values import is_likely
from companion.errors import RecordError
from companion.facts.afterwards import SignedOff
from companion.facts.beforehand import HearingBefore, IntoPrompts
from companion.facts.kinds import Fact, body_of, kind_of
from companion.facts.meanings import Command, Meaning
from companion.facts.opening import (
    NextSensor,
    Opened,
    Overdue,
    Resumed,
    StandCheck,
    VehicleChoice,
)
from companion.facts.taking_over import StillTrue
from companion.facts.talking import NOTE, Heard, How, Refused, Silent
from companion.facts.watching import Watcher
from companion.job.loader import LoadedJob
from companion.job.setup_files import Bay
from companion.language.expectation import Expectation
from companion.language.language import Language
from companion.recognition.into import Begun
from companion.recognition.port import Ears, Listening, OverhearingEars, Refusal, Utterance
from companion.recognition.port import Heard as HeardSound
from companion.record.afterwards import NO_PART_OF_THE_TALK
from companion.record.port import Clips, Log, StoredEvent
from companion.runtime.into_prompts import SpeaksMeanwhile, speed_of
from companion.speech.port import BRISK_PERCENT, Voice
from companion.steps.taken_over.run import KEPT
from companion.steps.visit_end.run import NEXT_SENSOR

# These act on weak evidence: stopping for nothing costs a moment, not stopping may cost a hand.
ACT_ON_WEAK_EVIDENCE = frozenset({"stop", "wait"})


@dataclass(frozen=True)
class Room:
    """What a job is done with. `clips` is None where no sound can be kept.

    `meanwhile`: says what may be spoken into, where the ears can listen to that; None: they are
    deaf while the companion speaks. `listener`: told of all that is heard, before its fact.
    `brisk_percent`: how fast a brisk pace is, of the unhurried one.
    """

    ears: Ears
    voice: Voice
    log: Log
    clips: Clips | None
    watcher: Watcher
    meanwhile: SpeaksMeanwhile | None = None
    listener: Callable[[HeardSound], None] = lambda heard: None
    brisk_percent: int = BRISK_PERCENT


@dataclass(frozen=True)
class OfVisit:
    """The visit that a job belongs to: "" for none. What is known of its car, by its hash.

    `gave_vehicle`: the job's vehicle is the one that the visit's car was said to be. `next_sensor`:
    what is known of sensors behind this one; None for a job that stands alone.
    """

    id: str = ""
    car_sha256: str = ""
    still_true: tuple[StillTrue, ...] = ()
    stand_check: StandCheck | None = None
    gave_vehicle: bool = False
    next_sensor: NextSensor | None = None


def start_job(
    room: Room,
    loaded: LoadedJob,
    language: Language,
    *,
    technician: str = "",
    microphone: str = "",
    hearing: HearingBefore = HearingBefore(),  # noqa: B008 - frozen
    rehearsal: bool = False,
    visit: OfVisit = OfVisit(),
    cautions_known: bool = False,
    today: date | None = None,
    sound_goes: bool = False,
    name_salt: str = "",
    voice: str = "",
    vehicle_choice: VehicleChoice | None = None,
) -> State:
    """A new job from its first word to its end; the state it ended in.

    `hearing`: what is known of the room and the voice before the first word. `visit`: the car's
    visit that it belongs to, with what earlier jobs found and still holds. `cautions_known`: the
    technician heard the cautions in full earlier that day. `today`: by the bay's own clock; what is
    overdue by then is said. `sound_goes`: what sound is kept goes to the store, too, which is said
    where it is asked. `name_salt`: random, of a live job (`Opened`). `voice`: the version of what
    was learned of the technician's voice. `vehicle_choice`: how the vehicle was chosen, where it
    was asked.
    """
    files = loaded.plan.files
    opened = Opened(
        program_version=__version__,
        job=files.job.model_dump(mode="json"),
        vehicle=files.vehicle.model_dump(mode="json"),
        mount=files.mount.model_dump(mode="json") if files.mount is not None else {},
        bay=files.bay.model_dump(mode="json"),
        file_hashes=loaded.file_hashes,
        file_paths=loaded.file_paths,
        example=files.example,
        technician=technician,
        ears=room.ears.name,
        microphone=microphone,
        hearing=hearing,
        rehearsal=rehearsal,
        cautions_known=cautions_known,
        language=language.code,
        words_left_out=tuple(sorted(language.left_out)),
        visit=visit.id,
        car_sha256=visit.car_sha256,
        overdue=_overdue(files.bay, today),
        stand_check=visit.stand_check,
        still_true=visit.still_true,
        published=loaded.published,
        sound_goes=sound_goes,
        name_salt=name_salt if technician else "",
        voice=voice,
        vehicle_choice=vehicle_choice,
        vehicle_of_visit=visit.id if visit.gave_vehicle else "",
        next_sensor=visit.next_sensor,
    )
    return _run(room, language, _before(loaded, language, opened), opened)


def _overdue(bay: Bay, today: date | None) -> tuple[Overdue, ...]:
    late = () if today is None else bay.overdue(today)
    return tuple(Overdue(one.name, str(one.due)) for one in late)


def _before(loaded: LoadedJob, language: Language, opened: Opened) -> State:
    """The state before the first event: what earlier jobs found lies ready to be taken over.

    So does what is known of the sensors that follow on this car.
    """
    kept: dict[str, object] = {}
    if opened.still_true:
        kept[KEPT] = opened.still_true
    if opened.next_sensor is not None:
        kept[NEXT_SENSOR] = opened.next_sensor
    state = begin(loaded.plan, language)
    return replace(state, kept=kept) if kept else state


def _known_by_now(state: State, event: Event) -> State:
    """The same, with what is known anew of the sensors that follow."""
    if not isinstance(event, Resumed) or event.next_sensor is None:
        return state
    return replace(state, kept={**state.kept, NEXT_SENSOR: event.next_sensor})


def resume_job(
    room: Room,
    loaded: LoadedJob,
    language: Language,
    stored: Iterable[StoredEvent],
    voice: str = "",
    into_prompts: IntoPrompts | None = None,
    next_sensor: NextSensor | None = None,
) -> State:
    """A job that was broken off, from where the record says it was; `voice` as for a new one.

    `into_prompts`: answers may be given into prompts. `next_sensor`: what is known by now.

    Raises RecordError when the record does not lead to a place in this job, or the job is over or
    signed off.
    """
    state = replay_record(loaded, language, stored)
    return _run(room, language, state, Resumed(voice, into_prompts, next_sensor))


def replay_record(loaded: LoadedJob, language: Language, stored: Iterable[StoredEvent]) -> State:
    """The state that the recorded events lead to, checked against the facts recorded with them.

    Raises RecordError when they do not fit this version of the companion and these files.
    """
    # With other ears other words may be left out now: what was said follows from those of then.
    stored = tuple(stored)
    first = next((i.fact for i in stored if isinstance(i.fact, Opened)), Opened())
    state = _before(loaded, language.whole.without(frozenset(first.words_left_out)), first)
    waiting: list[Fact] = []
    opened: Opened | None = None
    for item in stored:
        if item.kind == SignedOff.KIND:
            raise RecordError(
                "This session was signed off and cannot be continued; wanted: a new job.",
                said="resume-signed",
            )
        if item.kind in NO_PART_OF_THE_TALK:
            continue
        if isinstance(item.fact, Opened):
            opened = item.fact
            _check_files(loaded, opened)
        if opened is None:
            raise _unlike(item, "'opened' was to come first", __version__)
        event = item.fact
        if not is_event(event):
            _check_fact(waiting, item, opened.program_version)
            continue
        if waiting:
            why = f"a fact '{kind_of(waiting[0])}' was to come first"
            raise _unlike(item, why, opened.program_version)
        state, effects = step(_known_by_now(state, event), event)
        waiting = _facts(effects)
    if opened is None or waiting:
        raise RecordError(
            "The record ends in the middle of one step; wanted: the whole record, or a new job.",
            said="resume-cut-short",
        )
    if state.result is not None:
        raise RecordError(
            "This session is over and cannot be continued; wanted: an interrupted one.",
            said="resume-over",
        )
    return state


def _check_files(loaded: LoadedJob, opened: Opened) -> None:
    changed = [
        name
        for name, digest in loaded.file_hashes.items()
        if opened.file_hashes.get(name) != digest
    ]
    if changed:
        files = ", ".join(changed)
        raise _cannot_go_on(
            f"These files have changed since the session began: {files}",
            opened.program_version,
            "resume-other-files",
            files=files,
        )


def _check_fact(waiting: list[Fact], item: StoredEvent, version: str) -> None:
    if not waiting or kind_of(waiting[0]) != item.kind:
        wanted = f"'{kind_of(waiting[0])}'" if waiting else "an event"
        raise _unlike(item, f"{wanted} was to come", version)
    if not _same(body_of(waiting.pop(0)), item.body):
        raise _unlike(item, "the same step now gives something else", version)


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


def _unlike(item: StoredEvent, why: str, version: str) -> RecordError:
    """`why` is for the person who looks after the box; the technician is told what to do."""
    return _cannot_go_on(
        f"Session {item.session_id}, event {item.seq} '{item.kind}': {why}",
        version,
        "resume-unlike",
        session=item.session_id,
        event=str(item.seq),
        why=why,
    )


def _cannot_go_on(told: str, version: str, said: str, **values: str | int) -> RecordError:
    """What does not fit, which version began the job where that is another, and what to do."""
    if version == __version__:
        return RecordError(
            f"{told}. This job cannot be continued; wanted: the same files and the same version, "
            "or a new job.",
            said=said,
            **values,
        )
    begun = version or "?"
    return RecordError(
        f"{told}. Version {begun} began this job and this is version {__version__}, which may "
        "have come with other files. Go back to that version (on a box: 'systemd/install.sh "
        "--back'), or start a new job; this version can still show and verify the old one.",
        said=f"{said}-version",
        begun=begun,
        now=__version__,
        **values,
    )


def _run(room: Room, language: Language, state: State, event: Event) -> State:
    following: Event | None = event
    while following is not None:
        state, effects = step(_known_by_now(state, following), following)
        _keep(room, [following, *_facts(effects)])
        following = _act(room, language, state, effects)
    return state


def _facts(effects: Iterable[Effect]) -> list[Fact]:
    return [effect.fact for effect in effects if isinstance(effect, Record)]


def _keep(room: Room, facts: list[Fact]) -> None:
    room.log.append(facts)
    for fact in facts:
        room.watcher.fact(fact)


def _act(room: Room, language: Language, state: State, effects: Iterable[Effect]) -> Event | None:
    """Speak, then listen; the event that comes of it, or None when the job is over."""
    effects = tuple(effects)
    event: Event | None = None
    begun: Begun | None = None
    asks = next((each for each in effects if isinstance(each, Listen)), None)
    said, cut_short = 0, list[int]()
    for effect in effects:
        match effect:
            case Say():
                spoken = _say(room, language, effect, asks)
                if asks is not None and isinstance(spoken.heard, Utterance):
                    place = said if effect.prompt_id is None else None
                    heard = _announced(spoken.heard, place)
                    return _behind(_as_event(room, language, state, asks, heard), cut_short)
                begun = spoken.heard if isinstance(spoken.heard, Begun) else None
                cut_short += [] if spoken.finished else [said]
                said += 1
            case Listen():
                event = _behind(listen(room, language, state, effect, begun), cut_short)
                if effect.note and isinstance(event, Refused) and event.left_something:
                    event = replace(event, reason=NOTE, missing="")
            case Record() | Close():
                pass
    return event


def _behind(event: Answer, cut_short: Sequence[int]) -> Answer:
    """The same, which tells what of that before it was not said to its end."""
    if not cut_short:
        return event
    if isinstance(event, Silent):
        return replace(event, cut_short=tuple(cut_short))
    return replace(event, how=replace(event.how, cut_short=tuple(cut_short)))


@dataclass(frozen=True)
class _Spoken:
    """What somebody said into what was said, and whether all of it was said, or so much as he let.

    "stop", or an answer that has begun; None for nothing.
    """

    heard: Begun | Utterance | None
    finished: bool


def _say(room: Room, language: Language, say: Say, asks: Listen | None) -> _Spoken:
    """Speak, and listen along where something may be said into it."""
    ears = room.ears
    stop = asks is not None and "stop" in asks.expectation.commands
    if room.meanwhile is None or asks is None or not stop or not isinstance(ears, OverhearingEars):
        speed_wpm = speed_of(say, room.brisk_percent)
        return _Spoken(None, room.voice.say(say.text, speed_wpm, say.volume).finished)
    grammar = language.for_step(Expectation(commands=("stop",)))
    with room.meanwhile.saying(say) as said:
        heard = ears.overhear(said, Listening(asks.prompt_id, grammar, asks.timeout_s))
    spoken_into = isinstance(heard, Utterance) or (heard is not None and heard.into is not None)
    return _Spoken(heard, spoken_into or said.is_said_out())


def _announced(heard: Utterance, place: int | None) -> Utterance:
    """The same, said into what was told before the prompt, where it was that."""
    into = heard.how.into
    if place is None or into is None:
        return heard
    return replace(heard, how=replace(heard.how, into=replace(into, announced=place)))


def listen(
    room: Room, language: Language, state: State, effect: Listen, begun: Begun | None = None
) -> Answer:
    """What is heard under this prompt, as an event; words outside of its grammar are none.

    `begun`: the answer began while it was said.
    """
    grammar = language.for_step(effect.expectation)
    expects = partial(is_likely, state)
    listening = Listening(effect.prompt_id, grammar, effect.timeout_s, expects, begun)
    return _as_event(room, language, state, effect, room.ears.hear(listening))


def _as_event(
    room: Room, language: Language, state: State, effect: Listen, heard: HeardSound
) -> Answer:
    room.listener(heard)
    if isinstance(heard, Refusal) and heard.reason == "silence":
        return Silent(effect.prompt_id, effect.timeout_s)
    keep = state.keep_sound and room.clips is not None and bool(heard.sound)
    clip = room.clips.put(heard.sound) if keep and room.clips is not None else None
    how = replace(heard.how, clip_sha256=clip)
    meaning = heard.meaning if isinstance(heard.meaning, Meaning) else None
    if isinstance(heard, Refusal):
        return _by_weak_evidence(effect, meaning, how, heard.reason)
    if meaning is None:
        missing = language.missing(effect.expectation, how.words)
        return Refused(effect.prompt_id, "not_in_grammar", how, missing)
    if _is_sure_enough(heard, state):
        return Heard(effect.prompt_id, meaning, how)
    # Sure enough for the ears, but this voice was taken wrongly as surely in its check.
    return _by_weak_evidence(effect, meaning, how, "unsure")


def _is_sure_enough(heard: Utterance, state: State) -> bool:
    """Whether it is surer than the surest mistake of the voice check, if there was one."""
    if not heard.sound or state.least_confidence == 0.0:
        return True
    return (heard.how.confidence or 0.0) > state.least_confidence


def _by_weak_evidence(effect: Listen, meaning: Meaning | None, how: How, reason: str) -> Answer:
    # A spoken note may hold any words; there "stop" has to be heard as well as a number has.
    if meaning is not None and not effect.note and _acts_on_weak_evidence(meaning):
        return Heard(effect.prompt_id, meaning, replace(how, weak=True))
    return Refused(effect.prompt_id, reason, how)


def _acts_on_weak_evidence(meaning: Meaning) -> bool:
    return isinstance(meaning, Command) and meaning.name in ACT_ON_WEAK_EVIDENCE


__all__ = ["Room", "replay", "replay_record", "resume_job", "start_job"]

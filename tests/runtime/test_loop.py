"""The loop: kept before spoken, taken up where it broke off, and careful with what it hears."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from companion.dialogue.events import is_event
from companion.dialogue.machine import begin, step
from companion.dialogue.state import Mode, State
from companion.errors import RecordError
from companion.facts.beforehand import HearingBefore
from companion.facts.kinds import Fact, kind_of
from companion.facts.opening import Opened
from companion.facts.talking import Heard as HeardFact
from companion.facts.talking import How
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.language.grammar import Grammar
from companion.recognition.port import Heard, Listening, Refusal, SoundEnded, Utterance
from companion.record.database import open_record
from companion.record.journal import SqliteLog
from companion.record.memory import MemoryLog
from companion.record.port import StoredEvent
from companion.runtime import assembly
from companion.runtime.loop import Room, replay_record, resume_job, start_job
from companion.runtime.preflight import heard_cautions
from companion.runtime.rehearsing import choose_slips, make_rehearsal, run_rehearsal
from companion.speech.port import Spoken
from companion.speech.silent import SilentVoice
from tests.recorded import recorded


@dataclass
class OrderedVoice:
    """A voice and a log that write into one list what they did, in order."""

    order: list[tuple[str, str]]
    spoken: list[tuple[int, float]] = field(default_factory=list)

    def prepare(self, texts: Iterable[str], speed: int = 160) -> None:
        """Nothing to make ready."""

    def say(self, text: str, speed: int = 160, volume: float = 1.0) -> Spoken:
        self.order.append(("spoken", text))
        self.spoken.append((speed, volume))
        return Spoken(0.0, None, "list")

    def hush(self) -> None:
        """Nothing is ever being said."""

    def close(self) -> None:
        """Nothing to let go of."""


class CutShort(OrderedVoice):
    """A voice that the pedal cuts short at the texts that begin so."""

    def __init__(self, order: list[tuple[str, str]], *texts: str) -> None:
        super().__init__(order)
        self.texts = texts

    def say(self, text: str, speed: int = 160, volume: float = 1.0) -> Spoken:
        spoken = super().say(text, speed, volume)
        return replace(spoken, finished=not (self.texts and text.startswith(self.texts)))


class OrderedLog(MemoryLog):
    """A log that also writes into the list, and that can run out of room."""

    def __init__(self, order: list[tuple[str, str]], room_for: int = 10_000) -> None:
        super().__init__()
        self._order = order
        self._room_for = room_for

    def append(self, facts: Any) -> tuple[StoredEvent, ...]:
        if len(self._events) + len(facts) > self._room_for:
            raise RecordError("the disk is full")
        stored = super().append(facts)
        for event in stored:
            self._order.append((f"kept {event.kind}", str(event.body.get("text", ""))))
        return stored


class ScriptedEars:
    """Ears that hear what stands on a list: words, or a refusal; then nothing more."""

    name = "scripted"

    def __init__(self, order: list[tuple[str, str]], *script: str | Heard) -> None:
        self._order = order
        self._script = list(script)
        self.listened: list[Listening] = []

    def hear(self, listening: Listening) -> Heard:
        self._order.append(("listened", listening.prompt_id))
        self.listened.append(listening)
        if not self._script:
            raise SoundEnded("the script is over")
        heard = self._script.pop(0)
        if isinstance(heard, str):
            how = How(heard, self.name, None, 0.9, 1.0, 2.0, (heard,))
            heard = Utterance(None, how, heard.encode())
        return replace(heard, meaning=listening.grammar.parse(heard.words))

    def close(self) -> None:
        """Nothing to let go of."""


class ClipList:
    """Keeps sound by its hash."""

    def __init__(self) -> None:
        self.kept: list[bytes] = []

    def put(self, sound: bytes) -> str:
        self.kept.append(sound)
        return hashlib.sha256(sound).hexdigest()


@dataclass
class FactList:
    """A watcher that remembers."""

    kinds: list[str] = field(default_factory=list)

    def fact(self, fact: Fact) -> None:
        self.kinds.append(kind_of(fact))


@dataclass
class Scene:
    """A room with a list of what happened in it, in order."""

    loaded: LoadedJob
    grammar: Grammar
    order: list[tuple[str, str]] = field(default_factory=list)
    clips: ClipList = field(default_factory=ClipList)
    watcher: FactList = field(default_factory=FactList)
    log: OrderedLog | None = None
    voice: OrderedVoice | None = None
    ears: ScriptedEars | None = None

    def play(
        self, *script: str | Heard, room_for: int = 10_000, voice: str = ""
    ) -> list[StoredEvent]:
        """The job until the script is over; what the log then holds."""
        self.log = OrderedLog(self.order, room_for)
        self.voice = OrderedVoice(self.order)
        self.ears = ScriptedEars(self.order, *script)
        room = Room(self.ears, self.voice, self.log, self.clips, self.watcher)
        with pytest.raises(SoundEnded):
            start_job(room, self.loaded, self.grammar, technician="Ana", voice=voice)
        return self.stored()

    def stored(self) -> list[StoredEvent]:
        assert self.log is not None
        return list(self.log.events("memory"))

    def state(self) -> State:
        return replay_record(self.loaded, self.grammar, self.stored())


def refusal(words: str, reason: Any = "unsure") -> Refusal:
    return Refusal(reason, How(words, "scripted", detail="too little resemblance"), words.encode())


@pytest.fixture(scope="module")
def loaded() -> LoadedJob:
    return assembly.load(JobPaths())


@pytest.fixture(scope="module")
def grammar() -> Grammar:
    return assembly.language()


@pytest.fixture
def scene(loaded: LoadedJob, grammar: Grammar) -> Scene:
    return Scene(loaded, grammar)


@pytest.fixture(scope="module", params=[1, 2, 3])
def rehearsed(request, loaded: LoadedJob, grammar: Grammar) -> tuple[State, list[StoredEvent]]:
    """A whole rehearsal with slips: the state it ended in and its record."""
    log = MemoryLog()
    rehearsal = make_rehearsal(loaded, request.param, slips=choose_slips(request.param, 3))
    done = run_rehearsal(loaded, grammar, rehearsal, SilentVoice(), log)
    return done.state, list(log.events("memory"))


def before_the_end(stored: list[StoredEvent]) -> list[StoredEvent]:
    """The record up to its last but one event, with all facts that were kept with it."""
    events = ("opened", "resumed", "heard", "refused", "silent")
    last = max(i for i, item in enumerate(stored) if item.kind in events)
    return stored[:last]


def test_the_opening_keeps_the_files_and_who_works(scene):
    opened = scene.play()[0]
    assert opened.kind == "opened"
    assert opened.body["technician"] == "Ana"
    assert opened.body["example"] is True
    assert opened.body["vehicle"]["wheelbase_mm"] == 2700
    assert opened.body["file_hashes"] == dict(scene.loaded.file_hashes)


def test_everything_is_kept_before_it_is_spoken(scene):
    scene.play("words only", "yes", "bumper", "yes")
    kept: list[str] = []
    for what, text in scene.order:
        if what == "kept said":
            kept.append(text)
        if what == "spoken":
            assert kept.pop(0) == text
    assert kept == []
    assert scene.order[0] == ("kept opened", "")


def test_what_was_heard_is_kept_with_all_that_follows_from_it_before_the_next_word(scene):
    scene.play("words only", "yes")
    kinds = [what for what, _ in scene.order]
    answered = kinds.index("kept answered")
    heard = len(kinds) - 1 - kinds[::-1].index("kept heard")
    assert kinds[heard - 1] == "listened"
    between = kinds[heard : kinds.index("spoken", heard)]
    assert heard < answered
    assert "kept consent" in between
    assert "kept said" in between


def test_what_cannot_be_kept_is_not_spoken(scene):
    """With the disk full after the opening, no word of the next step is said."""
    scene.play("words only")
    room_for = next(e.seq for e in scene.stored() if e.kind == "heard") - 1
    scene.order.clear()
    full = Scene(scene.loaded, scene.grammar)
    full.log = OrderedLog(full.order, room_for)
    room = Room(
        ScriptedEars(full.order, "words only"),
        OrderedVoice(full.order),
        full.log,
        None,
        full.watcher,
    )
    with pytest.raises(RecordError, match="the disk is full"):
        start_job(room, full.loaded, full.grammar)
    assert full.order[-1][0] == "listened"
    assert "heard" not in full.watcher.kinds


def test_the_watcher_sees_every_entry_once_and_in_order(scene):
    stored = scene.play("words only", "yes", "make a note", refusal("mumble"))
    assert scene.watcher.kinds == [item.kind for item in stored]


def test_the_voice_is_given_speed_and_loudness(scene):
    scene.play("faster", "quieter")
    assert scene.voice.spoken[0] == (160, 0.8)
    assert scene.voice.spoken[-2] == (184, 0.8)
    assert scene.voice.spoken[-1] == (184, 0.6)


def test_the_ears_are_given_only_what_this_prompt_takes(scene):
    scene.play("words only")
    first, second = scene.ears.listened
    assert first.grammar.parse("words only") is not None
    assert first.grammar.parse("yes") is None
    assert second.grammar.parse("yes") is not None
    assert first.prompt_id != second.prompt_id


def test_words_outside_the_grammar_are_refused_even_when_the_ears_are_sure(scene):
    stored = scene.play("yes", "seven seven five")
    assert [e.body["reason"] for e in stored if e.kind == "refused"] == ["not_in_grammar"] * 2
    assert [e.body["words"] for e in stored if e.kind == "refused"] == ["yes", "seven seven five"]
    assert scene.state().answers == {}


@pytest.mark.parametrize("words", ["stop", "wait", "wait a moment", "stop now"])
@pytest.mark.parametrize("reason", ["unsure", "too_loud", "clipped", "too_long", "sound_lost"])
def test_stop_and_wait_act_on_weak_evidence(scene, words, reason):
    stored = scene.play(refusal(words, reason))
    heard = next(item for item in stored if item.kind == "heard")
    assert heard.body["weak"] is True
    assert scene.state().mode is (Mode.STOPPED if "stop" in words else Mode.PAUSED)


@pytest.mark.parametrize("words", ["words only", "keep the sound", "repeat", "go back", "louder"])
def test_nothing_else_acts_on_weak_evidence(scene, words):
    stored = scene.play(refusal(words))
    assert not [item for item in stored if item.kind == "heard"]
    assert next(item for item in stored if item.kind == "refused").body["reason"] == "unsure"
    assert scene.state().answers == {}


def test_a_weak_yes_never_accepts(scene):
    scene.play("keep the sound", refusal("yes"), refusal("correct"), refusal("yes", "too_loud"))
    assert scene.state().answers == {}
    assert scene.state().mode is Mode.CONFIRMING


def test_a_weak_number_is_never_taken(scene):
    to_the_floor = ["words only", "yes", "bumper", "yes", *["done"] * 2]
    scene.play(*to_the_floor, refusal("five zero zero"))
    assert scene.state().prompt.step_id == "rule_rear_left_mm"
    assert scene.state().mode is Mode.ASKING
    assert scene.state().pending is None
    scene.play(*to_the_floor, "five zero zero", refusal("yes"))
    assert scene.state().readings == {}


def test_a_weak_end_of_the_job_is_not_taken(scene):
    stored = scene.play("stop", refusal("end the job"))
    assert scene.state().mode is Mode.STOPPED
    assert [item.body["words"] for item in stored if item.kind == "refused"] == ["end the job"]
    scene.play("stop", "end the job", refusal("yes"))
    assert scene.state().mode is Mode.ENDING
    assert scene.state().result is None


@pytest.mark.parametrize(("least", "taken"), [(0.0, True), (0.89, True), (0.9, False)])
def test_an_answer_has_to_be_surer_than_the_surest_mistake_of_the_voice_check(scene, least, taken):
    """These ears are 0.9 sure of all that they hear; "stop" is never made harder."""
    scene.log = OrderedLog(scene.order)
    ears = ScriptedEars(scene.order, "words only", "stop")
    room = Room(ears, OrderedVoice(scene.order), scene.log, scene.clips, scene.watcher)
    with pytest.raises(SoundEnded):
        start_job(room, scene.loaded, scene.grammar, hearing=HearingBefore(least_confidence=least))
    words = [(item.kind, item.body["words"]) for item in scene.stored() if "words" in item.body]
    assert words == [("heard" if taken else "refused", "words only"), ("heard", "stop")]
    assert scene.state().mode is Mode.STOPPED


def test_silence_is_kept_as_silence(scene):
    stored = scene.play(refusal("", "silence"))
    silent = next(item for item in stored if item.kind == "silent")
    assert silent.body == {"prompt_id": "p1", "waited_s": 30.0}


def test_the_record_holds_the_version_of_a_learned_voice_alone(scene):
    opened = next(event for event in scene.play("words only") if event.kind == "opened")
    assert "voice" not in opened.body, "nothing was learned: nothing is said of it"
    again = Scene(scene.loaded, scene.grammar)
    opened = next(event for event in again.play(voice="0123456789abcdef") if event.kind == "opened")
    assert opened.body["voice"] == "0123456789abcdef"
    assert opened.fact.voice == "0123456789abcdef"
    log = OrderedLog([])
    room = Room(ScriptedEars([]), OrderedVoice([]), log, None, FactList())
    with pytest.raises(SoundEnded):
        resume_job(room, scene.loaded, scene.grammar, again.stored(), "f" * 16)
    assert next(iter(log.events("memory"))).body == {"voice": "f" * 16}


def test_no_sound_is_kept_before_consent_was_confirmed(scene):
    scene.play("keep the sound", refusal("mumble"), "yes")
    assert scene.clips.kept == []
    assert all(item.body.get("clip_sha256") is None for item in scene.stored())


def test_with_words_only_no_sound_is_ever_kept(scene):
    scene.play("words only", "yes", "bumper", "yes", "done", refusal("mumble"), "make a note")
    assert scene.clips.kept == []


def test_after_consent_every_utterance_is_kept_with_its_hash(scene):
    stored = scene.play("keep the sound", "yes", "bumper", refusal("mumble"), "yes")
    assert scene.clips.kept == [b"bumper", b"mumble", b"yes"]
    names = [item.body["clip_sha256"] for item in stored if item.kind in ("heard", "refused")][2:]
    assert names == [hashlib.sha256(sound).hexdigest() for sound in scene.clips.kept]


def test_consent_taken_back_keeps_no_more_sound(scene):
    scene.play("keep the sound", "yes", "go back", "words only", "yes", "bumper")
    assert scene.clips.kept == [b"go back"]


def test_a_note_is_kept_with_its_sound(scene):
    stored = scene.play("keep the sound", "yes", "make a note", refusal("left clamp creaks"))
    noted = next(item for item in stored if item.kind == "noted")
    assert noted.body["clip_sha256"] == hashlib.sha256(b"left clamp creaks").hexdigest()
    assert noted.body["words"] == "left clamp creaks"


def test_where_no_clips_can_be_kept_the_words_still_are(scene, loaded, grammar):
    log = OrderedLog([])
    ears = ScriptedEars([], "keep the sound", "yes", "bumper")
    with pytest.raises(SoundEnded):
        start_job(Room(ears, OrderedVoice([]), log, None, FactList()), loaded, grammar)
    heard = [item.body for item in log.events("memory") if item.kind == "heard"]
    assert [body["words"] for body in heard] == ["keep the sound", "yes", "bumper"]
    assert all(body["clip_sha256"] is None for body in heard)


def test_the_record_of_a_whole_rehearsal_leads_to_the_same_state(loaded, grammar, rehearsed):
    state, stored = rehearsed
    assert len(stored) > 300
    open_state = replay_record(loaded, grammar, before_the_end(stored))
    assert open_state.mode is not Mode.CLOSED
    # One more event, taken from the record itself, closes it as it was closed.
    last = stored[len(before_the_end(stored))]
    assert is_event(last.fact)
    assert step(open_state, last.fact)[0] == state


def test_a_record_cut_off_after_any_event_can_be_taken_up(loaded, grammar, rehearsed):
    """The power may go after every single entry batch; the replay says where the job was."""
    _, stored = rehearsed
    ends = [i for i, e in enumerate(stored) if i and e.kind in ("heard", "refused", "silent")]
    for end in ends[:: max(1, len(ends) // 12)]:
        state = replay_record(loaded, grammar, stored[:end])
        assert state.prompt is not None
        assert state.prompt.id == stored[end].body["prompt_id"]


def test_a_job_that_is_over_is_not_taken_up_again(loaded, grammar, rehearsed):
    with pytest.raises(RecordError, match="This session is over"):
        replay_record(loaded, grammar, rehearsed[1])


def test_a_job_that_was_signed_off_is_not_taken_up_again(loaded, grammar, rehearsed):
    stored = before_the_end(rehearsed[1])
    replay_record(loaded, grammar, stored)
    signed = replace(stored[-1], seq=stored[-1].seq + 1, kind="signed_off", body={})
    with pytest.raises(RecordError, match="was signed off and cannot be continued"):
        replay_record(loaded, grammar, [*stored, signed])


def test_resuming_keeps_the_break_in_the_record_and_asks_what_was_touched(loaded, grammar):
    rehearsal = make_rehearsal(loaded, 4)
    log = MemoryLog()
    run_rehearsal(loaded, grammar, rehearsal, SilentVoice(), log)
    stored = list(log.events("memory"))
    middle = next(i for i, e in enumerate(stored) if e.body.get("reading_id") == "arm_left_mm")
    broken_off = before_the_end(stored[:middle])
    order: list[tuple[str, str]] = []
    ears = ScriptedEars(order, "was moved", "yes")
    voice = OrderedVoice(order)
    rest = OrderedLog(order)
    with pytest.raises(SoundEnded):
        resume_job(Room(ears, voice, rest, None, FactList()), loaded, grammar, broken_off)
    assert order[0][0] == "kept resumed"
    spoken = [text for what, text in order if what == "spoken"]
    assert spoken[0].startswith("I am back. We were at ")
    assert "Carrying on. Level, left end." in spoken[-1]
    # Both halves together are one record that leads to the same place.
    state = replay_record(loaded, grammar, [*broken_off, *rest.events("memory")])
    assert state.prompt.step_id == "level_mm_per_m"
    assert "spot_left_mm" not in state.readings


@pytest.mark.parametrize("which", ["job", "vehicle", "mount", "bay"])
def test_a_record_of_other_files_is_refused(loaded, grammar, scene, tmp_path, which):
    stored = scene.play("words only", "yes")
    name = "front_radar.yaml" if which == "job" else f"{which}.yaml"
    changed = tmp_path / name
    changed.write_bytes((EXAMPLES / name).read_bytes() + b"# touched\n")
    other = assembly.load(replace(JobPaths(), **{which: changed}))
    with pytest.raises(RecordError, match=f"changed since the session began: {which}") as problem:
        replay_record(other, grammar, stored)
    assert "wanted: the same files and the same version" in str(problem.value)


def _changed(item: StoredEvent, **body: Any) -> StoredEvent:
    return replace(item, body={**item.body, **body})


def test_a_record_with_an_altered_fact_is_refused(loaded, grammar, rehearsed):
    stored = before_the_end(rehearsed[1])
    kinds = {item.kind: i for i, item in enumerate(stored)}
    for kind, change in {
        "accepted": {"value": "1"},
        "answered": {"choice": "other"},
        "decided": {"answer": "outside", "value": 17.0},
        "aim_decided": {"probability_inside": 0.123},
        "said": {"text": "All is well."},
        "computed": {"outputs": {}},
    }.items():
        altered = [*stored]
        altered[kinds[kind]] = _changed(stored[kinds[kind]], **change)
        with pytest.raises(RecordError, match="now gives something else") as problem:
            replay_record(loaded, grammar, altered)
        assert f"event {stored[kinds[kind]].seq} '{kind}'" in str(problem.value)


def test_a_figure_that_differs_by_rounding_alone_is_not_refused(loaded, grammar, rehearsed):
    stored = before_the_end(rehearsed[1])
    at = max(i for i, item in enumerate(stored) if item.kind == "decided")
    body = stored[at].body
    stored[at] = _changed(stored[at], value=body["value"] * (1 + 1e-13), u=body["u"] * (1 - 1e-13))
    replay_record(loaded, grammar, stored)


def test_a_record_with_a_fact_too_few_or_too_many_is_refused(loaded, grammar, rehearsed):
    stored = before_the_end(rehearsed[1])
    accepted = max(i for i, item in enumerate(stored) if item.kind == "accepted")
    without = [*stored[:accepted], *stored[accepted + 1 :]]
    with pytest.raises(RecordError, match="'accepted' was to come"):
        replay_record(loaded, grammar, without)
    twice = [*stored[: accepted + 1], *stored[accepted:]]
    # The last one accepted: what follows it is of another kind.
    with pytest.raises(RecordError, match=r"'accepted': .* was to come"):
        replay_record(loaded, grammar, twice)
    with pytest.raises(RecordError, match="was to come first"):
        replay_record(loaded, grammar, stored[1:])


def test_a_record_that_breaks_off_within_a_step_is_refused(loaded, grammar, rehearsed):
    stored = before_the_end(rehearsed[1])
    with pytest.raises(RecordError, match="ends in the middle"):
        replay_record(loaded, grammar, stored[:-1])
    with pytest.raises(RecordError, match="ends in the middle"):
        replay_record(loaded, grammar, [])


def test_an_altered_answer_is_found_by_what_follows_from_it(loaded, grammar, rehearsed):
    """A heard number that is changed no longer fits the read-back that was kept with it."""
    stored = before_the_end(rehearsed[1])
    at = next(
        i
        for i, item in enumerate(stored)
        if item.kind == "heard" and item.body["meaning"]["kind"] == "number"
    )
    meaning = {**stored[at].body["meaning"], "value": "512"}
    assert meaning != stored[at].body["meaning"]
    stored[at] = _changed(stored[at], meaning=meaning)
    with pytest.raises(RecordError, match="now gives something else"):
        replay_record(loaded, grammar, stored)


def test_an_answer_to_a_prompt_that_was_never_open_is_found(loaded, grammar, rehearsed):
    stored = before_the_end(rehearsed[1])
    at = next(i for i, item in enumerate(stored) if item.kind == "heard")
    stored[at] = _changed(stored[at], prompt_id="p999")
    with pytest.raises(RecordError):
        replay_record(loaded, grammar, stored)


def test_the_entries_of_a_job_can_all_be_stored(loaded, grammar):
    """Every fact that the dialogue makes is made of what the log can hold."""
    state, effects = step(begin(loaded.plan, grammar), Opened())
    log = MemoryLog()
    log.append(recorded(effects))
    assert len(list(log.events("memory"))) > 5
    assert state.mode is Mode.ASKING


def test_a_spoken_note_is_not_stopped_on_weak_evidence(scene):
    scene.play(
        "keep the sound", "yes", "make a note", refusal("stop"), "where are we", refusal("stop")
    )
    kinds = [item.kind for item in scene.stored()]
    assert kinds.count("noted") == 1
    assert scene.state().mode is Mode.STOPPED


def test_what_the_pedal_cuts_short_is_recorded_with_what_is_heard_behind_it(scene: Scene) -> None:
    order: list[tuple[str, str]] = []
    cautions = [caution.say for caution in scene.loaded.plan.files.job.cautions]
    log, ears = MemoryLog(), ScriptedEars(order, "repeat", "where are we")
    voice = CutShort(order, cautions[1])
    with pytest.raises(SoundEnded):
        start_job(Room(ears, voice, log, None, FactList()), scene.loaded, scene.grammar)
    stored = tuple(log.events("memory"))
    heard = [event.fact for event in stored if isinstance(event.fact, HeardFact)]
    assert [fact.how.cut_short for fact in heard] == [(1,), ()]
    # It comes out the same when the record is read again, and what was not cut is as it was.
    replay_record(scene.loaded, scene.grammar, stored)
    bodies = [event.body for event in stored if event.kind == "heard"]
    assert ["cut_short" in body for body in bodies] == [True, False]


@pytest.mark.parametrize(("cut", "heard_them"), [("", True), ("caution", False), ("prompt", True)])
def test_cautions_that_the_pedal_cut_short_do_not_count_as_heard_that_day(
    scene: Scene, tmp_path: Path, cut: str, heard_them: bool
) -> None:
    order: list[tuple[str, str]] = []
    cautions = [caution.say for caution in scene.loaded.plan.files.job.cautions]
    scene.play("repeat")
    prompt = [text for what, text in scene.order if what == "spoken"][len(cautions)]
    texts = {"": (), "caution": (cautions[-1],), "prompt": (prompt,)}[cut]
    with open_record(tmp_path / "record.sqlite") as database:
        log = SqliteLog(database, database.create_session())
        room = Room(ScriptedEars(order, "repeat"), CutShort(order, *texts), log, None, FactList())
        with pytest.raises(SoundEnded):
            start_job(room, scene.loaded, scene.grammar, technician="Ana")
        code, job = scene.grammar.code, scene.loaded.plan.files.job.id
        assert heard_cautions(database, "Ana", job, code, date.min) is heard_them

"""A voice in a job: what was read back and confirmed teaches, and only where that is allowed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

from companion.facts.answers import Accepted, Answered, Consent, TakenBack
from companion.facts.kinds import Fact
from companion.facts.meanings import Choice, Command, Done, Meaning, Mended, No, Number, Pair, Yes
from companion.facts.message import Message
from companion.facts.talking import Heard, How
from companion.language.expectation import Expectation
from companion.recognition.own.adaptation import Adaptation, Added
from companion.recognition.own.adapting import Take
from companion.recognition.port import Utterance
from companion.recognition.voices.store import Person, VoiceStore
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.job_voice import JobVoice, LearnsFromJob, voice_for_job
from companion.runtime.loop import Room
from companion.speech.silent import SilentVoice
from tests.recognition.test_kept_voices import ANA, HEADS, TOKENS, kept
from tests.scripted_ears import ScriptedEars

TODAY = date(2031, 5, 2)
SOUND = bytes(3200)


class Learner:
    """A recogniser that learns, without any sound."""

    name = "own"
    fingerprint = HEADS
    token_count = TOKENS

    def __init__(self) -> None:
        self.used: list[Adaptation | None] = []
        self.learned_from: list[str] = []

    def take(self, sound: bytes, words: str) -> Take | None:
        return kept(words).take

    def learned(self, takes: Sequence[Take]) -> Adaptation:
        self.learned_from = [take.words for take in takes]
        bias = np.full(TOKENS, len(takes), np.float32)
        added = Added(np.zeros((TOKENS, 256), np.float32), bias)
        return Adaptation.of(added, added, HEADS)

    def use_voice(self, voice: Adaptation | None) -> None:
        self.used.append(voice)


class Facts:
    def __init__(self) -> None:
        self.seen: list[Fact] = []

    def fact(self, fact: Fact) -> None:
        self.seen.append(fact)


def said(words: str, ears: str = "own") -> Utterance:
    return Utterance(None, How(words, ears, confidence=0.9), SOUND)


def number(value: str, direction: str | None = None) -> Number:
    return Number(Decimal(value), direction)


def accepted(value: str, reading: str = "level", direction: str | None = None) -> Accepted:
    return Accepted(reading, "Level", value, "mm", direction, value, 0.1)


class Job:
    """A job as the learner sees it: what is heard, and the facts that follow."""

    def __init__(self) -> None:
        self.watcher = Facts()
        self.learns = LearnsFromJob(self.watcher, Learner())

    def hears(self, words: str, meaning: Meaning, ears: str = "own") -> Job:
        self.learns.heard(said(words, ears))
        self.learns.fact(Heard("p", meaning, How(words, ears)))
        return self

    def yes(self) -> Job:
        return self.hears("yes", Yes())

    def no(self) -> Job:
        return self.hears("no", No())

    def fact(self, *facts: Fact) -> Job:
        for fact in facts:
            self.learns.fact(fact)
        return self

    @property
    def words(self) -> list[str]:
        return [one.words for one in self.learns.confirmed()]


_ANY = Expectation(done=True)


@pytest.fixture
def job() -> Job:
    return Job().fact(Consent(True))


def test_a_reading_teaches_once_it_was_confirmed(job: Job) -> None:
    job.hears("four two one", number("421"))
    assert job.words == []
    job.yes().fact(accepted("421"))
    assert job.words == ["four two one"]


def test_two_readings_in_one_answer_teach_once_both_were_confirmed(job: Job) -> None:
    words = "seven eight right two right"
    job.hears(words, Pair(number("78", "right"), number("2", "right"))).yes()
    job.fact(accepted("-78", "left", "right"))
    assert job.words == []
    job.fact(accepted("-2", "right", "right"))
    assert job.words == [words]
    job.fact(TakenBack(("right",), "", True))
    assert job.words == []


def test_a_pair_of_which_one_was_mended_teaches_nothing(job: Job) -> None:
    job.hears("four two zero four one eight", Pair(number("420"), number("418")))
    job.hears("second four one nine", Mended(2, number("419"))).yes()
    job.fact(accepted("420", "one"), accepted("419", "two"))
    assert job.words == ["second four one nine"]


def test_a_pair_and_a_single_one_read_back_together_teach_both(job: Job) -> None:
    job.hears("four two zero four two zero", Pair(number("420"), number("420")))
    job.hears("four one eight", number("418")).yes()
    job.fact(accepted("420", "one"), accepted("420", "two"), accepted("418", "three"))
    assert sorted(job.words) == ["four one eight", "four two zero four two zero"]


def test_a_denied_pair_teaches_nothing(job: Job) -> None:
    job.hears("four two zero four two zero", Pair(number("420"), number("420"))).no()
    job.fact(accepted("420", "one"), accepted("420", "two"))
    assert job.words == []


def test_a_reading_with_a_direction_is_told_by_both(job: Job) -> None:
    job.hears("nine left", number("9", "left")).yes().fact(accepted("-9", direction="left"))
    assert job.words == ["nine left"]


def test_a_choice_teaches_once_it_was_confirmed(job: Job) -> None:
    job.hears("bumper", Choice("bumper")).yes()
    job.fact(Answered("reason", "Reason", "bumper"))
    assert job.words == ["bumper"]


def test_what_was_denied_teaches_nothing(job: Job) -> None:
    job.hears("nine", number("9")).no().hears("five", number("5")).yes().fact(accepted("5"))
    assert job.words == ["five"]
    # Even where a later reading happens to be what was misheard before.
    job.hears("six", number("6")).yes().fact(accepted("9", "other"))
    assert job.words == ["five"]


def test_what_was_corrected_at_the_read_back_teaches_only_as_corrected(job: Job) -> None:
    job.hears("nine", number("9")).hears("five", number("5")).yes().fact(accepted("5"))
    assert job.words == ["five"]
    job.hears("two", number("2")).yes().fact(accepted("9", "other"))
    assert job.words == ["five"]


def test_several_readings_confirmed_by_one_yes_all_teach(job: Job) -> None:
    job.hears("four", number("4")).hears("five", number("5")).yes()
    job.fact(accepted("4", "first"), accepted("5", "second"))
    assert job.words == ["four", "five"]


def test_what_was_typed_teaches_nothing(job: Job) -> None:
    job.hears("four", number("4"), ears="typed").yes().fact(accepted("4"))
    assert job.words == []


def test_yes_done_and_commands_teach_nothing(job: Job) -> None:
    job.hears("done", Done()).hears("repeat", Command("repeat"))
    job.yes().fact(accepted("4"))
    assert job.words == []


def test_words_only_means_words_only() -> None:
    """The sentence that asks for it at the beginning of a job stays true."""
    quiet = Job()
    quiet.hears("three", number("3")).yes().fact(accepted("3", "before"))
    quiet.fact(Consent(False)).hears("four", number("4")).yes().fact(accepted("4"))
    assert quiet.words == []


def test_consent_that_is_taken_back_drops_all(job: Job) -> None:
    job.hears("four", number("4")).yes().fact(accepted("4"))
    job.hears("five", number("5")).fact(Consent(False))
    job.yes().fact(accepted("5", "other"))
    assert job.words == []


def test_a_reading_that_is_taken_back_teaches_nothing(job: Job) -> None:
    job.hears("four", number("4")).yes().fact(accepted("4"))
    job.fact(TakenBack(("level",), "it was wrong", by_technician=True))
    assert job.words == []
    job.hears("five", number("5")).yes().fact(accepted("5"))
    job.fact(TakenBack(("level",), "a loop of the job"))
    assert job.words == ["five"]


def test_the_watcher_sees_every_fact(job: Job) -> None:
    job.hears("four", number("4")).yes().fact(accepted("4"))
    assert len(job.watcher.seen) == 4


# When the job is over.


@pytest.fixture
def record(tmp_path: Path) -> Path:
    return tmp_path / "bay.record"


def voice_of(record: Path, **change: str) -> JobVoice:
    voice = VoiceStore(record).allow(Person.model_validate({**ANA.model_dump(), **change}))
    return JobVoice(voice, Learner(), "")


def run_job(voice: JobVoice, told: list[Message], *, sound: bool = True) -> None:
    room = Room(ScriptedEars([said("four")]), SilentVoice(), MemoryLog(), None, Facts())
    with voice.learning(room, told.append, sound=sound, today=TODAY) as learns:
        learns.watcher.fact(Consent(True))
        learns.listener(said("four"))
        learns.watcher.fact(Heard("p", number("4"), How("four", "own")))
        learns.watcher.fact(accepted("4"))
        assert told == [], "never while a job runs"


def test_what_was_confirmed_is_kept_and_learned_with_what_was_before(record: Path) -> None:
    voice, told = voice_of(record), []
    voice.voice.keep([kept("nine")])
    run_job(voice, told)
    assert [one.id for one in told] == ["live-voice-learned"]
    assert voice.recogniser.learned_from == ["nine", "four"]
    takes = voice.voice.takes(TOKENS)
    assert [(one.take.words, one.how) for one in takes] == [
        ("nine", "enrolled"),
        ("four", "confirmed"),
    ]
    assert takes[1].day == "2031-05-02"
    found = voice.voice.adaptation()
    assert found is not None
    assert told[0].args["version"] == found.version


@pytest.mark.parametrize(
    ("allowed", "shop", "kept_sounds"),
    [("", True, 0), ("2031-05-01", True, 1), ("2031-05-01", False, 0)],
)
def test_sound_is_kept_where_person_and_shop_allow_it(
    record: Path, allowed: str, shop: bool, kept_sounds: int
) -> None:
    voice = voice_of(record, sound_since=allowed)
    run_job(voice, [], sound=shop)
    assert len(list(voice.voice.folder.rglob("*.flac"))) == kept_sounds


def test_what_cannot_be_kept_is_told_and_ends_no_job(record: Path) -> None:
    voice, told = voice_of(record), []
    (voice.voice.folder / "takes.npz").write_bytes(b"spoiled")
    run_job(voice, told)
    assert [one.id for one in told] == ["live-voice-not-learned"]


def test_a_job_hears_by_the_technicians_voice(record: Path) -> None:
    voice = voice_of(record)
    recogniser = Learner()
    voice.voice.keep_learned(recogniser.learned([kept().take]))
    told: list[Message] = []
    found = voice_for_job(record, "ana example", "en", recogniser, told.append)
    assert found is not None
    assert recogniser.used[-1] is not None
    assert found.version == recogniser.used[-1].version
    assert told == []


@pytest.mark.parametrize("spoil", ["heads", "file"])
def test_a_voice_that_does_not_fit_is_told_of_and_not_used(record: Path, spoil: str) -> None:
    voice = voice_of(record, heads="f" * 16 if spoil == "heads" else HEADS)
    (voice.voice.folder / "learned.npz").write_bytes(b"spoiled")
    recogniser, told = Learner(), []
    assert voice_for_job(record, "Ana Example", "en", recogniser, told.append) is None
    assert recogniser.used[-1] is None
    assert [one.id for one in told] == ["live-voice-not-used"]


def test_nobody_and_ears_that_learn_nothing_have_no_voice(record: Path) -> None:
    voice_of(record)
    assert voice_for_job(record, "", "en", Learner(), pytest.fail) is None
    assert voice_for_job(record, "B. Sample", "en", Learner(), pytest.fail) is None
    assert voice_for_job(record, "Ana Example", "en", object(), pytest.fail) is None


def test_the_messages_are_in_both_languages() -> None:
    asked = {"count": 3, "version": "0" * 16, "why": "so", "name": "Ana", "word": "nine"}
    asked["words"] = "nine, five"
    for code in ("en", "es"):
        spoken = assembly.language(code)
        for name, wanted in spoken.messages.arguments.items():
            if "voice-" in name and name.startswith(("voice-", "live-voice-")):
                told = Message(name, {key: asked[key] for key in wanted if key in asked})
                if wanted <= asked.keys():
                    assert spoken.show(told)

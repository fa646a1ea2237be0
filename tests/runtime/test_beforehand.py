"""Before the first word: the room is listened to, and a voice is checked once a day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from companion.commands.job_screen import Screen
from companion.dialogue.state import Mode
from companion.facts.beforehand import HearingBefore, RoomNoise
from companion.facts.kinds import Entry
from companion.facts.talking import How
from companion.job.loader import JobPaths, LoadedJob
from companion.language.loader import pronunciations
from companion.recognition.listening import StreamEars
from companion.recognition.port import SoundEnded, Utterance
from companion.recognition.signals import SignallingEars
from companion.recognition.source import MemorySource
from companion.recognition.sphinx import SphinxRecogniser
from companion.recognition.typed import TypedEars
from companion.record.database import Database, open_record
from companion.record.journal import SqliteLog
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.loop import Room, replay_record, start_job
from companion.runtime.preflight import Hearer, hearing_before, last_check, room_noise
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice
from tests.scripted_ears import ScriptedEars
from tests.spoken import said as in_words

ANA = Hearer("Ana Field", "headset", "own")
QUIET = RoomNoise(-60.0, -55.0, "reliable", "It is quiet enough to work by voice.")
LEVELS = {"speech_dbfs": -25.0, "background_dbfs": -50.0, "snr_db": 25.0}


def noise_dbfs(level: float, seconds: float = 4.0) -> bytes:
    generator = np.random.default_rng(1)
    samples = generator.normal(scale=32768 * 10 ** (level / 20), size=round(16_000 * seconds))
    return bytes(samples.clip(-32768, 32767).astype("<i2").tobytes())


def said(words: str, confidence: float = 0.97) -> Utterance:
    how = How(words, "own", None, confidence, 0.0, 1.0, (words,), **LEVELS)
    return Utterance(None, how, b"\1\0")


@pytest.fixture(scope="module")
def loaded() -> LoadedJob:
    return assembly.load(JobPaths())


@pytest.mark.parametrize(
    ("level", "voice"), [(-60.0, "reliable"), (-34.0, "uncertain"), (-20.0, "unreliable")]
)
def test_the_room_is_listened_to_through_all_that_stands_between(level: float, voice: str) -> None:
    floors: list[float] = []
    ears = StreamEars(MemorySource(noise_dbfs(level)), SphinxRecogniser(pronunciations("en")))
    signalling = SignallingEars(ears, lambda: None, lambda _: None, floors.append)
    noise = room_noise(signalling)
    assert noise is not None
    assert noise.voice == voice
    assert noise.floor_dbfs == pytest.approx(level, abs=1.5)
    assert floors[0] == pytest.approx(level, abs=2), "the voice is not told how loud it has to be"


def test_typed_answers_have_no_room_and_a_silent_source_says_nothing() -> None:
    typed = SignallingEars(TypedEars(iter(())), lambda: None, lambda _: None, lambda _: None)
    assert room_noise(typed) is None
    none = StreamEars(MemorySource(b""), SphinxRecogniser(pronunciations("en")))
    assert room_noise(none) is None


def a_job(database: Database, who: Hearer, **checked: Any) -> None:
    log = SqliteLog(database, database.create_session())
    opened = {"technician": who.technician, "microphone": who.microphone, "ears": who.ears}
    log.append([Entry("opened", opened)])
    if checked:
        log.append([Entry("voice_checked", checked)])


def asks(database: Database, who: Hearer, when: Any = "first_job", days: int = 0) -> HearingBefore:
    today = date.today() + timedelta(days=days)
    return hearing_before(TypedEars(iter(())), who, when, database, today)


def test_a_voice_is_checked_at_the_first_job_of_the_day_only(tmp_path: Path) -> None:
    with open_record(tmp_path / "record.sqlite") as database:
        assert asks(database, ANA).offer_check
        a_job(database, ANA, outcome="fair", digit_by_digit=True, least_confidence=0.9)
        a_job(database, ANA)
        again = asks(database, ANA)
        assert again == HearingBefore(None, False, True, 0.9)
        assert asks(database, ANA, "always").offer_check
        assert asks(database, ANA, days=1) == HearingBefore(offer_check=True)


@pytest.mark.parametrize("outcome", ["declined", "left", "unanswered"])
def test_what_a_check_found_holds_though_another_was_not_made_since(
    tmp_path: Path, outcome: str
) -> None:
    with open_record(tmp_path / "record.sqlite") as database:
        a_job(database, ANA, outcome="fair", digit_by_digit=True, least_confidence=0.9)
        a_job(database, ANA, outcome=outcome)
        assert asks(database, ANA, "always") == HearingBefore(None, True, True, 0.9)
        assert not asks(database, ANA).offer_check


def test_another_person_microphone_or_recogniser_is_checked_anew(tmp_path: Path) -> None:
    with open_record(tmp_path / "record.sqlite") as database:
        a_job(database, ANA, outcome="well", digit_by_digit=False, least_confidence=0.0)
        others = [("Bo Hill", "headset", "own"), ("Ana Field", "", "own")]
        for other in (*others, ("Ana Field", "headset", "pocketsphinx")):
            assert asks(database, Hearer(*other)).offer_check
        assert not asks(database, ANA).offer_check


def test_who_declined_is_left_alone_that_day_and_who_was_away_is_asked_again(
    tmp_path: Path,
) -> None:
    with open_record(tmp_path / "record.sqlite") as database:
        a_job(database, ANA, outcome="unanswered")
        assert last_check(database, ANA, date.today()) is None
        assert asks(database, ANA).offer_check
        a_job(database, ANA, outcome="declined")
        assert asks(database, ANA) == HearingBefore()
        assert asks(database, ANA, "never") == HearingBefore()


def begun(loaded: LoadedJob, script: Sequence[Any]) -> MemoryLog:
    """A job that breaks off when the script is over; each answer by a voice with a level."""
    log = MemoryLog()
    room = Room(ScriptedEars(script), SilentVoice(), log, None, Screen(quiet=True))
    with pytest.raises(SoundEnded):
        start_job(room, loaded, assembly.language(), hearing=HearingBefore(QUIET, offer_check=True))
    return log


def test_after_a_power_cut_in_the_check_it_goes_on_with_the_same_word(loaded: LoadedJob) -> None:
    log = begun(loaded, [said("yes"), said("yes"), said("nine")])
    state = replay_record(loaded, assembly.language(), log.events(log.session_id))
    assert state.mode is Mode.CHECKING_VOICE
    assert state.prompt is not None
    assert in_words(state.prompt.ask) == "Say fifteen."
    assert state.voice_check is not None
    assert [word.snr_db for word in state.voice_check.heard] == [25.0, 25.0]


def test_what_the_check_found_holds_after_a_power_cut(loaded: LoadedJob) -> None:
    words = ("yes", "five", "fifteen", "left", "five", "no", "fifty", "zero", "done", "three")
    check = [said("yes"), *(said(word, 0.9) for word in words)]
    log = begun(loaded, [*check, said("words only", 0.89)])
    state = replay_record(loaded, assembly.language(), log.events(log.session_id))
    assert state.least_confidence == 0.9
    refused = [event.body for event in log.events(log.session_id) if event.kind == "refused"]
    assert [body["reason"] for body in refused] == ["unsure"]
    assert refused[0]["snr_db"] == 25.0


def test_a_stricter_limit_never_keeps_stop_from_stopping(loaded: LoadedJob) -> None:
    words = ("yes", "five", "fifteen", "left", "five", "no", "fifty", "zero", "done", "three")
    check = [said("yes"), *(said(word, 0.9) for word in words)]
    log = begun(loaded, [*check, said("stop", 0.85)])
    state = replay_record(loaded, assembly.language(), log.events(log.session_id))
    assert state.mode is Mode.STOPPED


def test_a_rehearsed_technician_takes_the_check_and_does_his_job(loaded: LoadedJob) -> None:
    log = MemoryLog()
    rehearsed = run_rehearsal(
        loaded, assembly.language(), make_rehearsal(loaded, 1), SilentVoice(), log, voice_check=True
    )
    (checked,) = [
        event.body for event in log.events(log.session_id) if event.kind == "voice_checked"
    ]
    assert (checked["outcome"], checked["right"]) == ("well", 10)
    assert rehearsed.state.result == "inside"

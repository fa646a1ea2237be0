"""Where sound goes to the store it is said before anybody agrees, and recorded as said."""

from __future__ import annotations

import pytest

from companion.dialogue.state import State
from companion.facts.answers import Consent
from companion.facts.opening import Opened
from companion.facts.talking import Said
from companion.job.loader import LoadedJob
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.loop import Room, replay_record, start_job
from companion.speech.silent import SilentVoice
from tests.benchmarks.rehearse import loaded_job
from tests.runtime.test_loop import ClipList, FactList, ScriptedEars, SoundEnded


def _answers(*script: str, goes: bool, salt: str = "", technician: str = "Ana") -> MemoryLog:
    """The job up to the question about sound, and what it heard."""
    log = MemoryLog()
    room = Room(ScriptedEars([], *script), SilentVoice(), log, ClipList(), FactList())
    with pytest.raises(SoundEnded):
        start_job(
            room,
            loaded_job(),
            assembly.language(),
            technician=technician,
            sound_goes=goes,
            name_salt=salt,
        )
    return log


def _asked(log: MemoryLog) -> list[str]:
    events = log.events(log.session_id)
    return [one.fact.text for one in events if isinstance(one.fact, Said) and one.fact.ask]


def test_it_is_said_before_it_is_agreed_to() -> None:
    log = _answers("keep the sound", "yes", goes=True)
    asked = [text for text in _asked(log) if "Your voice is personal data." in text]
    assert asked
    assert "Your voice is personal data. Kept sound also goes to the shop's store." in asked[0]
    events = list(log.events(log.session_id))
    opened = next(one.fact for one in events if isinstance(one.fact, Opened))
    assert opened.sound_goes
    assert events[0].body["sound_goes"] is True
    assert any(one.fact == Consent(keep_sound=True) for one in events)
    # A job that was broken off goes on under the same words.
    state: State = replay_record(loaded_job(), assembly.language(), events)
    assert state.sound_goes


def test_where_it_stays_nothing_is_said_and_the_bytes_are_those_of_before() -> None:
    log = _answers("keep the sound", goes=False)
    assert all("store" not in text for text in _asked(log))
    (opened, *_) = log.events(log.session_id)
    assert "sound_goes" not in opened.body
    assert "name_salt" not in opened.body


def test_a_name_has_a_salt_beside_it_and_no_name_has_none() -> None:
    salt = "5a" * 16
    for technician, wanted in (("Ana", salt), ("", None)):
        log = _answers("keep the sound", goes=False, salt=salt, technician=technician)
        (opened, *_) = log.events(log.session_id)
        assert opened.body.get("name_salt") == wanted


def test_the_loaded_job_asks_about_sound() -> None:
    loaded: LoadedJob = loaded_job()
    assert any(step.id == "consent" for step in loaded.plan.steps)

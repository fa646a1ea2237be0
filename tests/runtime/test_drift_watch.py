"""After a finished job: what changed in its bay is kept, shown and said; nothing else is."""

from __future__ import annotations

from pathlib import Path

from companion.commands.job_screen import _line
from companion.display.fold import fold
from companion.display.look import look
from companion.facts.ending import DriftNoticed
from companion.facts.kinds import Fact
from companion.facts.message import Message
from companion.language.loader import load_language
from companion.record import ClipStore, Entry, FixedClock, SqliteLog, clips_folder, open_record
from companion.record.audit.verify import verify
from companion.report.wording import wording_in
from companion.runtime.drift_watch import watch_for_drift
from companion.runtime.loop import Room
from companion.speech.silent import SilentVoice
from tests.scripted_ears import ScriptedEars

STEADY = [0.1, -0.1, 0.2, -0.2, 0.15, -0.05, 0.25, -0.15, 0.05, -0.25]


class Said(SilentVoice):
    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []

    def say(self, text: str, speed_wpm: int = 0, volume: int = 0) -> None:
        self.said.append(text)


class Seen:
    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def fact(self, fact: Fact) -> None:
        self.facts.append(fact)


def jobs(path: Path, values: list[float], measure: str) -> list[tuple[int, DriftNoticed, str, str]]:
    """Each job with its watch: its number, what was noticed, said, and shown on the screen."""
    found, clips = [], ClipStore(clips_folder(path))
    for number, value in enumerate(values):
        clock = FixedClock(f"2031-04-{number % 28 + 1:02}T08:00:00.000Z")
        with open_record(path, clock) as database:
            session = database.create_session()
            log = SqliteLog(database, session, clips)
            outputs = {measure: {"value": value, "u": 0.2, "unit": "mm"}}
            log.append([Entry("opened", {"bay": {"name": "Bay one"}})])
            log.append([Entry("computed", {"step_id": "x", "outputs": outputs, "inputs": {}})])
            log.append([Entry("finished", {"result": "inside"})])
            voice, seen = Said(), Seen()
            room = Room(ScriptedEars([]), voice, log, clips, seen)
            told = watch_for_drift(room, path, session, load_language(), lambda _: None)
            assert tuple(seen.facts) == told
            if told:
                last = list(database.events(session))
                assert last[-1].fact == told[-1]
                shown = look(fold(last)).instruction.before
                found.append((number, told[0], " ".join(voice.said), shown))
            else:
                assert voice.said == []
    assert verify(path, clips) == []
    return found


def test_a_floor_that_moved_is_told_once_with_the_job_that_shows_it(tmp_path: Path) -> None:
    moved = [*STEADY, *STEADY, *(value + 2.0 for value in STEADY)]
    ((number, told, said, shown),) = jobs(tmp_path / "r.sqlite", moved, "floor_twist_mm")
    assert 20 < number < 30
    assert (told.part, told.bay, told.since_utc[:10]) == ("floor", "Bay one", "2031-04-21")
    assert said == "The floor of this bay has likely changed. Have it checked before the next job."
    assert shown.endswith(said)
    line = _line(told, wording_in())
    assert line is not None
    assert "Floor twist has likely changed in Bay one, since 2031-04-21" in line


def test_of_a_bay_at_rest_nothing_is_said(tmp_path: Path) -> None:
    assert jobs(tmp_path / "r.sqlite", STEADY * 3, "floor_twist_mm") == []


def test_a_stand_that_moved_is_not_called_the_floor(tmp_path: Path) -> None:
    moved = [*STEADY, *STEADY, *(value + 2.0 for value in STEADY)]
    ((_, told, said, _),) = jobs(tmp_path / "r.sqlite", moved, "left_run_out_residual_mm")
    assert (told.part, said.startswith("The stand ")) == ("stand", True)


def test_where_the_look_fails_the_job_stays_and_it_is_told(tmp_path: Path) -> None:
    path, clips = tmp_path / "r.sqlite", ClipStore(clips_folder(tmp_path / "r.sqlite"))
    with open_record(path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session("s"), clips)
        log.append([Entry("opened", {}), Entry("finished", {"result": "inside"})])
        (tmp_path / "r.sqlite.statistics").write_bytes(b"a letter" * 100)
        told: list[Message] = []
        room = Room(ScriptedEars([]), Said(), log, clips, Seen())
        assert watch_for_drift(room, path, "s", load_language(), told.append) == ()
        assert [event.kind for event in database.events("s")] == ["opened", "finished"]
    assert len(told) == 1
    assert "not checked for drift" in load_language().show(told[0])

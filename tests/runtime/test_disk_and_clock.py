"""A disk without room and a clock that jumps: the job waits or goes on, and loses nothing."""

from __future__ import annotations

import os
import resource
from datetime import timedelta
from pathlib import Path

import pytest

from companion.errors import DiskFull, RecordError
from companion.facts.message import Message, Tell
from companion.language.loader import load_language
from companion.record import ClipStore, Entry, SqliteLog, open_for_reading, open_record
from companion.record.audit.verify import verify
from companion.record.clock import SystemClock
from companion.record.port import Stamp
from companion.record.rfc3339 import format_rfc3339, parse_rfc3339
from companion.runtime.waiting_record import Patience, WaitingClips, WaitingLog
from tests.runtime.running import SHORT_JOB, Companion


def in_english(told: list[str]) -> Tell:
    """Keeps what is told as it is written."""

    def tell(message: Message) -> None:
        told.append(load_language().show(message))

    return tell


def test_a_full_disk_makes_the_job_wait_and_room_lets_it_go_on(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite"
    arguments = ["start", "--job", str(SHORT_JOB), "--record", str(record)]
    companion = Companion(arguments, {"HOME": str(tmp_path)}, tmp_path)
    try:
        companion.next_line("words only.")
        process, limit = companion.process.pid, resource.RLIMIT_FSIZE
        _, hard = resource.prlimit(process, limit)
        written = record.with_name("record.sqlite-wal").stat().st_size
        resource.prlimit(process, limit, (written, hard))

        companion.type("words only")
        assert companion.next_line("The disk is full. I am waiting until there is room.")
        with open_for_reading(record) as database:
            kept = [e.kind for e in database.events(database.sessions()[0].session_id)]
        assert "heard" not in kept

        resource.prlimit(process, limit, (hard, hard))
        assert companion.next_line("There is room on the disk again.")
        assert companion.next_line("says   Words only. Yes or no?")
        companion.type("yes")
        assert companion.next_line("taken  Keeping recorded voices: words only")
    finally:
        companion.end()
    assert companion.printed().count("The disk is full") == 1
    assert verify(record) == []
    with open_for_reading(record) as database:
        events = list(database.events(database.sessions()[0].session_id))
    assert [e.body["words"] for e in events if e.kind == "heard"] == ["words only", "yes"]


def test_a_disk_that_stays_full_ends_the_job_with_the_records_code(tmp_path: Path) -> None:
    told: list[str] = []
    alive: list[None] = []

    def full() -> None:
        raise DiskFull("no room")

    patience = Patience(in_english(told), lambda: alive.append(None), longest_s=0.0)
    with pytest.raises(RecordError) as refused:
        patience.until_there_is_room(full)
    assert refused.value.exit_code == 7
    assert told == ["The disk is full. I am waiting until there is room. Nothing is lost."]


def test_a_clip_that_finds_no_room_is_kept_as_soon_as_there_is_some(tmp_path: Path) -> None:
    sound = os.urandom(64_000)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    told: list[str] = []

    def make_room() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))

    clips = ClipStore(tmp_path / "clips")
    resource.setrlimit(resource.RLIMIT_FSIZE, (1_000, hard))
    try:
        name = WaitingClips(clips, Patience(in_english(told), alive=make_room)).put(sound)
    finally:
        make_room()
    assert clips.holds(name)
    assert told[-1] == "There is room on the disk again."


class JumpingClock:
    """The computer's clock, set by somebody while it runs."""

    def __init__(self) -> None:
        self._clock = SystemClock()
        self.ahead = timedelta()

    def now(self) -> Stamp:
        stamp = self._clock.now()
        moved = parse_rfc3339(stamp.at_utc) + self.ahead
        return Stamp(format_rfc3339(moved), stamp.monotonic_ns, stamp.trusted)


def test_a_clock_that_jumps_is_told_and_changes_nothing_else(tmp_path: Path) -> None:
    told: list[str] = []
    clock = JumpingClock()
    record = tmp_path / "record.sqlite"
    with open_record(record, clock) as database:
        session = database.create_session()
        log = WaitingLog(SqliteLog(database, session), Patience(in_english(told)), in_english(told))
        for ahead_s in (0, 1, 3_600, 3_600, -7_200, -7_200):
            clock.ahead = timedelta(seconds=ahead_s)
            log.append([Entry("said", {"text": f"{ahead_s}"})])
        events = list(log.events(session))
    assert [line.split(".")[0] for line in told] == [
        "This computer's clock jumped forward by 3599 s",
        "This computer's clock jumped back by 10800 s",
    ]
    assert [event.seq for event in events] == [1, 2, 3, 4, 5, 6]
    assert [e.monotonic_ns for e in events] == sorted(e.monotonic_ns for e in events)
    assert verify(record) == []

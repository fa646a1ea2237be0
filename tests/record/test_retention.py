"""Recorded voices are let go after the agreed time; words, hashes and the reason stay."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from companion.archive.listing import list_sessions
from companion.archive.opening import open_archive
from companion.errors import RecordError
from companion.facts.office import DateVouched
from companion.record import (
    ClipStore,
    Database,
    Entry,
    FixedClock,
    SqliteLog,
    clips_folder,
    open_for_reading,
    open_record,
)
from companion.record.audit.seal import make_seal
from companion.record.audit.verify import Outside, verify
from companion.record.dating import recorded_by
from companion.record.following import Follower
from companion.record.office import has_office, office_log
from companion.record.retention import Expired, expire_clips
from companion.record.rfc3339 import parse_rfc3339

DAY_MS = 86_400_000


def a_job(database: Database, clips: ClipStore, session_id: str, *sounds: bytes) -> list[str]:
    log = SqliteLog(database, database.create_session(session_id), clips)
    hashes = [clips.put(sound * 4000) for sound in sounds]
    log.append([Entry("heard", {"words": "yes", "clip_sha256": clip}) for clip in hashes])
    return hashes


def later(database: Database, days: float) -> None:
    assert isinstance(database.clock, FixedClock)
    database.clock.advance(int(days * DAY_MS))


def test_the_sound_of_old_jobs_goes_and_the_record_stays_unbroken(
    database: Database, clips: ClipStore, record_path: Path
) -> None:
    old = a_job(database, clips, "old", b"\x01\x00", b"\x02\x00")
    seal = make_seal(database)
    later(database, 10)
    young = a_job(database, clips, "young", b"\x03\x00")
    later(database, 1)
    done = expire_clips(database, clips, 5, "kept for five days")
    assert done == [Expired("old", tuple(sorted(old)))]
    assert [clips.holds(clip) for clip in (*old, *young)] == [False, False, True]
    last = list(database.events("old"))[-1]
    assert (last.kind, last.body) == (
        "clips_expired",
        {"clips": sorted(old), "why": "kept for five days"},
    )
    assert verify(record_path, clips, outside=Outside(seal=seal)) == []


def test_a_clip_that_is_gone_without_an_event_is_missing_still(
    database: Database, clips: ClipStore, record_path: Path
) -> None:
    first, second = a_job(database, clips, "old", b"\x01\x00", b"\x02\x00")
    later(database, 10)
    clips.get(first).unlink()
    expire_clips(database, clips, 5, "kept for five days")
    (finding,) = verify(record_path, clips)
    assert (finding.kind, finding.seq) == ("clip_missing", 1)
    assert not clips.holds(second)


def test_a_clip_that_a_younger_job_also_names_is_kept(
    database: Database, clips: ClipStore, record_path: Path
) -> None:
    (clip,) = a_job(database, clips, "old", b"\x01\x00")
    later(database, 10)
    assert a_job(database, clips, "young", b"\x01\x00") == [clip]
    assert expire_clips(database, clips, 5, "x") == []
    assert clips.holds(clip)
    later(database, 10)
    expired = expire_clips(database, clips, 5, "x")
    assert [one.session_id for one in expired] == ["old", "young"]
    assert not clips.holds(clip)
    assert verify(record_path, clips) == []


def test_a_clip_that_expired_and_that_a_younger_job_names_again_is_kept(
    database: Database, clips: ClipStore, record_path: Path
) -> None:
    """The same sound, such as a silent one, comes up again after its first copy was let go."""
    (clip,) = a_job(database, clips, "old", b"\x01\x00")
    later(database, 10)
    expire_clips(database, clips, 5, "x")
    assert not clips.holds(clip)
    assert a_job(database, clips, "young", b"\x01\x00") == [clip]
    assert expire_clips(database, clips, 5, "x") == []
    assert clips.holds(clip)
    assert verify(record_path, clips) == []


def test_what_a_cut_left_behind_goes_the_next_time(database: Database, clips: ClipStore) -> None:
    """The event was kept and the power went before the file did."""
    (clip,) = a_job(database, clips, "old", b"\x01\x00")
    sound = clips.get(clip).read_bytes()
    later(database, 10)
    expire_clips(database, clips, 5, "x")
    (clips.folder / f"{clip}.flac").write_bytes(sound)
    assert expire_clips(database, clips, 5, "x") == []
    assert not clips.holds(clip)
    assert len([e for e in database.events("old") if e.kind == "clips_expired"]) == 1


def test_sound_is_kept_for_all_of_its_last_day(database: Database, clips: ClipStore) -> None:
    (clip,) = a_job(database, clips, "old", b"\x01\x00")
    recorded = recorded_by(database)["old"]
    assert recorded is not None
    passed = parse_rfc3339(database.clock.now().at_utc) + timedelta(seconds=1) - recorded
    later(database, 5 - passed / timedelta(days=1))
    assert expire_clips(database, clips, 5, "x") == []
    later(database, 1e-6)
    assert expire_clips(database, clips, 5, "x") == [Expired("old", (clip,))]


def test_it_is_done_once(database: Database, clips: ClipStore) -> None:
    a_job(database, clips, "old", b"\x01\x00")
    later(database, 10)
    assert len(expire_clips(database, clips, 5, "x")) == 1
    head = database.session("old").head_hash
    assert expire_clips(database, clips, 5, "x") == []
    assert database.session("old").head_hash == head


def test_an_expired_clip_put_in_another_s_place_is_found(
    database: Database, clips: ClipStore, record_path: Path
) -> None:
    (clip,) = a_job(database, clips, "old", b"\x01\x00")
    later(database, 10)
    expire_clips(database, clips, 5, "x")
    (clips.folder / f"{clip}.flac").write_bytes(b"other sound")
    (finding,) = verify(record_path, clips)
    assert finding.kind == "clip_changed"


def test_a_clock_that_nobody_vouches_for_deletes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    clips = ClipStore(clips_folder(path))
    with open_record(path, FixedClock(trusted=False)) as database:
        (clip,) = a_job(database, clips, "old", b"\x01\x00")
        later(database, 4000)
        with pytest.raises(RecordError, match="nothing vouches for this computer's date"):
            expire_clips(database, clips, 5, "x")
    assert clips.holds(clip)


def record_at(path: Path, date: str, trusted: bool) -> Database:
    return open_record(path, FixedClock(f"{date}T08:00:00.000Z", trusted=trusted))


def test_a_date_that_nothing_vouched_for_deletes_nothing_too_early_and_keeps_nothing_for_ever(
    tmp_path: Path,
) -> None:
    """Jobs of a clock in 2001 or 2040 count from when the date was known."""
    path = tmp_path / "bay.record"
    clips = ClipStore(clips_folder(path))
    jobs = {}
    for place, date in enumerate(("2001-01-01", "2040-01-01")):
        with record_at(path, date, trusted=False) as database:
            (jobs[date],) = a_job(database, clips, f"job {date}", bytes([place + 1, 0]))
    with record_at(path, "2031-05-01", trusted=True) as database:
        assert expire_clips(database, clips, 30, "x") == []
    with record_at(path, "2031-05-20", trusted=True) as database:
        assert expire_clips(database, clips, 30, "x") == []
    assert all(map(clips.holds, jobs.values()))
    with record_at(path, "2031-06-05", trusted=True) as database:
        expired = expire_clips(database, clips, 30, "x")
    assert [one.session_id for one in expired] == ["job 2001-01-01", "job 2040-01-01"]
    assert not any(map(clips.holds, jobs.values()))
    assert verify(path, clips) == []


def test_a_later_job_dates_those_before_it(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    clips = ClipStore(clips_folder(path))
    with record_at(path, "2040-01-01", trusted=False) as database:
        a_job(database, clips, "unknown", b"\x01\x00")
    with record_at(path, "2031-05-01", trusted=True) as database:
        a_job(database, clips, "dated", b"\x02\x00")
        a_job(database, clips, "later", b"\x03\x00")
        dates = recorded_by(database)
    assert list(dates) == ["later", "dated", "unknown"]
    assert dates["unknown"] == dates["dated"] != dates["later"]
    with record_at(path, "2031-06-05", trusted=True) as database:
        assert len(expire_clips(database, clips, 30, "x")) == 3
        assert not has_office(database)


def test_the_last_job_is_the_one_recorded_last_whatever_its_date(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    for name, date in (("a", "2030-01-01"), ("b", "2040-01-01"), ("c", "2031-01-01")):
        with record_at(path, date, trusted=False) as database:
            SqliteLog(database, database.create_session(name)).append([Entry("said", {})])
    with open_for_reading(path) as database:
        assert database.last_session_id() == "c"
        assert [one.session_id for one in database.sessions()] == ["a", "b", "c"]
        assert [one.session_id for one in database.newest_first()] == ["c", "b", "a"]
    news = Follower(path).look()
    assert news is not None
    assert news.session_id == "c"
    with open_archive(path) as archive:
        assert [one.session_id for one in list_sessions(archive).sessions] == ["c", "b", "a"]


def test_the_office_is_no_job(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with record_at(path, "2031-05-01", trusted=True) as database:
        SqliteLog(database, database.create_session("a")).append([Entry("said", {})])
        office_log(database).append([DateVouched(session="a")])
        office_log(database).append([DateVouched(session="a")])
        assert database.last_session_id() == "a"
        assert len(list(database.events("office"))) == 2
        seal = make_seal(database)
    assert {leaf.session for leaf in seal.leaves} == {"a", "office"}
    news = Follower(path).look()
    assert news is not None
    assert news.session_id == "a"
    with open_archive(path) as archive:
        assert [one.session_id for one in list_sessions(archive).sessions] == ["a"]


def test_a_time_that_is_none_is_refused(database: Database, clips: ClipStore) -> None:
    with pytest.raises(RecordError, match="is not a possible age"):
        expire_clips(database, clips, -1, "x")

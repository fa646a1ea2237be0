"""A copy is made while the record is written, is whole, and is never put over a record."""

from __future__ import annotations

import shutil
import stat
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record import (
    ClipStore,
    Database,
    Entry,
    SqliteLog,
    clips_folder,
    open_for_reading,
    open_record,
)
from companion.record.audit.people import Cost, KeyRing
from companion.record.audit.seal import make_seal
from companion.record.audit.verify import Outside, verify
from companion.record.backup import Copied, NotUnbroken, back_up, restore
from companion.record.enrolling import Office
from companion.record.finding import Finding
from companion.record.place import BESIDE, beside


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


def test_a_copy_made_while_the_record_is_open_holds_all_that_was_acknowledged(
    log: SqliteLog, record_path: Path, stick: Path
) -> None:
    assert back_up(record_path, stick / "copy.record") == Copied(1, 2, 1, 0)
    log.append([Entry("noted", {})])
    copy = stick / "copy.record"
    assert verify(copy, ClipStore(clips_folder(copy))) == []
    with open_for_reading(copy) as database:
        assert database.session("s1").event_count == 2
    assert sorted(entry.name for entry in stick.iterdir()) == ["clips", "copy.record"]
    assert stat.S_IMODE(copy.stat().st_mode) == 0o600


def test_events_appended_between_the_pages_of_a_copy_do_not_tear_it(
    log: SqliteLog, record_path: Path, stick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another thread keeps appending while the pages are copied one by one."""
    import threading

    import companion.record.backup as backup

    monkeypatch.setattr(backup, "PAGES_A_STEP", 1)
    log.append([Entry("said", {"text": "x" * 3000}) for _ in range(60)])
    done = threading.Event()
    problems: list[BaseException] = []

    def copy() -> None:
        try:
            for number in range(3):
                back_up(record_path, stick / f"{number}.record")
        except BaseException as error:
            problems.append(error)
        finally:
            done.set()

    thread = threading.Thread(target=copy)
    thread.start()
    appended = 0
    while not done.is_set():
        log.append([Entry("heard", {"words": "yes"})])
        appended += 1
    thread.join()
    assert problems == []
    assert appended > 0
    for number in range(3):
        assert verify(stick / f"{number}.record") == []


def test_several_copies_share_the_clips_that_are_there(
    log: SqliteLog, record_path: Path, stick: Path
) -> None:
    back_up(record_path, stick / "monday.record")
    assert back_up(record_path, stick / "tuesday.record") == Copied(1, 2, 0, 1)
    assert len(list((stick / "clips").iterdir())) == 1


def test_a_clip_that_rotted_among_the_copies_is_put_right(
    log: SqliteLog, record_path: Path, stick: Path
) -> None:
    back_up(record_path, stick / "monday.record")
    (clip,) = (stick / "clips").iterdir()
    clip.write_bytes(b"rotten")
    assert back_up(record_path, stick / "tuesday.record") == Copied(1, 2, 1, 0)
    copy = stick / "tuesday.record"
    assert verify(copy, ClipStore(clips_folder(copy))) == []


@pytest.mark.parametrize("gone", [True, False])
def test_a_clip_that_is_not_as_it_was_recorded_is_counted_and_not_copied(
    log: SqliteLog, record_path: Path, stick: Path, gone: bool
) -> None:
    (clip,) = clips_folder(record_path).iterdir()
    if gone:
        clip.unlink()
    else:
        clip.write_bytes(b"another's voice")
    assert back_up(record_path, stick / "copy.record") == Copied(1, 2, 0, 0, 1)
    assert not list(stick.glob("clips/*"))


def test_a_copy_without_clips_has_none(log: SqliteLog, record_path: Path, stick: Path) -> None:
    assert back_up(record_path, stick / "copy.record", with_clips=False) == Copied(1, 2, 0, 0)
    assert not (stick / "clips").exists()


def test_nothing_is_overwritten(log: SqliteLog, record_path: Path, stick: Path) -> None:
    (stick / "copy.record").write_text("something else")
    with pytest.raises(RecordError, match="already exists"):
        back_up(record_path, stick / "copy.record")
    assert (stick / "copy.record").read_text() == "something else"
    with pytest.raises(RecordError, match="never overwritten"):
        restore(stick / "copy.record", record_path)


def test_a_folder_that_is_not_there_is_named(
    log: SqliteLog, record_path: Path, tmp_path: Path
) -> None:
    with pytest.raises(RecordError, match="folder that exists"):
        back_up(record_path, tmp_path / "nowhere" / "copy.record")


def test_keys_and_index_are_not_copied(
    log: SqliteLog, database: Database, record_path: Path, stick: Path
) -> None:
    cheap = Cost(passes=1, memory_kib=8, lanes=1)
    Office(database, KeyRing(record_path, cheap)).enrol("B. Sample", "supervisor", "4711", None)
    back_up(record_path, stick / "copy.record")
    assert {entry.name for entry in stick.iterdir()} == {"copy.record", "clips"}


def test_a_copy_is_put_back_and_goes_on(
    log: SqliteLog, database: Database, record_path: Path, stick: Path, tmp_path: Path
) -> None:
    seal = make_seal(database)
    back_up(record_path, stick / "copy.record")
    new = tmp_path / "new"
    new.mkdir()
    assert restore(stick / "copy.record", new / "bay.record", Outside(seal=seal)).events == 2
    with open_record(new / "bay.record") as restored:
        SqliteLog(restored, "s1").append([Entry("noted", {})])
    assert verify(new / "bay.record", ClipStore(new / "clips"), outside=Outside(seal=seal)) == []


def test_a_copy_that_was_changed_is_not_put_back(
    log: SqliteLog, record_path: Path, stick: Path, tmp_path: Path
) -> None:
    copy = stick / "copy.record"
    back_up(record_path, copy)
    content = copy.read_bytes()
    assert content.count(b"Left spot.") == 1
    copy.write_bytes(content.replace(b"Left spot.", b"Left spit."))
    with pytest.raises(NotUnbroken, match="event 1: its content is not what") as caught:
        restore(copy, tmp_path / "new.record")
    assert [finding.seq for finding in caught.value.findings] == [1]
    assert not (tmp_path / "new.record").exists()


def test_a_copy_that_lacks_a_clip_is_not_put_back(
    log: SqliteLog, record_path: Path, stick: Path, tmp_path: Path
) -> None:
    back_up(record_path, stick / "copy.record")
    shutil.rmtree(stick / "clips")
    with pytest.raises(NotUnbroken, match=r"event 2: its clip .* is gone"):
        restore(stick / "copy.record", tmp_path / "new.record")


def test_an_older_copy_is_not_put_back_where_a_later_seal_is_given(
    log: SqliteLog, database: Database, record_path: Path, stick: Path, tmp_path: Path
) -> None:
    back_up(record_path, stick / "copy.record")
    log.append([Entry("noted", {})])
    seal = make_seal(database)
    with pytest.raises(NotUnbroken, match="older file"):
        restore(stick / "copy.record", tmp_path / "new.record", Outside(seal=seal))


def test_a_record_that_is_broken_is_not_copied_as_if_it_were_not(
    record_path: Path, stick: Path
) -> None:
    with open_record(record_path) as database:
        SqliteLog(database, database.create_session("s1")).append([Entry("said", {"text": "abc"})])
    record_path.write_bytes(record_path.read_bytes().replace(b'"abc"', b'"abd"'))
    with pytest.raises(NotUnbroken, match="no copy was made"):
        back_up(record_path, stick / "copy.record")
    assert list(stick.iterdir()) == []


def test_what_is_wrong_is_told_by_its_first_and_how_many_more_there_are(record_path: Path) -> None:
    findings = [Finding("s1", seq, "changed", "it was changed") for seq in (3, 5, 9)]
    for count, more in ((1, ""), (2, " (and 1 more)"), (3, " (and 2 more)")):
        told = str(NotUnbroken(record_path, findings[:count], "no copy"))
        assert told.endswith(f"event 3: it was changed{more}; no copy")


@pytest.mark.parametrize("ending", BESIDE)
def test_nothing_is_put_where_a_log_was_left_behind(
    log: SqliteLog, record_path: Path, stick: Path, tmp_path: Path, ending: str
) -> None:
    """Somebody moved just the record away: SQLite would write its log into the copy."""
    back_up(record_path, stick / "copy.record")
    left = tmp_path / f"new.record{ending}"
    left.write_bytes(b"the last events of another record")
    for put in (restore, back_up):
        with pytest.raises(RecordError, match=rf"new\.record{ending}: lies where a copy is to be"):
            put(stick / "copy.record", tmp_path / "new.record")
    assert not (tmp_path / "new.record").exists()
    assert left.read_bytes() == b"the last events of another record"


@pytest.mark.parametrize("ending", ["", *BESIDE])
def test_what_appears_while_a_copy_is_made_is_seen(
    log: SqliteLog, record_path: Path, stick: Path, ending: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    import companion.record.backup as backup

    target = stick / "copy.record"
    late = beside(target, ending)
    monkeypatch.setattr(backup, "sync_file", lambda _: late.write_bytes(b"late"))
    with pytest.raises(RecordError, match=r"already exists|lies where"):
        back_up(record_path, target)
    assert late.read_bytes() == b"late"
    assert {path.name for path in stick.iterdir()} == {late.name, "clips"}

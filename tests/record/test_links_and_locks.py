"""What stands in the place of record, lock or clips is looked at before it is trusted."""

from __future__ import annotations

import os
import tracemalloc
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record import (
    ClipStore,
    Database,
    Entry,
    SqliteLog,
    clips_folder,
    durable,
    open_for_reading,
    open_record,
)
from companion.record.audit.people import Cost, KeyRing
from companion.record.audit.verify import verify
from companion.record.clips import MOST_BYTES
from companion.record.enrolling import Office
from companion.record.lock import BESIDE, is_locked
from companion.record.place import owners


def test_a_link_in_the_place_of_the_lock_leaves_its_target_alone(
    record_path: Path, tmp_path: Path
) -> None:
    precious = tmp_path / "precious"
    precious.write_text("not to be overwritten")
    record_path.with_name(record_path.name + ".lock").symlink_to(precious)
    with pytest.raises(RecordError, match=r"\.lock: is a link"):
        open_record(record_path)
    assert precious.read_text() == "not to be overwritten"
    assert not record_path.exists()


def test_whether_a_program_writes_the_record_now_can_be_seen(record_path: Path) -> None:
    assert not is_locked(record_path)
    with open_record(record_path):
        assert is_locked(record_path)
        assert is_locked(record_path)
    assert not is_locked(record_path)


def test_where_a_link_is_in_the_place_of_the_lock_nobody_says_that_it_is_free(
    record_path: Path, tmp_path: Path
) -> None:
    record_path.with_name(record_path.name + ".lock").symlink_to(tmp_path / "elsewhere")
    assert is_locked(record_path)


@pytest.mark.parametrize("what", ["fifo", "folder", "second name"])
def test_what_is_no_plain_file_is_no_lock(record_path: Path, tmp_path: Path, what: str) -> None:
    lock = record_path.with_name(record_path.name + ".lock")
    match what:
        case "fifo":
            os.mkfifo(lock)
        case "folder":
            lock.mkdir()
        case _:
            (tmp_path / "other").write_text("text")
            os.link(tmp_path / "other", lock)
    with pytest.raises(RecordError, match=r"\.lock"):
        open_record(record_path)


def test_a_dangling_link_as_the_record_is_not_followed(record_path: Path, tmp_path: Path) -> None:
    record_path.symlink_to(tmp_path / "elsewhere")
    for opening in (open_record, open_for_reading):
        with pytest.raises(RecordError, match="is a link to another place"):
            opening(record_path)
    assert not (tmp_path / "elsewhere").exists()
    assert not record_path.with_name(record_path.name + ".lock").exists()


def test_a_link_to_the_record_lets_no_second_writer_in(
    database: Database, record_path: Path, tmp_path: Path
) -> None:
    other = tmp_path / "other.record"
    other.symlink_to(record_path)
    with pytest.raises(RecordError, match="is a link"):
        open_record(other)
    folder = tmp_path / "folder"
    folder.symlink_to(record_path.parent)
    with pytest.raises(RecordError, match="already open for writing"):
        open_record(folder / record_path.name)


def test_a_record_with_a_second_name_is_not_written(record_path: Path, tmp_path: Path) -> None:
    open_record(record_path).close()
    os.link(record_path, tmp_path / "other.record")
    for path in (record_path, tmp_path / "other.record"):
        with pytest.raises(RecordError, match="has another name too"):
            open_record(path)


def test_a_removed_lock_lets_no_second_writer_in_and_stops_the_first(
    database: Database, record_path: Path
) -> None:
    log = SqliteLog(database, database.create_session("s1"))
    lock = record_path.with_name(record_path.name + ".lock")
    lock.unlink()
    with pytest.raises(RecordError, match="already open for writing"):
        open_record(record_path)
    with pytest.raises(RecordError, match="removed or replaced while the record is being written"):
        log.append([Entry("said", {})])
    assert list(database.events("s1")) == []


def test_a_record_replaced_under_the_writer_is_not_written(
    database: Database, record_path: Path
) -> None:
    log = SqliteLog(database, database.create_session("s1"))
    record_path.rename(record_path.with_name("aside"))
    record_path.write_bytes(b"")
    with pytest.raises(RecordError, match="removed or replaced"):
        log.append([Entry("said", {})])


def with_a_clip(record_path: Path, sound: bytes) -> tuple[ClipStore, Path]:
    clips = ClipStore(clips_folder(record_path))
    with open_record(record_path) as database:
        clip = clips.put(sound)
        log = SqliteLog(database, database.create_session("s1"), clips)
        log.append([Entry("heard", {"words": "yes", "clip_sha256": clip})])
    return clips, clips.folder / f"{clip}.flac"


@pytest.mark.parametrize("linked", [True, False])
def test_gigabytes_in_the_place_of_a_clip_are_not_read(
    record_path: Path, tmp_path: Path, half_a_second_of_sound: bytes, linked: bool
) -> None:
    clips, file = with_a_clip(record_path, half_a_second_of_sound)
    file.unlink()
    large = tmp_path / "large" if linked else file
    with large.open("wb") as made:
        made.truncate(3_000_000_000)
    if linked:
        file.symlink_to(large)
    tracemalloc.start()
    (finding,) = verify(record_path, clips)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert (finding.kind, finding.seq) == ("clip_changed", 1)
    assert most < MOST_BYTES
    with pytest.raises(RecordError):
        clips.read(file.stem)


def test_a_clip_linked_to_is_not_written_over(
    record_path: Path, tmp_path: Path, half_a_second_of_sound: bytes
) -> None:
    clips, file = with_a_clip(record_path, half_a_second_of_sound)
    (tmp_path / "precious").write_bytes(file.read_bytes())
    file.unlink()
    file.symlink_to(tmp_path / "precious")
    clips.put(half_a_second_of_sound)
    assert not file.is_symlink()
    assert verify(record_path, clips) == []


def test_a_link_put_there_between_looking_and_reading_is_not_followed(
    record_path: Path,
    tmp_path: Path,
    half_a_second_of_sound: bytes,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The very moment: the file was looked at, and is exchanged before it is opened."""
    clips, file = with_a_clip(record_path, half_a_second_of_sound)
    (tmp_path / "elsewhere").write_bytes(file.read_bytes())
    really_read = durable.read_plain

    def exchanged(path: Path, most_bytes: int, *, also_by_link: bool) -> bytes | None:
        path.unlink()
        path.symlink_to(tmp_path / "elsewhere")
        return really_read(path, most_bytes, also_by_link=also_by_link)

    monkeypatch.setattr("companion.record.durable.read_plain", exchanged)
    with pytest.raises(RecordError, match="cannot be read"):
        clips.read(file.stem)


def test_a_pipe_put_there_between_looking_and_reading_is_not_waited_for(
    record_path: Path, half_a_second_of_sound: bytes, monkeypatch: pytest.MonkeyPatch
) -> None:
    clips, file = with_a_clip(record_path, half_a_second_of_sound)
    really_read = durable.read_plain

    def exchanged(path: Path, most_bytes: int, *, also_by_link: bool) -> bytes | None:
        path.unlink()
        os.mkfifo(path)
        return really_read(path, most_bytes, also_by_link=also_by_link)

    monkeypatch.setattr("companion.record.durable.read_plain", exchanged)
    with pytest.raises(RecordError, match="is no plain file"):
        clips.read(file.stem)


@pytest.mark.parametrize("suffix", BESIDE)
@pytest.mark.parametrize("made", ["link", "second name", "pipe"])
def test_what_sqlite_writes_beside_the_record_is_no_other_file(
    record_path: Path, tmp_path: Path, suffix: str, made: str
) -> None:
    open_record(record_path).close()
    precious = tmp_path / "precious"
    precious.write_text("not to be overwritten" * 100)
    beside = record_path.with_name(record_path.name + suffix)
    if made == "link":
        beside.symlink_to(precious)
    elif made == "second name":
        os.link(precious, beside)
    else:
        os.mkfifo(beside)
    for opening in (open_record, open_for_reading):
        with pytest.raises(RecordError, match="wanted: the file itself, by its one name"):
            opening(record_path)
    assert precious.read_text() == "not to be overwritten" * 100


@pytest.mark.parametrize("name", ["box.key", "people.json"])
@pytest.mark.parametrize("made", ["link", "pipe"])
def test_keys_are_read_from_plain_files_alone(
    record_path: Path, tmp_path: Path, name: str, made: str
) -> None:
    with open_record(record_path) as database:
        Office(database, KeyRing(record_path, Cost(passes=1, memory_kib=8, lanes=1))).enrol(
            "A. Example", "technician", "4711", None
        )
    file = record_path.with_name(name)
    file.rename(tmp_path / "moved")
    if made == "link":
        file.symlink_to(tmp_path / "moved")
    else:
        os.mkfifo(file)
    with pytest.raises(RecordError, match=name), open_record(record_path) as database:
        Office(database).known("B. Sample")


@pytest.mark.parametrize("ending", ["-wal", "-shm", "-journal", ".lock", ".index", ".statistics"])
def test_a_record_may_not_be_named_like_what_goes_with_one(tmp_path: Path, ending: str) -> None:
    path = tmp_path / f"bay{ending}"
    with pytest.raises(RecordError, match="wanted: another name"):
        open_record(path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", [".lock", ".index", ".statistics", "-wal", "-shm", "-journal"])
def test_a_file_named_by_an_ending_alone_belongs_to_no_other(name: str, tmp_path: Path) -> None:
    assert owners(tmp_path / name) == (tmp_path / name,)

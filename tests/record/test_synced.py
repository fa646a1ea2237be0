"""What was told to be kept is still there when the power goes right afterwards."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.facts.car import Car
from companion.record import ClipStore, Database, SqliteLog, clips_folder
from companion.record.audit.keys import make_key, public_hex
from companion.record.audit.people import Cost, KeyRing
from companion.record.audit.seal import make_seal, read_seal, write_outside
from companion.record.audit.verify import verify
from companion.record.backup import Copied, back_up, restore
from companion.record.cars import CarStore
from tests.power_cut import WorstDisk


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> WorstDisk:
    found = WorstDisk()
    found.watch(monkeypatch)
    return found


@pytest.fixture
def home(tmp_path: Path) -> Path:
    folder = tmp_path / "home"
    folder.mkdir()
    return folder


def test_a_disk_keeps_only_what_was_synced(disk: WorstDisk, tmp_path: Path) -> None:
    """The judge itself: a file not synced is empty, a name not synced is not there."""
    folder = tmp_path / "folder"
    folder.mkdir()
    (folder / "named").write_bytes(b"lost")
    with (folder / "kept").open("wb") as file:
        file.write(b"kept")
        file.flush()
        os.fsync(file.fileno())
        file.write(b" and more")
    descriptor = os.open(folder, os.O_RDONLY)
    os.fsync(descriptor)
    os.close(descriptor)
    (folder / "later").write_bytes(b"lost")
    after = disk.after_a_cut(folder, tmp_path / "after")
    assert {path.name: path.read_bytes() for path in after.iterdir()} == {
        "named": b"",
        "kept": b"kept",
    }


def test_a_clip_is_whole_on_the_disk_when_its_name_is_given_out(
    disk: WorstDisk, home: Path, tmp_path: Path, half_a_second_of_sound: bytes
) -> None:
    """The record names it next: a name without the sound would be a record that is not whole."""
    clips = ClipStore(home / "clips")
    sounds = (half_a_second_of_sound, half_a_second_of_sound[:8000])
    names = [clips.put(sound) for sound in sounds]
    after = disk.after_a_cut(home, tmp_path / "after") / "clips"
    assert sorted(path.name for path in after.iterdir()) == sorted(f"{n}.flac" for n in names)
    for name in names:
        assert (after / f"{name}.flac").read_bytes() == clips.get(name).read_bytes()


def test_a_clip_that_was_let_go_does_not_come_back(
    disk: WorstDisk, home: Path, tmp_path: Path, half_a_second_of_sound: bytes
) -> None:
    """Somebody's voice that was to be deleted is deleted."""
    clips = ClipStore(home / "clips")
    clips.remove(clips.put(half_a_second_of_sound))
    assert list((disk.after_a_cut(home, tmp_path / "after") / "clips").iterdir()) == []


def test_what_was_known_of_a_car_that_was_let_go_does_not_come_back(
    disk: WorstDisk, home: Path, tmp_path: Path
) -> None:
    cars = CarStore(home / "cars")
    kept, gone = (cars.put(Car(order=order, plate="EX 123")) for order in ("4711", "4712"))
    cars.remove(gone)
    after = CarStore(disk.after_a_cut(home, tmp_path / "after") / "cars")
    assert (after.holds(kept), after.holds(gone)) == (True, False)
    assert after.content(kept) == cars.content(kept)


def test_a_backup_is_whole_on_the_disk_when_it_is_said_to_be_made(
    log: SqliteLog, record_path: Path, disk: WorstDisk, tmp_path: Path
) -> None:
    """The stick is pulled out, or the old record deleted, right afterwards."""
    stick = tmp_path / "stick"
    stick.mkdir()
    assert back_up(record_path, stick / "copy.record") == Copied(1, 2, 1, 0)
    after = disk.after_a_cut(stick, tmp_path / "after")
    copy = after / "copy.record"
    assert copy.read_bytes() == (stick / "copy.record").read_bytes()
    assert verify(copy, ClipStore(clips_folder(copy))) == []


def test_a_record_put_back_is_whole_on_the_disk_too(
    log: SqliteLog, record_path: Path, disk: WorstDisk, tmp_path: Path
) -> None:
    stick, new = tmp_path / "stick", tmp_path / "new"
    stick.mkdir()
    new.mkdir()
    back_up(record_path, stick / "copy.record")
    restore(stick / "copy.record", new / "bay.record")
    after = disk.after_a_cut(new, tmp_path / "after") / "bay.record"
    assert verify(after, ClipStore(clips_folder(after))) == []


def test_a_key_is_on_the_disk_when_it_is_said_to_be_made(
    disk: WorstDisk, home: Path, tmp_path: Path
) -> None:
    make_key(home / "key")
    after = disk.after_a_cut(home, tmp_path / "after")
    for name in ("key", "key.pub"):
        assert (after / name).read_bytes() == (home / name).read_bytes()


def test_a_seal_is_on_the_disk_when_it_is_said_to_be_written(
    log: SqliteLog, database: Database, disk: WorstDisk, home: Path, tmp_path: Path
) -> None:
    seal = make_seal(database)
    write_outside(home / "seal.json", seal)
    assert read_seal(disk.after_a_cut(home, tmp_path / "after") / "seal.json") == seal


def test_peoples_keys_are_on_the_disk_when_they_are_said_to_be_locked(
    disk: WorstDisk, home: Path, tmp_path: Path
) -> None:
    cheap = Cost(passes=1, memory_kib=8, lanes=1)
    ring = KeyRing(home / "bay.record", cheap)
    keys = {"4711": Ed25519PrivateKey.generate(), "4712": Ed25519PrivateKey.generate()}
    for pin, key in keys.items():
        ring.lock(key, pin)
    disk.after_a_cut(home, tmp_path / "after")
    after = KeyRing(tmp_path / "after" / "bay.record", cheap)
    for pin, key in keys.items():
        assert public_hex(after.unlocked(public_hex(key), pin)) == public_hex(key)

"""A record is looked through in full when it has to be, and only at its ends when it was not."""

from __future__ import annotations

import os
import signal
import sqlite3
import stat
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.errors import RecordError
from companion.record import ClipStore, Entry, SqliteLog, open_for_reading, open_record, soundness
from companion.record.audit.keys import make_key
from companion.record.audit.people import Cost, KeyRing
from companion.record.audit.seal import make_seal, write_outside
from companion.record.audit.verify import verify
from companion.record.backup import back_up, restore
from companion.record.soundness import damage


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the openings did: each real check, by name, as it begins."""
    done: list[str] = []
    in_full, ends = soundness.require_whole, soundness.require_ends_whole

    def whole(connection: sqlite3.Connection) -> None:
        done.append("in full")
        in_full(connection)

    def ends_only(path: Path, connection: sqlite3.Connection) -> None:
        done.append("ends")
        ends(path, connection)

    monkeypatch.setattr("companion.record.database.require_whole", whole)
    monkeypatch.setattr("companion.record.database.require_ends_whole", ends_only)
    return done


def write(path: Path, events: int = 40) -> None:
    with open_record(path) as database:
        log = SqliteLog(database, database.create_session())
        for _ in range(events):
            log.append([Entry("said", {"text": "x" * 400})])


def hours_pass(path: Path, hours: float) -> None:
    """Set the time of the last full check back in the note that the last writer left."""
    note = path.with_name(path.name + ".lock")
    left = soundness.read_note(note.read_text())
    assert left is not None
    note.write_text(replace(left, checked=left.checked - timedelta(hours=hours)).note())


def test_a_record_that_was_closed_well_is_not_gone_through_again(
    record_path: Path, looked: list[str]
) -> None:
    write(record_path)
    write(record_path)
    write(record_path)
    assert looked == ["ends", "ends"]
    assert verify(record_path) == []


def test_once_a_day_it_is_gone_through_all_the_same(record_path: Path, looked: list[str]) -> None:
    write(record_path)
    hours_pass(record_path, 19.9)
    write(record_path)
    hours_pass(record_path, 0.2)
    write(record_path)
    write(record_path)
    assert looked == ["ends", "in full", "ends"]


def test_a_check_in_the_future_counts_for_nothing(record_path: Path, looked: list[str]) -> None:
    write(record_path)
    hours_pass(record_path, -1)
    write(record_path)
    assert looked == ["in full"]


def test_a_writer_that_met_damage_vouches_for_nothing(record_path: Path, looked: list[str]) -> None:
    """A page rots while the record is open, and somebody comes upon it: the next looks in full."""
    write(record_path, events=200)
    write(record_path)
    with open_record(record_path) as database:
        (old, *_) = database.sessions()
        content = bytearray(record_path.read_bytes())
        content[8192 : len(content) - 8192] = bytes(len(content) - 16384)
        record_path.write_bytes(content)
        with pytest.raises(RecordError, match="damaged"):
            list(database.events(old.session_id))
    assert (
        soundness.read_note(record_path.with_name(f"{record_path.name}.lock").read_text()) is None
    )


KILLED_AT_WORK = """
import sys
from pathlib import Path
from companion.record import Entry, SqliteLog, open_record
database = open_record(Path(sys.argv[1]))
SqliteLog(database, database.create_session()).append([Entry("said", {})])
print("written", flush=True)
sys.stdin.read()
"""


def test_after_a_power_cut_it_is_gone_through(record_path: Path, looked: list[str]) -> None:
    write(record_path)
    with subprocess.Popen(
        [sys.executable, "-c", KILLED_AT_WORK, str(record_path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as writer:
        assert writer.stdout is not None
        assert writer.stdout.readline() == b"written\n"
        writer.send_signal(signal.SIGKILL)
    write(record_path)
    assert looked == ["in full"]


@contextmanager
def read_meanwhile(path: Path) -> Iterator[None]:
    with open_for_reading(path) as database:
        database.sessions()
        yield


def test_a_display_that_looks_on_costs_no_full_check(record_path: Path, looked: list[str]) -> None:
    """A reader keeps the log from being put away, so there are two files to be as they were."""
    write(record_path)
    with read_meanwhile(record_path):
        write(record_path)
        assert record_path.with_name("bay.record-wal").exists()
        write(record_path)
    assert looked == ["ends", "ends"]


@pytest.mark.parametrize("part", ["first page", "middle", "last page"])
def test_a_page_damaged_right_after_closing_is_found_before_a_job(
    record_path: Path, part: str
) -> None:
    write(record_path, events=200)
    content = bytearray(record_path.read_bytes())
    at = {"first page": 100, "middle": len(content) // 2 // 4096 * 4096, "last page": -4096}[part]
    content[at : at + 2000 if at > 0 else None] = b"\xa5" * len(content[at : at + 2000 or None])
    record_path.write_bytes(content)
    with pytest.raises(RecordError, match="damaged"):
        open_record(record_path)


def disguised(path: Path, content: bytes) -> None:
    """Put other bytes in place so that neither length nor time of change tells of it."""
    before = path.stat()
    with path.open("r+b") as file:
        file.write(content)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


PAGE_BYTES = 4096


def pages_of_events(path: Path) -> list[int]:
    """Where in the file the leaves of the table of events begin."""
    with closing(sqlite3.connect(path)) as connection:
        leaves = connection.execute(
            "SELECT pageno FROM dbstat WHERE name = 'event' AND pagetype = 'leaf'"
        ).fetchall()
    open_record(path).close()
    return [(page - 1) * PAGE_BYTES for (page,) in leaves]


def test_bytes_that_rotted_without_a_trace_are_found_by_check_and_within_a_day(
    record_path: Path,
) -> None:
    for _ in range(30):
        write(record_path)
    with open_for_reading(record_path) as database:
        first, *_, last = (session.session_id.encode() for session in database.sessions())
    pages = pages_of_events(record_path)
    content = bytearray(record_path.read_bytes())
    # Ids of one second are in no order of time, so the last job may stand on any page. It is read
    # at every opening; what is damaged here must be a page that it has no part in.
    old = [
        at
        for at in pages
        if first in content[at : at + PAGE_BYTES] and last not in content[at : at + PAGE_BYTES]
    ]
    content[old[0] : old[0] + PAGE_BYTES] = b"\xa5" * PAGE_BYTES
    disguised(record_path, bytes(content))
    open_record(record_path).close()
    assert verify(record_path)[0].kind == "damaged"
    hours_pass(record_path, 24)
    with pytest.raises(RecordError, match="damaged"):
        open_record(record_path)


def test_the_last_session_is_always_read(record_path: Path) -> None:
    write(record_path, events=200)
    pages = pages_of_events(record_path)
    content = bytearray(record_path.read_bytes())
    for at in pages:
        content[at : at + PAGE_BYTES] = b"\xa5" * PAGE_BYTES
    disguised(record_path, bytes(content))
    with pytest.raises(RecordError, match="damaged"):
        open_record(record_path)


def test_after_an_opening_that_found_damage_the_next_one_looks_again(
    record_path: Path, looked: list[str]
) -> None:
    write(record_path)
    whole = record_path.read_bytes()
    record_path.write_bytes(whole[:-4096] + b"\xa5" * 4096)
    with pytest.raises(RecordError):
        open_record(record_path)
    record_path.write_bytes(whole)
    write(record_path)
    assert looked == ["in full", "in full"]


@pytest.mark.parametrize(
    "note",
    ["", "4711", "{}", "[]", '{"checked": 3, "files": []}', '{"checked": "2031", "files"', "é"],
)
def test_a_note_that_says_nothing_is_no_note(record_path: Path, note: str) -> None:
    assert soundness.read_note(note) is None


@pytest.fixture
def usual_umask() -> Iterator[None]:
    before = os.umask(0o022)
    yield
    os.umask(before)


def rights_of(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.mark.usefixtures("usual_umask")
def test_a_new_record_is_read_by_its_owner_and_group_alone(record_path: Path) -> None:
    with open_record(record_path) as database:
        SqliteLog(database, database.create_session()).append([Entry("said", {})])
        made = sorted(record_path.parent.glob("bay.record*"))
        assert [path.name.removeprefix("bay.record") for path in made] == [
            "", "-shm", "-wal", ".lock",
        ]  # fmt: skip
        assert {rights_of(path) for path in made} == {0o640}
        assert rights_of(record_path.with_name("box.key")) == 0o600


@pytest.mark.usefixtures("usual_umask")
def test_rights_that_the_shop_gave_are_left_and_the_log_follows_them(record_path: Path) -> None:
    write(record_path)
    record_path.chmod(0o664)
    with open_record(record_path) as database:
        SqliteLog(database, database.create_session()).append([Entry("said", {})])
        assert rights_of(record_path) == 0o664
        assert rights_of(record_path.with_name("bay.record-wal")) == 0o664


@pytest.mark.usefixtures("usual_umask")
def test_a_backup_is_for_its_owner_and_put_back_it_is_a_record(
    record_path: Path, tmp_path: Path
) -> None:
    write(record_path)
    stick = tmp_path / "stick.record"
    back_up(record_path, stick)
    assert rights_of(stick) == 0o600
    back = tmp_path / "back" / "bay.record"
    back.parent.mkdir()
    restore(stick, back)
    assert rights_of(back) == 0o640


@pytest.mark.usefixtures("usual_umask")
def test_each_file_beside_the_record_is_for_those_who_need_it(
    record_path: Path, tmp_path: Path
) -> None:
    """A seal and a public key for everybody, a key and PINs for their owner, voices for a group."""
    with open_record(record_path) as database:
        write_outside(tmp_path / "seal.json", make_seal(database))
    make_key(tmp_path / "key")
    ring = KeyRing(record_path, Cost(passes=1, memory_kib=8, lanes=1))
    ring.lock(Ed25519PrivateKey.generate(), "4711")
    clips = ClipStore(tmp_path / "clips")
    clip = clips.get(clips.put(b"\x01\x00" * 4000))
    assert rights_of(tmp_path / "seal.json") == 0o644
    assert rights_of(tmp_path / "key.pub") == 0o644
    assert rights_of(tmp_path / "key") == 0o600
    assert rights_of(ring.path) == 0o600
    assert rights_of(clip) == 0o640
    assert rights_of(clips.folder) == 0o750


def test_only_a_thorough_look_holds_an_index_against_its_table(tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "some.db", isolation_level=None)) as db:
        db.execute("CREATE TABLE event (seq, kind)")
        db.execute("CREATE INDEX by_seq ON event (seq)")
        db.executemany("INSERT INTO event VALUES (?, ?)", [(n, f"kind {n}") for n in range(20)])
        db.execute("PRAGMA writable_schema = ON")
        db.execute(
            "UPDATE sqlite_schema SET sql = 'CREATE INDEX by_seq ON event (kind)' "
            "WHERE name = 'by_seq'"
        )
    with closing(sqlite3.connect(tmp_path / "some.db")) as db:
        assert damage(db) == []
        found = damage(db, most=3, thorough=True)
        assert len(found) == 3
        assert all("by_seq" in told for told in found)

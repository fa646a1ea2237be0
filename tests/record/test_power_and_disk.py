"""A cut or a full disk: what was acknowledged is there, what failed left nothing."""

from __future__ import annotations

import resource
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record import ClipStore, Database, Entry, SqliteLog, open_for_reading
from companion.record.audit.verify import verify
from companion.record.database import open_record

APPEND_FOR_EVER = """
import sys
from pathlib import Path
from companion.record import Entry, SqliteLog, open_record
database = open_record(Path(sys.argv[1]))
log = SqliteLog(database, database.create_session("s1"))
number = 0
while True:
    number += 1
    stored = log.append([Entry("said", {"n": number}), Entry("heard", {"n": number})])
    print(stored[-1].seq, stored[-1].hash, flush=True)
"""


def test_killed_without_warning_every_acknowledged_event_is_there(record_path: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", APPEND_FOR_EVER, str(record_path)], stdout=subprocess.PIPE, text=True
    ) as writer:
        assert writer.stdout is not None
        told = [writer.stdout.readline().split() for _ in range(40)]
        writer.send_signal(signal.SIGKILL)
        told += [line.split() for line in writer.stdout if line.endswith("\n")]
    with open_record(record_path) as database:  # the dead writer's lock is free again
        stored = list(database.events("s1"))
    last_seq, last_hash = int(told[-1][0]), told[-1][1]
    assert stored[last_seq - 1].hash == last_hash
    assert len(stored) in (last_seq, last_seq + 2)
    assert verify(record_path) == []


def test_a_full_database_refuses_and_keeps_nothing_of_the_batch(
    database: Database, record_path: Path
) -> None:
    log = SqliteLog(database, database.create_session("s1"))
    (kept,) = log.append([Entry("said", {"text": "fits"})])
    pages = database.read("PRAGMA page_count")[0]["page_count"]
    database.read(f"PRAGMA max_page_count = {pages + 2}")
    with pytest.raises(RecordError, match="free some disk space"):
        log.append([Entry("said", {"text": "small"}), Entry("said", {"text": "x" * 40_000})])
    assert list(log.events("s1")) == [kept]
    database.read("PRAGMA max_page_count = 100000")
    (after,) = log.append([Entry("said", {"text": "room again"})])
    assert (after.seq, after.previous_hash) == (2, kept.hash)
    assert verify(record_path) == []


FILL_UP = """
import resource, sys
from pathlib import Path
from companion.errors import RecordError
from companion.record import ClipStore, Entry, SqliteLog, open_record
database = open_record(Path(sys.argv[1]))
log = SqliteLog(database, database.create_session("s1"))
resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000))
done = 0
try:
    while True:
        done = log.append([Entry("said", {"text": "x" * 3000}), Entry("heard", {})])[-1].seq
except RecordError as error:
    print(done, error)
"""


def test_when_the_disk_takes_no_more_bytes_the_last_whole_batch_stands(record_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-c", FILL_UP, str(record_path)], capture_output=True, text=True
    )
    assert run.returncode == 0, run.stderr
    done, message = run.stdout.split(" ", 1)
    assert str(record_path) in message
    with open_for_reading(record_path) as database:
        assert database.session("s1").event_count == int(done) > 0
    assert verify(record_path) == []


def _limit_file_size() -> None:
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))


def test_a_clip_that_does_not_fit_leaves_no_file(tmp_path: Path) -> None:
    script = (
        "import sys, random; from pathlib import Path; from companion.record import ClipStore\n"
        "from companion.errors import RecordError\n"
        "try: ClipStore(Path(sys.argv[1])).put(random.Random(1).randbytes(64000))\n"
        "except RecordError as error: print(error)"
    )
    run = subprocess.run(
        [sys.executable, "-c", script, str(tmp_path / "clips")],
        capture_output=True,
        text=True,
        preexec_fn=_limit_file_size,
    )
    assert "the clip cannot be written" in run.stdout, run.stderr
    assert list((tmp_path / "clips").iterdir()) == []


def test_a_clip_folder_that_cannot_be_made_is_named(
    tmp_path: Path, half_a_second_of_sound: bytes
) -> None:
    (tmp_path / "taken").write_text("a file where the folder should be")
    with pytest.raises(RecordError, match="taken"):
        ClipStore(tmp_path / "taken").put(half_a_second_of_sound)

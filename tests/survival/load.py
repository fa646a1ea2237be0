"""Many who read while one writes, and a second who wants to write as well."""

from __future__ import annotations

import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

from companion.archive.listing import list_sessions
from companion.archive.opening import open_archive
from companion.errors import RecordError
from companion.record import open_for_reading, open_record
from companion.record.audit.verify import verify
from companion.report.report import write_report
from tests.survival.broken import must
from tests.survival.disks import JOB, ROOT, accepted, environment, lost, read_lines, run_job

READERS = 10


def read_for(record: Path, seconds: float, folder: Path) -> int:
    """Do what readers do (list, read, report, verify) until the time is up; how many rounds.

    `python -m tests.survival.load RECORD SECONDS FOLDER` is one reader.
    """
    until_s = time.monotonic() + seconds
    rounds = 0
    folder.mkdir(exist_ok=True)
    while rounds == 0 or time.monotonic() < until_s:
        with open_for_reading(record) as database:
            sessions = [s for s in database.sessions() if s.event_count]
            for session in sessions:
                events = list(database.events(session.session_id))
                must(len(events) >= session.event_count, "events were lost to a reader")
        must(verify(record) == [], "a reader found the record broken", verify(record))
        if sessions:
            write_report(record, sessions[-1].session_id, folder / "report.html")
        rounds += 1
    return rounds


def readers_and_a_writer(
    folder: Path, seed: int, seconds: float = 6.0, count: int = READERS
) -> Counter[str]:
    """Readers beside one job; all must go through, and the job's readings must be there."""
    record = folder / "record.sqlite"
    with open_record(record):
        pass
    writer = subprocess.Popen(
        [*JOB, str(record), str(seed), "0.01"],
        cwd=ROOT,
        env=environment(),
        stdout=subprocess.PIPE,
        text=True,
    )
    readers = [
        subprocess.Popen(
            [sys.executable, "-m", "tests.survival.load", str(record), str(seconds),
             str(folder / f"reader{number}")],
            cwd=ROOT,
            env=environment(),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for number in range(count)
    ]  # fmt: skip
    rounds = 0
    for reader in readers:
        out, problems = reader.communicate(timeout=300)
        must(reader.returncode == 0, "a reader failed", problems[-2000:])
        rounds += int(out)
    told = read_lines(writer.communicate(timeout=300)[0])
    must(writer.returncode == 0, "the writer was stopped", told[-1:])
    # The index is made by the first to review, and found by the rest.
    with open_archive(record) as archive:
        must(list_sessions(archive).total == 1, "the job is not listed")
    return Counter(
        readers=count, rounds=rounds, promised=len(accepted(told)), lost=lost(record, told)
    )


def a_second_writer(folder: Path, seed: int) -> str:
    """What a second companion is told that wants the same record; the first one goes on."""
    record = folder / "record.sqlite"
    with open_record(record) as database:
        database.create_session()
        try:
            with open_record(record):
                pass
        except RecordError as error:
            second = run_job(record, seed)
            told = read_lines(second.stdout)
            must(told and told[-1][0] == "refused", "the second was let in", told, second.stderr)
            must(second.returncode == RecordError.exit_code, "another code", second.returncode)
            database.create_session()
            return str(error)
    raise AssertionError("a second writer was let in")


if __name__ == "__main__":
    print(read_for(Path(sys.argv[1]), float(sys.argv[2]), Path(sys.argv[3])))

"""The power goes, the disk is full, the disk fails: what was told as kept has to be there."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from random import Random
from typing import Any

from companion.errors import CompanionError, RecordError
from companion.job.loader import JobPaths
from companion.record import open_for_reading, open_record
from companion.record.audit.verify import verify
from companion.report.report import write_report
from companion.runtime import assembly
from companion.runtime.loop import replay_record
from tests.survival.broken import must

ROOT = Path(__file__).parents[2]
JOB = (sys.executable, "-m", "tests.survival.job")
FAULTS = Path("/usr/lib/fiu/fiu_posix_preload.so")
"""What stands between a program and its system calls (Debian: fiu-utils)."""
WRITES = (
    "posix/io/rw/pwrite",
    "posix/io/rw/pwrite64",
    "posix/io/sync/fsync",
    "posix/io/sync/fdatasync",
    "posix/io/rw/ftruncate",
)
Told = list[tuple[str, Mapping[str, Any]]]


def environment(**more: str) -> dict[str, str]:
    """That of this process, with the project on Python's path."""
    return {**os.environ, "PYTHONPATH": str(ROOT), **more}


def read_lines(output: str) -> Told:
    """What a child told; a line that the cut tore apart was not told."""
    told = []
    for line in output.splitlines():
        try:
            kind, body = json.loads(line)
        except ValueError:
            continue
        told.append((kind, body))
    return told


def accepted(told: Told) -> list[Mapping[str, Any]]:
    """The readings told as accepted."""
    return [body for kind, body in told if kind == "accepted"]


def lost(record: Path, told: Told) -> int:
    """How many of the readings told as accepted are not in the record, in order; 0 is wanted.

    Also raises Broken when the record does not verify or does not lead to a place in the job.
    """
    must(verify(record) == [], "the record is broken", verify(record))
    if not told:
        return 0
    session = told[0][1]["session"]
    with open_for_reading(record) as database:
        events = list(database.events(session))
    kept = [event.body for event in events if event.kind == "accepted"]
    if not any(event.kind == "finished" for event in events) and events:
        replay_record(assembly.load(JobPaths()), assembly.language(), events)
    promised = accepted(told)
    return sum(1 for i, body in enumerate(promised) if i >= len(kept) or kept[i] != body)


def cut_power(folder: Path, seed: int) -> Counter[str]:
    """Kill a job at a random moment; what was promised and what was lost."""
    random = Random(f"{seed} cut")
    record = folder / "record.sqlite"
    child = subprocess.Popen(
        [*JOB, str(record), str(seed), "0.002"],
        cwd=ROOT,
        env=environment(),
        stdout=subprocess.PIPE,
        text=True,
    )
    assert child.stdout is not None
    head = ""
    try:
        for _ in range(1 + random.randrange(45)):
            head += child.stdout.readline()
        time.sleep(random.uniform(0.0, 0.02))
    finally:
        os.kill(child.pid, signal.SIGKILL)
        rest, _ = child.communicate()
    told = read_lines(head + rest)
    finished = any(kind == "finished" for kind, _ in told)
    return Counter(
        cuts=1,
        promised=len(accepted(told)),
        lost=lost(record, told),
        after_the_end=int(finished),
    )


def run_job(record: Path, seed: int) -> subprocess.CompletedProcess[str]:
    """A job in a process of its own, to its end, however it ends."""
    return subprocess.run(
        [*JOB, str(record), str(seed)],
        cwd=ROOT,
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
    )


def fill_disk(folder: Path, seed: int, kilobytes: int) -> Counter[str]:
    """A job on a file system of so many kilobytes (a tmpfs; needs root), which it fills.

    The job must end with a plain word; with more room the same record takes the next job.
    """
    disk = folder / "disk"
    disk.mkdir()
    mount("-t", "tmpfs", "-o", f"size={kilobytes}k", "none", str(disk))
    try:
        record = disk / "record.sqlite"
        ended = run_job(record, seed)
        told = read_lines(ended.stdout)
        must("Traceback" not in ended.stderr, "a traceback", ended.stderr)
        must(told, "nothing was told", ended.stderr)
        full = told[-1][0] == "refused"
        if full:
            must(told[-1][1]["code"] == RecordError.exit_code, "another exit code", told[-1])
        mount("-o", f"remount,size={kilobytes + 4096}k", str(disk))
        opened = told if told[0][0] == "opened" else []
        gone = lost(record, opened) if record.exists() and opened else 0
        with open_record(record) as database:
            database.create_session()
    finally:
        subprocess.run(["umount", str(disk)], check=True)
    return Counter(disks=1, full=int(full), promised=len(accepted(told)), lost=gone)


def can_mount(folder: Path) -> bool:
    """Whether this process may mount a file system."""
    place = folder / "trial"
    place.mkdir()
    try:
        mount("-t", "tmpfs", "-o", "size=64k", "none", str(place))
    except (subprocess.CalledProcessError, FileNotFoundError):
        return False
    subprocess.run(["umount", str(place)], check=True)
    return True


def mount(*arguments: str) -> None:
    """Mount; raises CalledProcessError where that is not allowed."""
    subprocess.run(["mount", *arguments], check=True, capture_output=True)


def fail_writes(folder: Path, seed: int) -> Counter[str]:
    """A job whose writes, syncs or truncations fail at random with EIO (libfiu)."""
    random = Random(f"{seed} fault")
    record = folder / "record.sqlite"
    point = random.choice(WRITES)
    chance = random.choice((0.0005, 0.002, 0.01, 0.05))
    try:
        ended = subprocess.run(
            [*JOB, str(record), str(seed)],
            cwd=ROOT,
            env=environment(LD_PRELOAD=str(FAULTS), FAIL_WRITES=f"{point} {chance}"),
            capture_output=True,
            text=True,
            check=False,
            timeout=300,
        )
    except subprocess.TimeoutExpired as late:
        # libfiu may lock itself up while libraries are loaded, before any fault is switched on.
        must(not late.stdout, "a job hung", late.stdout)
        return Counter(not_begun=1)
    told = read_lines(ended.stdout)
    must("Traceback" not in ended.stderr, "a traceback", ended.stderr)
    opened = told if told and told[0][0] == "opened" else []
    gone = lost(record, opened) if record.exists() and opened else 0
    return Counter(
        jobs=1,
        refused=int(bool(told) and told[-1][0] == "refused"),
        finished=int(bool(told) and told[-1][0] == "finished"),
        torn=int(not told or told[-1][0] not in ("refused", "finished")),
        promised=len(accepted(told)),
        lost=gone,
    )


def damaged_record(folder: Path, whole: Path, seed: int) -> str:
    """Damage a copy of a record and do with it all that a person might; how it was noticed.

    Every way must end in a `CompanionError` or go through; when all go through, `verify` must
    have found something, unless the damage lies where nothing is kept.
    """
    random = Random(f"{seed} record")
    record = folder / "record.sqlite"
    content = bytearray(whole.read_bytes())
    kind = random.choice(("byte", "byte", "page", "cut", "zeros", "text", "head"))
    at = random.randrange(len(content))
    match kind:
        case "byte":
            content[at] ^= 1 << random.randrange(8)
        case "page":
            page, other = at // 4096 * 4096, random.randrange(len(content)) // 4096 * 4096
            content[page : page + 4096] = content[other : other + 4096]
        case "cut":
            del content[at:]
        case "zeros":
            content[at : at + 512] = bytes(len(content[at : at + 512]))
        case "text":
            content[at : at + 8] = b"tampered"[: len(content[at : at + 8])]
        case _:
            content[random.randrange(100)] = random.randrange(256)
    record.write_bytes(bytes(content))
    unchanged = bytes(content) == whole.read_bytes()
    try:
        findings = verify(record)
        with open_for_reading(record) as database:
            for session in database.sessions():
                list(database.events(session.session_id))
                write_report(record, session.session_id, folder / "report.html")
        with open_record(record) as database:
            database.create_session()
    except CompanionError as error:
        if str(record) not in str(error) and record.name not in str(error):
            raise AssertionError(f"the message names no file: {error}") from error
        return "refused"
    if findings:
        return "found by verify"
    return "unchanged" if unchanged else _harmless(record, whole)


def _harmless(record: Path, whole: Path) -> str:
    """The damage changed nothing that is kept: every row is as it was."""
    must(_rows(record)[: len(_rows(whole))] == _rows(whole), "a change that nobody found", record)
    return "changed nothing that is kept"


def _rows(record: Path) -> list[tuple[Any, ...]]:
    with sqlite3.connect(f"{record.as_uri()}?mode=ro", uri=True) as connection:
        return list(connection.execute("SELECT * FROM event ORDER BY session_id, seq"))

"""What the store lacks of a record, in the order of its writing: marks of the box, and what each
signed.

The marks number all writing of a box, over all its jobs, and each stands for those before it. So
one number says how far the store is, and a batch is the next marks with their events.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from companion.record.box import MARKS, Mark
from companion.record.database import connect_to_read
from companion.store.connecting import StoreError

EVENTS_A_BATCH = 4_000
BYTES_A_BATCH = 8_000_000
_EVENTS = """
    SELECT session_id, seq, kind, at_utc, monotonic_ns, clock_trusted, body, previous_hash, hash
    FROM event WHERE session_id = ? AND seq > ? AND seq <= ? ORDER BY seq
"""
_BEFORE = "SELECT MAX(seq) FROM box_mark WHERE session_id = ? AND number < ?"


class Event(NamedTuple):
    """One event as it is sent, under the number of the mark that signed it."""

    mark: int
    job: str
    sequence: int
    kind: str
    at_utc: str
    monotonic_ns: int
    clock_trusted: bool
    body: str
    previous: str
    hash: str


@dataclass
class Batch:
    """What goes in one transaction; `sealed` are (number, job, sequence)."""

    marks: list[Mark] = field(default_factory=list)
    jobs: list[tuple[str, str]] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    sealed: list[tuple[int, str, int]] = field(default_factory=list)


@dataclass(frozen=True)
class Waiting:
    """What has not gone yet."""

    marks: int
    jobs: int
    events: int


class Outbox:
    """A record file read for sending; the box may be writing into it meanwhile."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._record = connect_to_read(path)
        self._sent_of: dict[str, int] = {}
        found = self._record.execute("SELECT 1 FROM sqlite_schema WHERE name = 'box_mark'")
        if found.fetchone() is None:
            self.close()
            raise StoreError(
                f"{path}: is of a version before boxes signed what they write; it is brought up to "
                "date when the next job begins, and goes then"
            )

    def close(self) -> None:
        """Let go of the file."""
        self._record.close()

    def __enter__(self) -> Outbox:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def last_mark(self) -> int:
        """The number of the last mark; 0 while there is none."""
        (last,) = self._record.execute("SELECT COALESCE(MAX(number), 0) FROM box_mark").fetchone()
        return int(last)

    def mark(self, number: int) -> Mark | None:
        """The mark of that number."""
        row = self._record.execute(f"{MARKS} WHERE box_mark.number = ?", (number,)).fetchone()
        return None if row is None else Mark(*row)

    def waiting(self, after: int) -> Waiting:
        """What lies behind that mark."""
        marks, jobs, events = self._record.execute(
            """
            SELECT SUM(marks), COUNT(*), SUM(last - before) FROM (
                SELECT COUNT(*) AS marks, MAX(seq) AS last, COALESCE((
                    SELECT MAX(seq) FROM box_mark AS sent
                    WHERE sent.session_id = box_mark.session_id AND sent.number <= ?
                ), 0) AS before
                FROM box_mark WHERE number > ? AND what <> 'sealed' GROUP BY session_id
            )
            """,
            (after, after),
        ).fetchone()
        return Waiting(marks or 0, jobs, events or 0)

    def batches(self, after: int, sealed: int) -> Iterator[Batch]:
        """Everything behind that mark; `sealed` heads under seals have gone.

        Each batch ends with a mark. Raises `StoreError` where the record lacks what it signed.
        """
        batch, size = Batch(), 0
        with closing(
            self._record.execute(
                f"{MARKS} WHERE box_mark.number > ? ORDER BY box_mark.number", (after,)
            )
        ) as marks:
            for mark in (Mark(*row) for row in marks):
                batch.marks.append(mark)
                if mark.what == "sealed":
                    heads = self._sealed(sealed, mark.seq)
                    batch.sealed += heads
                    sealed += len(heads)
                else:
                    size += self._put(batch, mark)
                if len(batch.events) >= EVENTS_A_BATCH or size >= BYTES_A_BATCH:
                    yield batch
                    batch, size = Batch(), 0
        if batch.marks:
            yield batch

    def _put(self, batch: Batch, mark: Mark) -> int:
        """The mark's events into the batch, and the job where it begins; the bytes of both."""
        job = mark.session_id
        if job not in self._sent_of:
            (before,) = self._record.execute(_BEFORE, (job, mark.number)).fetchone()
            if before is None:
                batch.jobs.append((job, self._opened(job)))
            self._sent_of[job] = before or 0
        size = 0
        for row in self._record.execute(_EVENTS, (job, self._sent_of[job], mark.seq)):
            event = Event(
                mark.number, row[0], row[1], row[2], row[3], row[4], bool(row[5]), *row[6:]
            )
            batch.events.append(event)
            size += len(event.body) + 300
        self._sent_of[job] = max(mark.seq, self._sent_of[job])
        return size

    def _opened(self, job: str) -> str:
        row = self._record.execute("SELECT opened_utc FROM session WHERE id = ?", (job,)).fetchone()
        if row is None:
            raise StoreError(
                f"{self.path}: the box signed job {job!r} and the record does not hold it: look at "
                "it with 'companion verify'"
            )
        return str(row[0])

    def _sealed(self, after: int, upto: int) -> list[tuple[int, str, int]]:
        rows = self._record.execute(
            "SELECT number, session_id, seq FROM sealed_head WHERE number > ? AND number <= ? "
            "ORDER BY number",
            (after, upto),
        )
        return [(int(number), str(job), int(seq)) for number, job, seq in rows]


def readable(error: sqlite3.Error, path: Path) -> StoreError:
    """SQLite's error while the record was read, as one that says what to do."""
    return StoreError(f"{path}: cannot be read ({error}); look at it with 'companion verify'")

"""Breaks of what ships: box, shipper and server killed, the line cut, the server's disk full.

Each is made at a moment that the seed draws. Then the rest is sent, and box and store are held
against each other: everything there, once, and whole.
"""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import subprocess
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random

from companion.errors import CompanionError
from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.store import outbox
from companion.store.connecting import NotReached, connected
from companion.store.shipping import ship
from companion.store.verifying import verify_store
from companion.store.witness import witness
from tests.store.cluster import Cluster
from tests.store.yard import Box, events_of

EVENTS_A_BATCH = 60
LONGEST_SHIP_S = 0.4
PORT = 5432


class Broken(AssertionError):
    """Something was lost, doubled or damaged."""


class Trials:
    """One box and its store, broken again and again."""

    def __init__(self, cluster: Cluster, database: str, box: Box, seed: int) -> None:
        self.cluster = cluster
        self.database = database
        self.box = box
        self.random = Random(seed)
        self.counts: Counter[str] = Counter()
        self._hour = 1000
        outbox.EVENTS_A_BATCH = EVENTS_A_BATCH

    def once(self, kind: str) -> None:
        """One break of this kind, the rest sent after it, and everything looked at."""
        KINDS[kind](self)
        self.counts[kind] += 1
        left = self.box.ship().events
        self.counts["left something to send"] += left > 0
        self.look()

    def look(self) -> None:
        """Raises `Broken` where record and store are not the same, or either is damaged."""
        with self.cluster.admin(self.database) as admin:
            row = admin.execute(
                "SELECT count(*), count(DISTINCT (box, job, sequence)) FROM store.event"
            ).fetchone()
            assert row is not None
            there, different = row
            problems = verify_store(admin).problems
        here = events_of(self.box.record)
        self.counts["lost"] += max(0, here - different)
        self.counts["doubled"] += there - different
        with connected(self.box.store, self.box.password_file) as connection:
            named = witness(self.box.record, connection).findings
        if here != there or there != different or problems or named:
            told = [*map(str, problems), *map(str, named)]
            raise Broken(f"{here} events here, {there} there, {different} different; {told}")

    def work(self, appends: int = 40) -> None:
        """A job more in the record."""
        self._hour += 1
        clock = FixedClock("2026-03-03T00:00:00.000Z")
        clock.advance(self._hour * 600_000)
        with open_record(self.box.record, clock) as database:
            log = SqliteLog(database, database.create_session(f"job-{self._hour}"))
            for number in range(appends):
                words = "x" * self.random.randint(1, 2_000)
                log.append([Entry("said", {"text": words}), Entry("heard", {"number": number})])

    def killed(self, does: Callable[[], object]) -> None:
        """A process that does it, killed at a moment drawn."""
        child = os.fork()
        if child == 0:
            with contextlib.suppress(BaseException):
                does()
            os._exit(0)
        time.sleep(self.random.uniform(0, LONGEST_SHIP_S))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)


def _box_killed(trials: Trials) -> None:
    def at_work() -> None:
        while True:
            trials.work(10)

    trials.killed(at_work)
    # Where it was with the numbers of its jobs is in the record.
    trials._hour += 40


def _shipper_killed(trials: Trials) -> None:
    trials.work()
    trials.killed(trials.box.ship)


def _server_killed(trials: Trials) -> None:
    trials.work()
    shipping = threading.Thread(target=lambda: _tried(trials.box))
    shipping.start()
    time.sleep(trials.random.uniform(0, LONGEST_SHIP_S))
    trials.cluster.kill()
    shipping.join()
    trials.cluster.start()


def _tried(box: Box) -> None:
    with contextlib.suppress(NotReached):
        box.ship()


def _line_cut(trials: Trials) -> None:
    """In the middle of what one side says, also of the word that a batch was taken."""
    trials.work()
    forth, back = trials.random.choice(
        ((trials.random.randint(200, 120_000), None), (None, trials.random.randint(300, 2_500)))
    )
    with _cutting_line(trials.cluster, forth, back) as folder:
        store = trials.box.store.replace(str(trials.cluster.sockets), str(folder))
        with contextlib.suppress(NotReached):
            ship(trials.box.record, store, trials.box.password_file)


@contextlib.contextmanager
def _cutting_line(cluster: Cluster, forth: int | None, back: int | None) -> Iterator[Path]:
    """A socket that leads to the store and is cut after so many bytes of one direction."""
    folder = cluster.folder / "cut"
    folder.mkdir(exist_ok=True)
    place = folder / f".s.PGSQL.{PORT}"
    place.unlink(missing_ok=True)
    ends: list[socket.socket] = []
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(place))
        listening.listen()

        def serve() -> None:
            with contextlib.suppress(OSError):
                near, _ = listening.accept()
                far = socket.socket(socket.AF_UNIX)
                far.connect(str(cluster.sockets / f".s.PGSQL.{PORT}"))
                ends.extend((near, far))
                other = threading.Thread(target=_pass_on, args=(far, near, back))
                other.start()
                _pass_on(near, far, forth)
                other.join()

        serving = threading.Thread(target=serve)
        serving.start()
        try:
            yield folder
        finally:
            with contextlib.suppress(OSError):
                listening.shutdown(socket.SHUT_RDWR)
            serving.join()
            for end in ends:
                end.close()


def _pass_on(source: socket.socket, target: socket.socket, most: int | None) -> None:
    left = most
    with contextlib.suppress(OSError):
        while (got := source.recv(8192 if left is None else min(8192, left))) and left != 0:
            target.sendall(got)
            left = None if left is None else left - len(got)
            if left == 0:
                break
    for end in (source, target):
        with contextlib.suppress(OSError):
            end.shutdown(socket.SHUT_RDWR)


def _disk_full(trials: Trials) -> None:
    """The disk of the store's tables, full but for a little; the log of the engine is elsewhere."""
    disk = trials.cluster.folder / "disk"
    trials.work(120)
    with trials.cluster.admin(trials.database) as admin:
        admin.execute("CHECKPOINT")
    free = os.statvfs(disk)
    left = trials.random.randint(0, 20) * 8192
    ballast = disk / "ballast"
    with ballast.open("wb") as file:
        os.posix_fallocate(file.fileno(), 0, max(1, free.f_bavail * free.f_frsize - left))
    try:
        trials.box.ship()
    except CompanionError as error:
        trials.counts["told that there is no room"] += "no room" in str(error)
    finally:
        ballast.unlink()


KINDS: dict[str, Callable[[Trials], None]] = {
    "box killed": _box_killed,
    "shipper killed": _shipper_killed,
    "server killed": _server_killed,
    "line cut": _line_cut,
    "disk full": _disk_full,
}


@contextlib.contextmanager
def small_disk(cluster: Cluster, megabytes: int = 256) -> Iterator[bool]:
    """A small disk of its own for the store's tables, as the tablespace `small`.

    False where this account may not mount one.
    """
    disk = cluster.folder / "disk"
    disk.mkdir()
    options = ["-t", "tmpfs", "-o", f"size={megabytes}m", "none", str(disk)]
    done = subprocess.run(["mount", *options], capture_output=True, check=False)
    if done.returncode != 0:
        yield False
        return
    try:
        tables = disk / "tables"
        tables.mkdir()
        owner = cluster.data.stat()
        os.chown(tables, owner.st_uid, owner.st_gid)
        with cluster.admin() as admin:
            admin.execute(f"CREATE TABLESPACE small LOCATION '{tables}'".encode())
        yield True
    finally:
        cluster.stop()
        subprocess.run(["umount", str(disk)], check=True)

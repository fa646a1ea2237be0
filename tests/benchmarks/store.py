"""Many boxes, one store: what a cluster of its own on this machine takes, and what it survives.

`--part breaks`: so many breaks, after each of which everything has to be there once and whole; with
`--done FILE` what was run before is not run again, so that it may be stopped at any time.
`--part ingest`: events a second that the store takes, looked at one by one, from several boxes at
once while readers read; the bytes that each takes; what a check of the whole store takes.
`--part pages`: what the pages over all boxes take in a browser.
The events are those of really rehearsed jobs under other names and dates (`distinct_jobs` of them).
"""

from __future__ import annotations

import argparse
import itertools
import json
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import psycopg

from companion.store.migrating import migrate
from companion.store.shipping import ship
from companion.store.verifying import verify_store
from tests.benchmarks import many_sessions
from tests.benchmarks.common import Results, percentile, rounded
from tests.store.breaks import KINDS, Trials, small_disk
from tests.store.cluster import Cluster, running_cluster
from tests.store.yard import Box, Yard, events_of

NAME = "store"
WHAT = "many boxes, one store: breaks survived, events taken a second, bytes an event"
DISTINCT_JOBS = 24
BREAKS_A_STORE = 25
"""After so many everything is begun anew, for each is followed by a look at all that is there."""
FIRST_DAY = "2021-01-06T07:30:00.000Z"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--part", choices=["breaks", "ingest", "pages"], default="ingest")
    parser.add_argument("--breaks", type=int, default=500)
    parser.add_argument("--done", type=Path, help="breaks: a file of what was run, to go on with")
    parser.add_argument("--boxes", type=int, default=8)
    parser.add_argument("--jobs", type=int, default=3_000, help="of all boxes together")
    parser.add_argument("--distinct", type=int, default=DISTINCT_JOBS, help="jobs rehearsed")
    parser.add_argument("--looks", type=int, default=40, help="at each kind of page; 0 only fills")
    parser.add_argument("--senders", type=int, default=2, help="boxes that send at once")
    parser.add_argument("--readers", type=int, default=10)
    parser.add_argument("--folder", type=Path, help="where to write; default: a temporary folder")
    parser.add_argument("--kept", type=Path, help="pages: a cluster that stays, to go on with")
    parser.add_argument("--jobs-a-box", type=int, default=0, help="pages: default: all boxes full")
    parser.add_argument(
        "--looks-at", type=int, nargs="*", default=[], help="pages: so many jobs on the way, too"
    )


def run(options: argparse.Namespace) -> Results:
    """One part."""
    if options.part == "breaks":
        return _breaks(options)
    if options.part == "pages":
        # A browser is needed for it, and for nothing else here.
        from tests.benchmarks.store_pages import pages

        return pages(options)
    return _ingest(options)


def _breaks(options: argparse.Namespace) -> Results:
    """So many breaks, some at a time: each time another box, store and server, and another seed."""
    counts, left = Counter[str](), options.breaks
    for seed in itertools.count(options.seed):
        if left <= 0:
            break
        counts.update(_done(options.done, seed, min(left, BREAKS_A_STORE)))
        left -= BREAKS_A_STORE
    return {
        "benchmark": NAME,
        "lost": counts.pop("lost"),
        "doubled": counts.pop("doubled"),
        "events": counts.pop("events"),
        "breaks": sum(counts[kind] for kind in KINDS),
        "kinds": dict(counts),
    }


def _done(file: Path | None, seed: int, breaks: int) -> dict[str, int]:
    """What was counted with that seed, now or in a run before."""
    lines = file.read_text("utf-8").splitlines() if file is not None and file.exists() else []
    for line in map(json.loads, lines):
        if (line["seed"], line["breaks"]) == (seed, breaks):
            return dict(line["counts"])
    counts = dict(broken_again_and_again(seed, breaks))
    if file is not None:
        with file.open("a", encoding="utf-8") as out:
            out.write(json.dumps({"seed": seed, "breaks": breaks, "counts": counts}) + "\n")
    return counts


def broken_again_and_again(seed: int, breaks: int) -> Counter[str]:
    """So many breaks of all kinds in turn; what was counted."""
    with (
        running_cluster({"shared_buffers": "'64MB'"}) as cluster,
        small_disk(cluster) as has_disk,
        tempfile.TemporaryDirectory() as name,
    ):
        admin = _new_store(cluster, "TABLESPACE small" if has_disk else "")
        box = Yard(cluster, admin, Path(name)).box()
        admin.close()
        trials = Trials(cluster, "bench", box, seed)
        kinds = [kind for kind in KINDS if has_disk or kind != "disk full"]
        for number in range(breaks):
            trials.once(kinds[number % len(kinds)])
        counts = trials.counts
        counts["events"] = events_of(box.record)
        return counts


def _new_store(cluster: Cluster, where: str = "") -> psycopg.Connection:
    with cluster.admin() as admin:
        admin.execute(f"CREATE DATABASE bench TEMPLATE template0 {where}".encode())
    admin = cluster.admin("bench")
    migrate(admin)
    return admin


def _ingest(options: argparse.Namespace) -> Results:
    with (
        running_cluster(
            {"shared_buffers": "'1GB'", "max_wal_size": "'4GB'"}, options.folder
        ) as cluster,
        tempfile.TemporaryDirectory(dir=options.folder) as name,
    ):
        admin = _new_store(cluster)
        yard = Yard(cluster, admin, Path(name))
        boxes = _boxes(yard, options.boxes, options.jobs, options.seed)
        reader = yard.person("S. Sample", "supervisor", "Site 1", "Site 2")
        address, file = reader.info.dsn, next(Path(name).glob("*person*.pass"))
        reader.close()
        stop, reads = threading.Event(), Counter[str]()
        waits_ms: list[float] = []
        readers = [
            threading.Thread(
                target=_read, args=(f"{address} passfile={file}", stop, reads, waits_ms)
            )
            for _ in range(options.readers)
        ]
        for thread in readers:
            thread.start()
        began_s = time.perf_counter()
        with ProcessPoolExecutor(options.senders) as pool:
            sent = sum(pool.map(_ship, [(b.record, b.store, b.password_file) for b in boxes]))
        took_s = time.perf_counter() - began_s
        stop.set()
        for thread in readers:
            thread.join()
        admin.execute("VACUUM ANALYZE store.event")
        row = admin.execute(
            "SELECT count(*), (SELECT count(*) FROM store.job), (SELECT sum("
            "pg_total_relation_size(c.oid)) FROM pg_class c WHERE c.relkind = 'r' "
            "AND c.relnamespace = 'store'::regnamespace) FROM store.event"
        ).fetchone()
        assert row is not None
        events, jobs, size = row
        began_s = time.perf_counter()
        verified = verify_store(admin)
        verify_s = time.perf_counter() - began_s
        assert not verified.problems, verified.problems[:3]
        admin.close()
        wanted = sum(events_of(box.record) for box in boxes)
        return {
            "benchmark": NAME,
            "boxes": len(boxes),
            "jobs": jobs,
            "events": events,
            "distinct_jobs": DISTINCT_JOBS,
            "ingest_events_per_s": rounded(sent / took_s),
            "senders": options.senders,
            "readers": options.readers,
            "reads": sum(reads.values()),
            "read_ms": rounded(percentile(waits_ms, 50)),
            "read_ms_p95": rounded(percentile(waits_ms, 95)),
            "bytes_per_event": rounded(float(size) / events),
            "verify_events_per_s": rounded(verified.events / verify_s),
            "lost": wanted - events,
            "doubled": events - verified.events,
        }


def _boxes(yard: Yard, boxes: int, jobs: int, seed: int) -> Sequence[Box]:
    """Records of rehearsed jobs in the past, two boxes a site."""
    made = []
    for number in range(boxes):
        record = yard.folder / f"box-{number}" / "bay.record"
        record.parent.mkdir()
        many_sessions.make_record(
            record,
            jobs // boxes,
            seed + number,
            DISTINCT_JOBS // boxes or 1,
            first_day=FIRST_DAY,
        )
        made.append(yard.let_in(f"Box {number}", f"Site {1 + number // 2}", record))
    return made


def _ship(box: tuple[Path, str, Path]) -> int:
    return ship(*box).events


_READS = (
    "SELECT id, opened_utc, last_seq FROM store.job ORDER BY arrived DESC LIMIT 25",
    "SELECT count(*) FROM store.job",
    "SELECT sequence, kind, body FROM store.event e JOIN (SELECT job, month FROM store.job "
    "ORDER BY job DESC LIMIT 1) AS newest USING (job, month) ORDER BY sequence",
    "SELECT name, last_seen, last_mark FROM store.box",
)


def _read(address: str, stop: threading.Event, reads: Counter[str], waits_ms: list[float]) -> None:
    """A supervisor who looks again and again, some five times a second."""
    with psycopg.connect(address, autocommit=True) as connection:
        while not stop.wait(0.2):
            for query in _READS:
                began_s = time.perf_counter()
                connection.execute(query.encode()).fetchall()
                waits_ms.append((time.perf_counter() - began_s) * 1e3)
                reads[query] += 1

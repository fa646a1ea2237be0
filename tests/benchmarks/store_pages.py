"""How long the pages over many boxes take in a browser, with many jobs in the store.

Every event is sent as a box sends it and looked at by the store; the jobs are really rehearsed ones
(`distinct_jobs`) under other names and dates, three bays a box, two boxes a site. All boxes are
there from the beginning, and one after the other is filled with as many jobs as each is to have: so
the pages of one bay are those of a full history at each size, and what grows is the number of bays.
The pages are looked at on the way, too (`--looks-at`): `growth` is one line a size. Beside the
wait, which grows with whatever else runs on the machine, stands the work: processor time of pages,
engine and browser together.

With `--kept FOLDER` the cluster stays there, and another run goes on from what is in it; where so
many jobs are there already, it only looks.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import shutil
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from random import Random

from playwright.sync_api import Page
from psycopg import Connection

from companion.store import keeping
from companion.store.keeping import Login
from companion.store.migrating import migrate, one
from companion.store.review.app import make_store_app
from companion.store.review.indexing import index_store
from companion.store.review.people import set_password
from companion.store.review.pool import Pool
from companion.store.shipping import ship
from companion.web.serving import make_server
from tests.benchmarks.common import Results, percentile, rounded
from tests.benchmarks.many_sessions import Rehearsed, make_record, rehearsed_jobs
from tests.browsers import running_browser, serving_on_free_port
from tests.store.cluster import Cluster, running_cluster
from tests.store.yard import Yard, work

PASSWORD = "five words are a password"  # noqa: S105  # pragma: allowlist secret
FIRST_DAY = "2020-01-06T07:30:00.000Z"
WORDS = ("left arm", "806", "plate", "twelve", "stop", '"left spot"', "B. Sample", "zebra")
SETTINGS = {"shared_buffers": "'1GB'", "max_wal_size": "'4GB'", "work_mem": "'32MB'"}
PEOPLE = {"auditor": "", "one": "_of_one_site"}


@dataclass(frozen=True)
class Filling:
    """What a process needs to fill one box and send it."""

    record: Path
    store: str
    password_file: Path
    number: int
    jobs: int


@dataclass
class Taken:
    """What filling took, of this run."""

    events: int = 0
    sending_s: float = 0.0
    jobs: int = 0
    indexing_s: float = 0.0


def pages(options: argparse.Namespace) -> Results:
    """The figures of one run."""
    with (
        _cluster(options) as cluster,
        tempfile.TemporaryDirectory(dir=options.folder) as name,
    ):
        admin = cluster.admin("bench")
        yard = Yard(cluster, admin, Path(name))
        each = options.jobs_a_box or -(-options.jobs // options.boxes)
        rehearsed, taken, growth = list[Rehearsed](), Taken(), list[Results]()
        for wanted in [*options.looks_at, options.jobs]:
            fillings = _lacking(yard, options.boxes, each, wanted)
            if fillings and not rehearsed:
                rehearsed = rehearsed_jobs(options.distinct, options.seed)
            _fill(cluster, fillings, rehearsed, options.senders, taken)
            growth.append(_looked_at(admin, yard, options))
            print(growth[-1], flush=True)
        return {
            "benchmark": "store",
            "part": "pages",
            "boxes": options.boxes,
            "jobs_a_box": each,
            "distinct_jobs": options.distinct,
            "made_and_sent_events_per_s": _rate(taken.events, taken.sending_s),
            "indexed_jobs_per_s": _rate(taken.jobs, taken.indexing_s),
            **growth[-1],
            "growth": growth,
        }


@contextlib.contextmanager
def _cluster(options: argparse.Namespace) -> Iterator[Cluster]:
    """The store's cluster: one that goes afterwards, or one that stays and is gone on with."""
    if options.kept is None:
        with running_cluster(SETTINGS, options.folder) as cluster:
            _make_store(cluster)
            yield cluster
        return
    cluster = Cluster(options.kept, SETTINGS)
    is_new = not cluster.data.exists()
    if is_new:
        options.kept.mkdir(parents=True, exist_ok=True)
        cluster.make()
    cluster.start()
    try:
        if is_new:
            _make_store(cluster)
        with cluster.admin("bench") as admin:
            migrate(admin)
        yield cluster
    finally:
        cluster.stop()


def _make_store(cluster: Cluster) -> None:
    cluster.make_database("bench")
    with cluster.admin("bench") as admin:
        migrate(admin)
        for login, kind in (("auditor", "auditor"), ("one", "supervisor")):
            keeping.add_site(admin, "Site 0")
            sites = ("Site 0",) if kind == "supervisor" else ()
            keeping.add_person(admin, login, login, kind, sites)
            set_password(admin, login, PASSWORD)


def _lacking(yard: Yard, boxes: int, each: int, wanted: int) -> list[Filling]:
    """All boxes let in, and those that have to be filled so that there are so many jobs."""
    full = {
        str(name)
        for (name,) in yard.admin.execute("SELECT name FROM store.box WHERE last_mark > 2")
    }
    known = {str(name) for (name,) in yard.admin.execute("SELECT name FROM store.box")}
    there = int(one(yard.admin, "SELECT count(*) FROM store.job WHERE last_seq > 0")[0])
    found = []
    for number in range(boxes):
        name = f"Box {number}"
        if name in full or there >= wanted:
            continue
        jobs = min(each, wanted - there)
        if name in known:
            # A run before was cut off, or let it in: it begins with a record of its own again.
            yard.admin.execute(
                "UPDATE store.box SET name = name || ' gone ' || box WHERE name = %s", (name,)
            )
        record = yard.folder / f"box-{number}" / "bay.record"
        record.parent.mkdir()
        work(record, 0)
        box = yard.let_in(name, f"Site {number // 2}", record)
        found.append(Filling(record, box.store, box.password_file, number, jobs))
        there += jobs
    return found


_rehearsed: Sequence[Rehearsed] = ()


def _has_rehearsed(rehearsed: Sequence[Rehearsed]) -> None:
    global _rehearsed
    _rehearsed = rehearsed


def _fill(
    cluster: Cluster,
    fillings: Sequence[Filling],
    rehearsed: Sequence[Rehearsed],
    senders: int,
    taken: Taken,
) -> None:
    """Make and send, and beside it fold what has come, as the program that shows pages does."""
    over = threading.Event()
    indexing = threading.Thread(target=_index, args=(cluster, over, taken))
    began_s = time.perf_counter()
    indexing.start()
    try:
        with ProcessPoolExecutor(
            senders, initializer=_has_rehearsed, initargs=(rehearsed,)
        ) as pool:
            taken.events += sum(pool.map(_make_and_ship, fillings))
        taken.sending_s += time.perf_counter() - began_s
    finally:
        over.set()
        indexing.join()


def _index(cluster: Cluster, over: threading.Event, taken: Taken) -> None:
    with cluster.admin("bench") as admin:
        last = False
        while not last:
            last = over.is_set()
            began_s = time.perf_counter()
            done = index_store(admin)
            if done:
                taken.jobs += done
                taken.indexing_s += time.perf_counter() - began_s
            elif not last:
                over.wait(0.2)


def _make_and_ship(filling: Filling) -> int:
    make_record(
        filling.record, filling.jobs, filling.number, rehearsed=_rehearsed, first_day=FIRST_DAY
    )
    sent = ship(filling.record, filling.store, filling.password_file).events
    shutil.rmtree(filling.record.parent)
    return sent


def _looked_at(admin: Connection, yard: Yard, options: argparse.Namespace) -> Results:
    """The pages' times at the size that the store has now."""
    for table in ("store.event", "store.job", "store.mark", "reading.job", "reading.words"):
        admin.execute(f"VACUUM ANALYZE {table}".encode())
    admin.execute("ANALYZE")
    jobs, events = one(
        admin, "SELECT count(*) FILTER (WHERE last_seq > 0), sum(last_seq) FROM store.job"
    )
    found: Results = {"jobs": jobs, "events": int(events)}
    found["event_bytes"] = rounded(_bytes(admin, "store") / found["events"])
    found["index_bytes_per_event"] = rounded(_bytes(admin, "reading") / found["events"])
    found["load"] = rounded(os.getloadavg()[0])
    found["disk_bytes"] = int(one(admin, "SELECT pg_database_size('bench')")[0])
    if not options.looks:
        return found
    with _serving(yard) as address, running_browser() as browser:
        for login, suffix in PEOPLE.items():
            page = browser.new_context().new_page()
            _log_in(page, address, login)
            asked = _addresses(admin, login, options.seed, options.looks)
            for what, paths in asked.items():
                began_s = _worked_s()
                waits_ms = [_look(page, address + path) for path in paths]
                work_ms = (_worked_s() - began_s) * 1e3 / len(paths)
                found[f"{what}_work_ms{suffix}"] = rounded(work_ms)
                found[f"{what}_first_ms{suffix}"] = rounded(waits_ms[0])
                found[f"{what}_ms{suffix}"] = rounded(percentile(waits_ms, 50))
                found[f"{what}_ms{suffix}_p95"] = rounded(percentile(waits_ms, 95))
            page.context.close()
    return found


@contextlib.contextmanager
def _serving(yard: Yard) -> Iterator[str]:
    login: Login = keeping.add_pages(yard.admin)
    store, file = yard.login(login)
    serving = Pool(store, file)
    serving.open()
    try:
        with serving_on_free_port(make_server(make_store_app(serving))) as address:
            yield address
    finally:
        serving.close()


def _worked_s() -> float:
    """Processor seconds of pages, engine and browser together: what else runs adds nothing."""
    below, found, ticks = {os.getpid()}, [], os.sysconf("SC_CLK_TCK")
    for place in sorted(Path("/proc").glob("[0-9]*"), key=lambda place: int(place.name)):
        with contextlib.suppress(OSError):
            told = (place / "stat").read_text().rpartition(") ")[2].split()
            found.append((int(place.name), int(told[1]), int(told[11]) + int(told[12])))
    while more := {number for number, parent, _ in found if parent in below} - below:
        below |= more
    return sum(worked for number, _, worked in found if number in below) / ticks


def _rate(count: int, took_s: float) -> float | None:
    return rounded(count / took_s) if took_s else None


def _bytes(admin: Connection, schema: str) -> float:
    row = admin.execute(
        "SELECT sum(pg_total_relation_size(oid)) FROM pg_class WHERE relkind = 'r' "
        "AND relnamespace = %s::regnamespace",
        (schema,),
    ).fetchone()
    return float(row[0]) if row is not None else 0.0


def _addresses(admin: Connection, login: str, seed: int, looks: int) -> dict[str, list[str]]:
    random = Random(seed)
    where = "true" if login == "auditor" else "bay LIKE 'Site 0 ·%'"
    query = f"SELECT session_id, bay FROM reading.job WHERE {where} ORDER BY random() LIMIT {looks}"
    rows = admin.execute(query.encode()).fetchall()
    lists = ("/", "/?page=2", "/?only=unsigned", "/?sort=stood_out", "/?technician=B.+Sample")
    return {
        "list": [random.choice(lists) for _ in range(looks)],
        "search": [f"/search?q={random.choice(WORDS)}" for _ in range(looks)],
        "job": [f"/session?id={row[0]}" for row in rows],
        "drift": [f"/statistics?bay={row[1]}" for row in rows],
        "worklist": ["/worklist"] * looks,
        "fleet": ["/fleet"] * looks,
    }


def _log_in(page: Page, address: str, login: str) -> None:
    page.goto(f"{address}/login")
    page.get_by_label("Login").fill(login)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Log in").click()
    page.wait_for_url(f"{address}/")


def _look(page: Page, address: str) -> float:
    """Milliseconds until the page is there, drawn."""
    began_s = time.perf_counter()
    answer = page.goto(address, wait_until="load")
    waited_ms = (time.perf_counter() - began_s) * 1e3
    assert answer is not None
    assert answer.ok, (address, answer.status, page.content())
    return waited_ms

"""How long the pages over many boxes take in a browser, with many jobs in the store.

Every event is sent as a box sends it and looked at by the store; the jobs are really rehearsed ones
(`distinct_jobs`) under other names and dates, three bays a box, two boxes a site.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from random import Random

from playwright.sync_api import Page
from psycopg import Connection

from companion.store import keeping
from companion.store.migrating import migrate
from companion.store.review.app import make_store_app
from companion.store.review.indexing import index_store
from companion.store.review.people import set_password
from companion.store.review.pool import Pool
from companion.store.shipping import ship
from companion.web.serving import make_server
from tests.benchmarks.common import Results, percentile, rounded
from tests.benchmarks.many_sessions import Rehearsed, make_record, rehearsed_jobs
from tests.browsers import running_browser, serving_on_free_port
from tests.store.cluster import running_cluster
from tests.store.yard import Yard, work

PASSWORD = "five words are a password"  # noqa: S105  # pragma: allowlist secret
FIRST_DAY = "2020-01-06T07:30:00.000Z"
WORDS = ("left arm", "806", "plate", "twelve", "stop", '"left spot"', "B. Sample", "zebra")


def pages(options: argparse.Namespace) -> Results:
    """The figures of one run."""
    with (
        running_cluster(
            {"shared_buffers": "'1GB'", "max_wal_size": "'4GB'", "work_mem": "'32MB'"},
            options.folder,
        ) as cluster,
        tempfile.TemporaryDirectory(dir=options.folder) as name,
    ):
        cluster.make_database("bench")
        admin = cluster.admin("bench")
        migrate(admin)
        admin.execute("ALTER SYSTEM SET statement_timeout = 0")
        yard = Yard(cluster, admin, Path(name))
        jobs = rehearsed_jobs(options.distinct, options.seed)
        began_s = time.perf_counter()
        made = [
            _box(yard, number, options.jobs // options.boxes, jobs)
            for number in range(options.boxes)
        ]
        with ProcessPoolExecutor(options.senders) as pool:
            sent = sum(pool.map(_make_and_ship, made))
        sent_s = time.perf_counter() - began_s
        began_s = time.perf_counter()
        indexed = index_store(admin)
        index_s = time.perf_counter() - began_s
        for table in ("store.event", "store.job", "reading.job", "reading.words"):
            admin.execute(f"VACUUM ANALYZE {table}".encode())
        admin.execute("ANALYZE")
        keeping.add_person(admin, "A. Auditor", "auditor", "auditor")
        keeping.add_person(admin, "S. One", "one", "supervisor", ("Site 1",))
        for login in ("auditor", "one"):
            set_password(admin, login, PASSWORD)
        store, file = yard.login(keeping.add_pages(admin))
        serving = Pool(store, file)
        serving.open()
        try:
            with (
                serving_on_free_port(make_server(make_store_app(serving))) as address,
                running_browser() as browser,
            ):
                found: Results = {}
                for login in ("auditor", "one"):
                    page = browser.new_context().new_page()
                    _log_in(page, address, login)
                    addresses = _addresses(admin, login, options.seed, options.looks)
                    for what, paths in addresses.items():
                        waits_ms = [_look(page, address + path) for path in paths]
                        suffix = "" if login == "auditor" else "_of_one_site"
                        found[f"{what}_ms{suffix}"] = rounded(percentile(waits_ms, 50))
                        found[f"{what}_ms{suffix}_p95"] = rounded(percentile(waits_ms, 95))
        finally:
            serving.close()
        return {
            "benchmark": "store",
            "part": "pages",
            "boxes": options.boxes,
            "jobs": indexed,
            "events": sent,
            "distinct_jobs": options.distinct,
            "made_and_sent_events_per_s": rounded(sent / sent_s),
            "indexed_jobs_per_s": rounded(indexed / index_s),
            "event_bytes": _bytes(admin, "store") / sent,
            "index_bytes_per_event": _bytes(admin, "reading") / sent,
            **found,
        }


_Box = tuple[Path, str, Path, int, int, list[Rehearsed]]


def _box(yard: Yard, number: int, jobs: int, rehearsed: list[Rehearsed]) -> _Box:
    """A box that the store knows by its key; its jobs are made when they are sent."""
    record = yard.folder / f"box-{number}" / "bay.record"
    record.parent.mkdir()
    work(record, 0)
    box = yard.let_in(f"Box {number}", f"Site {number // 2}", record)
    return record, box.store, box.password_file, number, jobs, rehearsed


def _make_and_ship(box: _Box) -> int:
    record, store, file, number, jobs, rehearsed = box
    make_record(record, jobs, number, rehearsed=rehearsed, first_day=FIRST_DAY)
    sent = ship(record, store, file).events
    shutil.rmtree(record.parent)
    return sent


def _bytes(admin: Connection, schema: str) -> float:
    row = admin.execute(
        "SELECT sum(pg_total_relation_size(oid)) FROM pg_class WHERE relkind = 'r' "
        "AND relnamespace = %s::regnamespace",
        (schema,),
    ).fetchone()
    return float(row[0]) if row is not None else 0.0


def _addresses(admin: Connection, login: str, seed: int, looks: int) -> dict[str, list[str]]:
    random = Random(seed)
    where = "true" if login == "auditor" else "bay LIKE 'Site 1 ·%'"
    query = f"SELECT session_id, bay FROM reading.job WHERE {where} ORDER BY random() LIMIT {looks}"
    rows = admin.execute(query.encode()).fetchall()
    lists = ("/", "/?page=2", "/?only=unsigned", "/?sort=stood_out", "/?technician=B.+Sample")
    return {
        "list": [random.choice(lists) for _ in range(looks)],
        "search": [f"/search?q={random.choice(WORDS)}" for _ in range(looks)],
        "job": [f"/session?id={row[0]}" for row in rows],
        "drift": [f"/statistics?bay={row[1]}" for row in rows],
        "worklist": ["/worklist"] * looks,
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

"""A chain of shops in a store: sites, boxes with rehearsed jobs, people who log in at the pages."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from psycopg import Connection
from starlette.testclient import TestClient

from companion.store import keeping
from companion.store.keeping import Kind
from companion.store.review.app import make_store_app
from companion.store.review.indexing import index_store
from companion.store.review.people import set_password
from companion.store.review.pool import Pool
from tests.benchmarks import many_sessions
from tests.store.cluster import Cluster
from tests.store.yard import Box, Yard

PUBLIC = "https://review.example"
PASSWORD = "five words are a password"  # noqa: S105  # pragma: allowlist secret
FIRST_DAY = "2024-01-08T07:30:00.000Z"
SITES = ("North", "South", "West")


@dataclass
class Chain:
    """A store with its pages."""

    yard: Yard
    boxes: dict[str, Box]
    store: str
    password_file: Path

    def person(self, name: str, kind: Kind, *sites: str) -> None:
        """Somebody who logs in at the pages by their name."""
        for site in sites:
            keeping.add_site(self.yard.admin, site)
        keeping.add_person(self.yard.admin, name, name, kind, sites)
        set_password(self.yard.admin, name, PASSWORD)

    @contextlib.contextmanager
    def pages(self) -> Iterator[TestClient]:
        """The pages, asked by their public name; nobody is logged in."""
        pool = Pool(self.store, self.password_file)
        pool.open()
        try:
            app = make_store_app(pool, PUBLIC)
            yield TestClient(app, base_url=PUBLIC, follow_redirects=False)
        finally:
            pool.close()


@cache
def rehearsed() -> tuple[many_sessions.Rehearsed, ...]:
    """Three jobs; all others are these under other names and dates."""
    return tuple(many_sessions.rehearsed_jobs(3, 1))


def log_in(client: TestClient, login: str, password: str = PASSWORD) -> TestClient:
    """The same browser with somebody's session."""
    client.cookies.clear()
    answer = client.post("/login", data={"login": login, "password": password})
    assert answer.status_code == 303, answer.text
    return client


def make_chain(cluster: Cluster, admin: Connection, folder: Path, jobs_each: int = 6) -> Chain:
    """Three sites of two boxes each, a few jobs in each box, all sent and taken into the index."""
    yard = Yard(cluster, admin, folder)
    boxes = {}
    for number, site in enumerate(SITES):
        for place in ("one", "two"):
            name = f"{site} {place}"
            record = folder / name.replace(" ", "-") / "bay.record"
            record.parent.mkdir()
            seed = 10 * number + len(place)
            many_sessions.make_record(
                record, jobs_each, seed, rehearsed=rehearsed(), first_day=FIRST_DAY
            )
            boxes[name] = yard.let_in(name, site, record)
            boxes[name].ship()
    index_store(admin)
    login = keeping.add_pages(admin)
    return Chain(yard, boxes, *yard.login(login))

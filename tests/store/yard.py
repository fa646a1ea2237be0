"""Boxes with records of their own beside a store, for tests and measurements."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import psycopg
from psycopg import Connection

from companion.record import Entry, FixedClock, SqliteLog, open_for_reading, open_record
from companion.record.audit.keys import read_public_key
from companion.record.audit.seal import make_seal
from companion.record.box import public_key_path
from companion.store import keeping
from companion.store.connecting import connected
from companion.store.keeping import Kind, Login
from companion.store.shipping import Shipped, ship
from companion.store.verifying import verify_store
from companion.store.witness import witness
from tests.store.cluster import Cluster

MORNING = "2026-03-02T08:00:00.000Z"


@dataclass
class Box:
    """One box: its record, and how it logs in."""

    name: str
    record: Path
    store: str
    password_file: Path

    def ship(self) -> Shipped:
        return ship(self.record, self.store, self.password_file)

    def against_the_store(self) -> list[str]:
        """What the store names in its record."""
        with connected(self.store, self.password_file) as connection:
            return [str(finding) for finding in witness(self.record, connection).findings]

    def connection(self) -> Connection:
        """Of somebody who has its login."""
        return psycopg.connect(f"{self.store} passfile={self.password_file}", autocommit=True)


class Yard:
    """A store with the boxes and people that a test lets in."""

    def __init__(self, cluster: Cluster, admin: Connection, folder: Path) -> None:
        self.cluster = cluster
        self.admin = admin
        self.folder = folder
        self.database = admin.info.dbname

    def box(self, name: str = "bay one", site: str = "North", jobs: int = 1) -> Box:
        """A box with a record of so many small jobs, known to the store."""
        record = self.folder / name.replace(" ", "-") / "bay.record"
        record.parent.mkdir()
        work(record, jobs)
        return self.let_in(name, site, record)

    def let_in(self, name: str, site: str, record: Path) -> Box:
        """The box whose record that is."""
        key = read_public_key(public_key_path(record))
        login = keeping.add_box(self.admin, name, site, key)
        return Box(name, record, *self.login(login))

    def login(self, login: Login) -> tuple[str, Path]:
        """Where to connect to as that role, and its password file."""
        file = self.folder / f"{login.role}.pass"
        file.write_text(login.line())
        file.chmod(0o600)
        return self.cluster.address(self.database, login.role), file

    def person(self, name: str, kind: Kind, *sites: str) -> Connection:
        """A person's own connection to the store."""
        for site in sites:
            keeping.add_site(self.admin, site)
        login = keeping.add_person(self.admin, name, name, kind, sites)
        store, file = self.login(login)
        return psycopg.connect(f"{store} passfile={file}", autocommit=True)

    def problems(self) -> list[str]:
        """What the check of the whole store names."""
        return [str(problem) for problem in verify_store(self.admin).problems]

    def counts(self) -> tuple[int, int]:
        """Jobs and events that the store holds."""
        row = self.admin.execute(
            "SELECT (SELECT count(*) FROM store.job), (SELECT count(*) FROM store.event)"
        ).fetchone()
        assert row is not None
        return row


def work(record: Path, jobs: int = 1, first: int = 1, at: str = MORNING, batches: int = 3) -> None:
    """So many jobs more, each of some batches of two events, sealed at the end."""
    clock = FixedClock(at)
    clock.advance(first * 3_600_000)
    with open_record(record, clock) as database:
        for number in range(first, first + jobs):
            log = SqliteLog(database, database.create_session(f"job-{number}"))
            for batch in range(batches):
                log.append(
                    [
                        Entry("said", {"text": f'Bring it up, {batch} µm: \\ "x"\n\t\x00 éß 😀'}),
                        Entry("heard", {"how": {"words": "yes"}, "batch": batch}),
                    ]
                )
        make_seal(database)


def events_of(record: Path) -> int:
    """How many events the record holds."""
    with open_for_reading(record) as database:
        return int(database.read("SELECT COUNT(*) AS n FROM event")[0]["n"])

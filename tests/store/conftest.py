"""A cluster for all tests of the store, an empty store for each, and boxes with records."""

from __future__ import annotations

import contextlib
import itertools
from collections.abc import Iterator
from pathlib import Path

import pytest
from psycopg import Connection

from companion.store.migrating import migrate
from tests.store.cluster import Cluster, is_there, running_cluster
from tests.store.yard import Yard

_numbers = itertools.count(1)


@pytest.fixture(scope="session")
def cluster() -> Iterator[Cluster]:
    if not is_there():
        pytest.skip("no PostgreSQL 15 or later: demo_scripts/set_up.sh dev installs it")
    # This server is never killed, and its machine never loses power: what waits for the disk in
    # making and dropping a store for each test proves nothing. Breaks have a server of their own.
    with running_cluster({"fsync": "off"}) as running:
        with running.admin() as admin:
            running.make_database("made")
            del admin
        with running.admin("made") as admin:
            migrate(admin)
        yield running


@pytest.fixture
def admin(cluster: Cluster) -> Iterator[Connection]:
    """The administrator of a fresh store."""
    with fresh_store(cluster) as connection:
        yield connection


@pytest.fixture(scope="module")
def cluster_store(
    cluster: Cluster, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Yard, Path]]:
    """A store for all tests of a module, and its folder."""
    folder = tmp_path_factory.mktemp("store")
    with fresh_store(cluster) as connection:
        yield Yard(cluster, connection, folder), folder


@contextlib.contextmanager
def fresh_store(cluster: Cluster) -> Iterator[Connection]:
    """The administrator of an empty store, which goes afterwards."""
    name = cluster.make_database(f"store_{next(_numbers)}", template="made")
    with cluster.admin(name) as connection:
        # Rights on a database do not go with its template.
        connection.execute(f"REVOKE ALL ON DATABASE {name} FROM PUBLIC".encode())
        connection.execute(
            f"GRANT CONNECT ON DATABASE {name} TO companion_box, companion_supervisor, "
            "companion_auditor, companion_keeper, companion_technician".encode()
        )
        connection.execute(f"GRANT TEMPORARY ON DATABASE {name} TO companion_owner".encode())
        yield connection
    cluster.drop_database(name)


@pytest.fixture
def yard(cluster: Cluster, admin: Connection, tmp_path: Path) -> Yard:
    return Yard(cluster, admin, tmp_path)

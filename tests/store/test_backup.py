"""Copies of the store by the engine's own tools: put back elsewhere, they verify and go on."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

from companion.store.sealing import seal_store
from companion.store.verifying import verify_store
from tests.store.cluster import Cluster, running_cluster
from tests.store.yard import Box, Yard, work


def _moved(box: Box, yard: Yard, cluster: Cluster) -> Box:
    """The box with the address of the store that was put back."""
    store = box.store.replace(str(yard.cluster.sockets), str(cluster.sockets))
    return Box(box.name, box.record, store, box.password_file)


def test_a_dump_is_restored_into_an_empty_cluster_and_goes_on(yard: Yard) -> None:
    box = yard.box(jobs=2)
    box.ship()
    seal = seal_store(yard.admin)
    place = Path(tempfile.mkdtemp(prefix="dump-"))
    place.chmod(0o777)
    at = ("-h", str(yard.cluster.sockets), "-U", "store_admin")
    try:
        yard.cluster.run("pg_dumpall", *at, "--roles-only", "-f", str(place / "roles.sql"))
        yard.cluster.run("pg_dump", *at, "-Fc", "-f", str(place / "dump"), yard.database)
        with running_cluster() as other:
            there = ("-h", str(other.sockets), "-U", "store_admin")
            # The administrator is there already; every other role is made.
            other.run("psql", *there, "-q", "-f", str(place / "roles.sql"), "postgres")
            other.run("pg_restore", *there, "-C", "--exit-on-error", "-d", "postgres",
                      str(place / "dump"))  # fmt: skip
            with other.admin(yard.database) as restored:
                assert verify_store(restored, seal).problems == []
                work(box.record, first=3)
                assert _moved(box, yard, other).ship().events == 6
                assert verify_store(restored, seal).problems == []
    finally:
        shutil.rmtree(place)


def test_a_base_backup_starts_as_a_cluster_of_its_own(yard: Yard) -> None:
    box = yard.box()
    box.ship()
    place = Path(tempfile.mkdtemp(prefix="base-"))
    owner = yard.cluster.data.stat()
    os.chown(place, owner.st_uid, owner.st_gid)
    place.chmod(0o755)
    other = Cluster(place)
    try:
        yard.cluster.run(
            *("pg_basebackup", "-h", str(yard.cluster.sockets), "-U", "store_admin"),
            *("-D", str(other.data), "-c", "fast"),
        )
        other.sockets.mkdir()
        os.chown(other.sockets, owner.st_uid, owner.st_gid)
        with (other.data / "postgresql.conf").open("a") as file:
            file.write(f"unix_socket_directories = '{other.sockets}'\n")
        other.start()
        with other.admin(yard.database) as copied:
            assert verify_store(copied).problems == []
            work(box.record, first=2)
            assert _moved(box, yard, other).ship().events == 6
            assert verify_store(copied).problems == []
    finally:
        other.stop()
        shutil.rmtree(place)

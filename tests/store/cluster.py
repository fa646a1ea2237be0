"""A PostgreSQL cluster of its own in a temporary folder, reached by a socket there alone."""

from __future__ import annotations

import contextlib
import os
import pwd
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg
from psycopg import Connection, sql

BINARIES = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda p: -int(p.parent.name))
ADMIN = "store_admin"
WAITED_S = 60.0


def is_there() -> bool:
    """Whether the server is installed here."""
    return bool(BINARIES) and int(BINARIES[0].parent.name) >= 15


def _user() -> pwd.struct_passwd | None:
    """Whom the server runs as: it refuses root."""
    return pwd.getpwnam("postgres") if os.geteuid() == 0 else None


class Cluster:
    """One server, ended by its own process id; made by `running_cluster`."""

    def __init__(self, folder: Path, settings: dict[str, str] | None = None) -> None:
        self.folder = folder
        self.data = folder / "data"
        self.sockets = folder / "s"
        self.settings = settings or {}
        self.port = 5432
        self._process: subprocess.Popen[bytes] | None = None

    def make(self) -> None:
        """Lay out the files: the administrator by the socket alone, all others by password."""
        self.sockets.mkdir()
        if (user := _user()) is not None:
            for place in (self.folder, self.sockets):
                os.chown(place, user.pw_uid, user.pw_gid)
            self.sockets.chmod(0o755)
            self.folder.chmod(0o755)
        self._run(
            [
                *(str(BINARIES[0] / "initdb"), "-D", str(self.data), "-U", ADMIN, "--no-sync"),
                *("-E", "UTF8", "--locale=C.UTF-8", "--auth=trust"),
            ]
        )
        (self.data / "pg_hba.conf").write_text(
            f"local all {ADMIN} trust\nlocal replication {ADMIN} trust\n"
            "local all all scram-sha-256\n"
            "hostssl all all 127.0.0.1/32 scram-sha-256\n"
            "host all all 127.0.0.1/32 scram-sha-256\n"
        )
        settings = {
            "listen_addresses": "''",
            "unix_socket_directories": f"'{self.sockets}'",
            "max_connections": "200",
            "shared_buffers": "'256MB'",
            "log_min_messages": "warning",
            **self.settings,
        }
        with (self.data / "postgresql.conf").open("a") as file:
            file.writelines(f"{name} = {value}\n" for name, value in settings.items())

    def start(self) -> None:
        """Start the server and wait until it takes connections (after a crash it recovers)."""
        log = (self.folder / "log").open("ab")
        user = _user()
        self._process = subprocess.Popen(
            # Where it is now, not where it was made: a folder that is kept may be moved.
            [str(BINARIES[0] / "postgres"), "-D", str(self.data), "-k", str(self.sockets)],
            stdout=log,
            stderr=log,
            user=None if user is None else user.pw_uid,
            group=None if user is None else user.pw_gid,
            extra_groups=None if user is None else [],
            start_new_session=True,
        )
        log.close()
        until = time.monotonic() + WAITED_S
        while True:
            try:
                psycopg.connect(self.address("postgres")).close()
                return
            except psycopg.OperationalError:
                if self._process.poll() is not None or time.monotonic() > until:
                    raise RuntimeError((self.folder / "log").read_text()[-2000:]) from None
                time.sleep(0.03)

    def stop(self) -> None:
        """Stop it and wait."""
        self._end(signal.SIGINT)

    def kill(self) -> None:
        """End it as a power cut would: every process of it, at once."""
        if self._process is not None:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._end(signal.SIGKILL)

    def _end(self, how: signal.Signals) -> None:
        if self._process is not None and self._process.poll() is None:
            self._process.send_signal(how)
        if self._process is not None:
            self._process.wait(WAITED_S)
            self._process = None

    def address(self, database: str, role: str = ADMIN) -> str:
        """Where to connect to."""
        return f"host={self.sockets} port={self.port} dbname={database} user={role}"

    def admin(self, database: str = "postgres") -> Connection:
        """A connection of the administrator."""
        return psycopg.connect(self.address(database), autocommit=True)

    def make_database(self, name: str, template: str = "template0") -> str:
        """A database, empty or as another one is."""
        with self.admin() as connection:
            connection.execute(
                sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(
                    sql.Identifier(name), sql.Identifier(template)
                )
            )
        return name

    def drop_database(self, name: str) -> None:
        """Away with it, even while somebody is connected."""
        with self.admin() as connection:
            connection.execute(
                sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(name))
            )

    def run(self, program: str, *arguments: str) -> subprocess.CompletedProcess[bytes]:
        """One of the engine's own tools, as the server's user."""
        return self._run([str(BINARIES[0] / program), *arguments])

    def _run(self, command: list[str]) -> subprocess.CompletedProcess[bytes]:
        user = _user()
        return subprocess.run(
            command,
            check=True,
            capture_output=True,
            cwd="/",
            user=None if user is None else user.pw_uid,
            group=None if user is None else user.pw_gid,
            extra_groups=None if user is None else [],
        )


@contextlib.contextmanager
def running_cluster(
    settings: dict[str, str] | None = None, folder: Path | None = None
) -> Iterator[Cluster]:
    """A cluster that runs; its folder goes with it."""
    place = Path(tempfile.mkdtemp(prefix="store-", dir=folder))
    cluster = Cluster(place, settings)
    try:
        cluster.make()
        cluster.start()
        yield cluster
    finally:
        cluster.stop()
        shutil.rmtree(place, ignore_errors=True)

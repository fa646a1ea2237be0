"""The shape of the store, as numbered SQL files that are added to and never edited."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from psycopg import Connection

from companion.errors import CompanionError
from companion.record.canonical import sha256_hex

FOLDER = Path(__file__).parent / "migrations"
_NAME = re.compile(r"(\d{4})_([a-z0-9_]+)\.sql")
LEAST_SERVER = 150_000
_VERSIONS = """
    CREATE TABLE IF NOT EXISTS store_version (
        number integer PRIMARY KEY, name text NOT NULL, sha256 text NOT NULL,
        applied timestamptz NOT NULL DEFAULT now()
    )
"""


@dataclass(frozen=True)
class Migration:
    """One step from a version of the store to the next; it runs in one transaction."""

    number: int
    name: str
    sql: str

    @property
    def sha256(self) -> str:
        """By which an edited step is known."""
        return sha256_hex(self.sql.encode("utf-8"))


@cache
def migrations() -> tuple[Migration, ...]:
    """Every step, in order."""
    found = []
    for path in sorted(FOLDER.glob("*.sql")):
        matched = _NAME.fullmatch(path.name)
        if matched is None:
            raise CompanionError(f"{path}: wanted: a name such as 0001_what_it_does.sql")
        found.append(Migration(int(matched[1]), matched[2], path.read_text("utf-8")))
    return tuple(found)


def migrate(connection: Connection) -> list[Migration]:
    """Bring the store up to date; the steps that were applied, none where it is.

    The connection's role makes roles and schemas (a superuser, or the database's owner with
    CREATEROLE). Raises `CompanionError` for a server or database that cannot hold a store, for one
    of a newer program, and where an applied step is another than this program's.
    """
    if connection.info.server_version < LEAST_SERVER:
        raise CompanionError(
            f"the server is PostgreSQL {connection.info.server_version // 10_000}; wanted: 15 or "
            "later"
        )
    with connection.transaction():
        (encoding,) = one(connection, "SHOW server_encoding")
        if encoding != "UTF8":
            raise CompanionError(f"the database's encoding is {encoding}; wanted: UTF8")
        connection.execute("SELECT pg_advisory_xact_lock(hashtext('companion_store_version'))")
        connection.execute(_VERSIONS)
        applied: dict[int, str] = dict(
            connection.execute("SELECT number, sha256 FROM store_version").fetchall()
        )
        known = {step.number: step for step in migrations()}
        for number, sha256 in applied.items():
            if number not in known:
                raise CompanionError(
                    f"the store has version {number}, this program knows up to {max(known)}; use "
                    "the newer program that made it"
                )
            if known[number].sha256 != sha256:
                raise CompanionError(
                    f"step {number} of the store is another than this program's; it was edited"
                )
        pending = [step for step in migrations() if step.number not in applied]
        for step in pending:
            # The same roles serve every store of the cluster: two are not made side by side.
            connection.execute("SELECT pg_advisory_xact_lock(hashtext('companion_store_roles'))")
            connection.execute(step.sql.encode("utf-8"))
            connection.execute(
                "INSERT INTO store_version (number, name, sha256) VALUES (%s, %s, %s)",
                (step.number, step.name, step.sha256),
            )
        return pending


def one(connection: Connection, query: str, values: tuple[object, ...] = ()) -> tuple[Any, ...]:
    """The one row of a query."""
    row = connection.execute(query.encode("utf-8"), values).fetchone()
    if row is None:
        raise CompanionError("the store gave no answer where it has to; is it being changed?")
    return row

"""Connections of the program that shows pages; each request acts as one person, for its time."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

from psycopg import Connection, sql
from psycopg_pool import ConnectionPool, PoolTimeout

from companion.store.connecting import NotReached, address, speaking_plainly

MOST_CONNECTIONS = 12
WAITED_S = 10.0
PAGES = "companion_pages"
_READING = "SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY; "
_AS = sql.SQL("SET LOCAL ROLE {}")


class Pool:
    """A few connections, opened when they are needed and opened again when they broke."""

    def __init__(self, store: str, password_file: Path | None) -> None:
        self._pool = ConnectionPool(
            address(store, password_file),
            min_size=1,
            max_size=MOST_CONNECTIONS,
            open=False,
            timeout=WAITED_S,
            check=ConnectionPool.check_connection,
        )

    def open(self) -> None:
        """Connect; raises `NotReached`."""
        with speaking_plainly():
            try:
                self._pool.open(wait=True, timeout=WAITED_S)
            except PoolTimeout as error:
                self._pool.close()
                raise NotReached(
                    f"the store cannot be reached: {error}",
                    said="store-not-reached",
                    why=str(error),
                ) from error

    def close(self) -> None:
        """Let go of every connection."""
        self._pool.close()

    @contextlib.contextmanager
    def acting_as(self, role: str, *, writing: bool = False) -> Iterator[Connection]:
        """One transaction with the rights of that role and no others.

        Raises `NotReached`, and `StoreError` where the store refuses.
        """
        with speaking_plainly():
            try:
                with self._pool.connection() as connection, connection.transaction():
                    # In one go: each way to the engine and back is waited for.
                    begin = sql.SQL("" if writing else _READING) + _AS.format(sql.Identifier(role))
                    connection.execute(begin)
                    yield connection
            except PoolTimeout as error:
                raise NotReached(
                    "the store is busy or cannot be reached; try again in a moment",
                    said="store-busy",
                ) from error

    @contextlib.contextmanager
    def letting_in(self) -> Iterator[Connection]:
        """A connection that looks after passwords and sessions; each statement stands by itself."""
        with speaking_plainly():
            try:
                with self._pool.connection() as connection:
                    connection.autocommit = True
                    try:
                        connection.execute(sql.SQL("SET ROLE {}").format(sql.Identifier(PAGES)))
                        yield connection
                    finally:
                        connection.execute("RESET ROLE")
                        connection.autocommit = False
            except PoolTimeout as error:
                raise NotReached(
                    "the store is busy or cannot be reached; try again in a moment",
                    said="store-busy",
                ) from error

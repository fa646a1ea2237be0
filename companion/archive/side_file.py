"""A database beside the record that holds nothing which the record does not hold.

It may be deleted at any time, and is made anew where it is damaged, of another format or has
anything in it that is not made here. Any number of programs and threads may open it at once.
"""

from __future__ import annotations

import contextlib
import errno
import os
import sqlite3
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import TypeVar

from companion.archive.damaged import is_damage, kind_of, made_anew, times_made_anew
from companion.errors import DiskFull, RecordError
from companion.record.database import no_room
from companion.record.lock import require_own_files_beside

BUSY_TIMEOUT_S = 20.0
BETWEEN_TRIES_S = 0.01

# What ANALYZE leaves is no stranger's; anything else of a name like SQLite's own may be.
_OBJECTS = (
    "SELECT type, name, tbl_name, sql FROM sqlite_schema "
    "WHERE NOT (type = 'table' AND name IN ('sqlite_stat1', 'sqlite_stat4')) ORDER BY type, name"
)
_STRANGERS = "SELECT type, name FROM sqlite_schema WHERE type IN ('trigger', 'view')"
_TABLES = "SELECT name FROM sqlite_schema WHERE type = 'table' AND substr(name, 1, 7) <> 'sqlite_'"
_VIRTUAL = f"{_TABLES} AND sql LIKE 'CREATE VIRTUAL%'"


Refresh = Callable[[sqlite3.Connection], object]
Answer = TypeVar("Answer")


class NotThere(RecordError):
    """The file cannot be kept at its place."""


class Damaged(RecordError):
    """The file at `path` is no sound database."""

    def __init__(self, path: Path | None, told: str) -> None:
        self.path = path
        super().__init__(told)


@dataclass(frozen=True)
class SideFile:
    """One kind of such a file.

    Attributes:
        what: what it is to the record, as an error tells it ("the index of the record").
        application_id: the number in its header that says whose it is.
        format: counted up when the schema or what is kept changes.
        schema: the statements that make it.
    """

    what: str
    application_id: int
    format: int
    schema: tuple[str, ...]

    def open(self, path: Path | None) -> sqlite3.Connection:
        """The file at that path, made where there is none; None keeps it in memory.

        Raises `RecordError` when the file there is something else: it is never overwritten;
        `DiskFull` when there is no room, `NotThere` where nothing may be written. A damaged one of
        this kind is made anew.
        """
        return self.mending(path, lambda: self._opened(path))

    def mending(
        self, path: Path | None, asked: Callable[[], Answer], refresh: Refresh | None = None
    ) -> Answer:
        """The answer out of the file at that path, which is made anew where it proves damaged.

        `refresh` brings the new one up to date before others see it. Raises `NotThere` where it is
        damaged and cannot be made anew.
        """
        before = times_made_anew()
        try:
            return asked()
        except Damaged as error:
            if path is None or error.path != path or not self._made_anew(path, before, refresh):
                raise
        try:
            return asked()
        except Damaged as error:
            raise NotThere(str(error)) from error

    def _made_anew(self, path: Path, before: int, refresh: Refresh | None) -> bool:
        """Whether a damaged file was one of this kind; raises `NotThere` where it stays damaged."""
        fill = partial(self.make_anew, refresh=refresh)
        try:
            return made_anew(path, self.application_id, fill, before, BUSY_TIMEOUT_S)
        except (OSError, sqlite3.Error) as error:
            raise NotThere(
                f"{path}: is damaged and cannot be made anew as {self.what} ({error})"
            ) from error

    def _opened(self, path: Path | None) -> sqlite3.Connection:
        if path is not None:
            try:
                require_own_files_beside(path)
                _require_file(path)
            except OSError as error:
                raise NotThere(
                    f"{path}: cannot be written as {self.what} ({error.strerror})"
                ) from error
        with self.speaking_plainly(path):
            connection = sqlite3.connect(
                path or ":memory:", timeout=BUSY_TIMEOUT_S, isolation_level=None
            )
            try:
                self._prepare(connection)
            except BaseException:
                connection.close()
                raise
        return connection

    @contextlib.contextmanager
    def kept(self, path: Path, refresh: Refresh) -> Iterator[sqlite3.Connection]:
        """The file at that path, brought up to date by `refresh`.

        Where it cannot be written or there is no room, it is made in memory, for this opening
        alone. Raises `RecordError` when the file there is something else, and `Damaged` where that
        shows only in what is asked of it; the next opening has it made anew.
        """
        try:
            connection = self.mending(path, lambda: self._up_to_date(path, refresh), refresh)
        except (NotThere, DiskFull):
            connection = self._up_to_date(None, refresh)
        before = times_made_anew()
        try:
            with contextlib.closing(connection), self.speaking_plainly(path):
                yield connection
        except Damaged as error:
            if error.path == path:
                with contextlib.suppress(RecordError):
                    self._made_anew(path, before, refresh)
            raise

    def _up_to_date(self, path: Path | None, refresh: Refresh) -> sqlite3.Connection:
        connection = self._opened(path)
        try:
            with self.speaking_plainly(path):
                refresh(connection)
        except BaseException:
            connection.close()
            raise
        return connection

    @contextlib.contextmanager
    def speaking_plainly(self, path: Path | None) -> Iterator[None]:
        """Turn SQLite's errors into one that names the file and says what to do."""
        try:
            yield
        except sqlite3.Error as error:
            if no_room(error):
                raise DiskFull(f"{path}: there is no room for it") from error
            if _is_busy(error):
                raise RecordError(
                    f"{path}: another program is bringing it up to date; try again in a moment",
                    said="index-busy",
                    file=str(path),
                ) from error
            told = (
                f"{path}: cannot be used as {self.what} ({error}); it holds nothing "
                "that is not in the record: delete it, and it is rebuilt"
            )
            raise (Damaged(path, told) if is_damage(error) else RecordError(told)) from error

    def make_anew(self, connection: sqlite3.Connection, refresh: Refresh | None) -> None:
        """Forget everything, and have `refresh` take it from the record."""
        with writing(connection):
            self.start_afresh(connection)
        if refresh is not None:
            refresh(connection)

    def start_afresh(self, connection: sqlite3.Connection) -> None:
        """Forget everything, also what somebody else put in; within a transaction."""
        # A virtual table goes before the tables that belong to it.
        found = connection.execute(_STRANGERS).fetchall()
        found += [("table", name) for (name,) in connection.execute(_VIRTUAL)]
        for kind, name in found:
            connection.execute(f"DROP {kind} IF EXISTS {_quoted(name)}")
        for (name,) in connection.execute(_TABLES).fetchall():
            connection.execute(f"DROP TABLE IF EXISTS {_quoted(name)}")
        for statement in self.schema:
            connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {self.application_id}")
        connection.execute(f"PRAGMA user_version = {self.format}")

    def _prepare(self, connection: sqlite3.Connection) -> None:
        _write_ahead(connection)
        # What a power cut takes away is made again from the record.
        connection.execute("PRAGMA synchronous = OFF")
        if self._is_ready(connection):
            return
        with writing(connection):
            # Another program may have made it meanwhile.
            if not self._is_ready(connection):
                self.start_afresh(connection)

    def _is_ready(self, connection: sqlite3.Connection) -> bool:
        if connection.execute("SELECT COUNT(*) FROM sqlite_schema").fetchone()[0] == 0:
            return False
        if connection.execute("PRAGMA application_id").fetchone()[0] != self.application_id:
            raise sqlite3.DatabaseError("it is a database of another program")
        if connection.execute("PRAGMA user_version").fetchone()[0] != self.format:
            return False
        return connection.execute(_OBJECTS).fetchall() == _objects_of(self.schema)


def _require_file(path: Path) -> None:
    """Make the file where there is none; raises `OSError` where it may not be written.

    The words of a job are personal data: the file is for its owner alone. It is not opened:
    closing it again would let go of the locks of this program's other connections (`changes`).
    """
    with contextlib.suppress(FileExistsError):
        os.mknod(path, 0o600)
    if path.is_symlink():
        raise OSError(errno.ELOOP, "is a link to another place", str(path))
    # SQLite writes a log beside it.
    if not (os.access(path, os.R_OK | os.W_OK) and os.access(path.parent, os.W_OK)):
        raise PermissionError(errno.EACCES, "may not be written", str(path))


@contextlib.contextmanager
def writing(connection: sqlite3.Connection) -> Iterator[None]:
    """One transaction: kept whole when the block ends, undone when it raises."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
    except BaseException:
        # Where the disk is full SQLite has done so already.
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    connection.execute("COMMIT")


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Keep a write-ahead log.

    SQLite does not wait its timeout where two connections change this at once: one of them is
    refused straight away.
    """
    until_s = time.monotonic() + BUSY_TIMEOUT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if not _is_busy(error) or time.monotonic() > until_s:
                raise
        time.sleep(BETWEEN_TRIES_S)


def _is_busy(error: sqlite3.Error) -> bool:
    return kind_of(error) in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


@cache
def _objects_of(schema: tuple[str, ...]) -> list[tuple[str, ...]]:
    with contextlib.closing(sqlite3.connect(":memory:")) as made:
        for statement in schema:
            made.execute(statement)
        return made.execute(_OBJECTS).fetchall()


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'

"""The record file: one SQLite database, opened by one writer or by any number of readers."""

from __future__ import annotations

import contextlib
import secrets
import sqlite3
import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from companion.errors import DiskFull, RecordError
from companion.record import rows
from companion.record.box import Marker, box_key
from companion.record.canonical import opening_hash
from companion.record.clock import SystemClock
from companion.record.guards import schema_problems
from companion.record.lock import WriterLock, require_no_link, require_own_files_beside
from companion.record.migrations import APPLICATION_ID, MIGRATIONS, SCHEMA_VERSION_TABLE
from companion.record.place import beside
from companion.record.port import Clock, StoredEvent
from companion.record.soundness import (
    left_as,
    read_note,
    require_ends_whole,
    require_whole,
)
from companion.record.tables import sqlite_utils

BUSY_TIMEOUT_S = 5.0
_NO_ROOM = frozenset(
    {sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_SHMSIZE}
)
"""How SQLite says that the disk, a quota or a limit on files takes no more."""
_DAMAGED = frozenset({sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_IOERR})
_PRIMARY = 0xFF
"""The part of SQLite's code that names the kind of error."""


_SESSIONS = """
    SELECT session.id, opened_utc, last.seq AS event_count, last.hash
    FROM session LEFT JOIN event AS last ON last.session_id = session.id
      AND last.seq = (SELECT MAX(seq) FROM event WHERE session_id = session.id)
"""
OFFICE = "office"
"""The session that is no job: who may sign, and what else concerns them all (`office`)."""
# The order of their making is that of the rows: dates may be wrong, and none is ever deleted.
_JOBS = f"{_SESSIONS} WHERE session.id <> '{OFFICE}' ORDER BY session.rowid"
_JOB_IDS = f"SELECT id FROM session WHERE id <> '{OFFICE}' ORDER BY rowid DESC"  # noqa: S608


@dataclass(frozen=True)
class Session:
    """One session as the file lists it; `head_hash` is its last event's (or opening) hash."""

    session_id: str
    opened_utc: str
    event_count: int
    head_hash: str


class Database:
    """An open record file. It belongs to the thread that opened it, and says so otherwise.

    Made by `open_record` (the one writer) or `open_for_reading`; a context manager.
    """

    def __init__(
        self,
        path: Path,
        connection: sqlite3.Connection,
        clock: Clock,
        lock: WriterLock | None,
        checked: datetime | None = None,
        marker: Marker | None = None,
    ) -> None:
        self.path = path
        self.clock = clock
        self._checked = checked
        self._tables = sqlite_utils.Database(connection, execute_plugins=False)
        self._lock = lock
        self._marker = marker
        self._owner = threading.get_ident()

    @property
    def read_only(self) -> bool:
        """Whether this opening may only read."""
        return self._lock is None

    @property
    def marker(self) -> Marker:
        """What signs each batch for the box; there is one while the record is open to write."""
        if self._marker is None:
            raise RecordError(f"{self.path}: open for reading only; open_record opens to write")
        return self._marker

    def create_session(self, session_id: str | None = None) -> str:
        """Open a session and return its id (made from the time and a random part)."""
        opened_utc = self.clock.now().at_utc
        moment = "".join(filter(str.isdigit, opened_utc[:19]))
        fresh_id = session_id or f"{moment[:8]}-{moment[8:]}-{secrets.token_hex(4)}"
        with self.writing() as tables:
            rows.insert(tables, "session", {"id": fresh_id, "opened_utc": opened_utc}, ("id",))
            self.marker.mark(tables, "opened", fresh_id, 0, opening_hash(fresh_id, opened_utc))
        return fresh_id

    def sessions(self) -> tuple[Session, ...]:
        """Every job's session, in the order in which they were opened."""
        return tuple(_session_of_row(row) for row in self.read(_JOBS))

    def newest_first(self) -> Iterator[Session]:
        """Every job's session, the latest first; each is looked up when somebody comes to it."""
        for row in self.read(_JOB_IDS):
            yield self.session(row["id"])

    def last_session_id(self) -> str | None:
        """The job's session that was opened last; None while there is none."""
        found = self.read(f"{_JOB_IDS} LIMIT 1")
        return found[0]["id"] if found else None

    def session(self, session_id: str) -> Session:
        """That session; raises `RecordError` naming the file when it is not in it."""
        found = self.read(f"{_SESSIONS} WHERE session.id = ?", (session_id,))
        if not found:
            raise RecordError(
                f"{self.path}: holds no session {session_id!r}; 'companion review list' shows them",
                said="no-session",
                record=str(self.path),
                session=session_id,
            )
        return _session_of_row(found[0])

    def events(self, session_id: str) -> Iterator[StoredEvent]:
        """The session's events in order.

        Raises `RecordError` for an unknown session and naming the first event that is damaged.
        """
        # Broken text is named by its event, not by SQLite.
        found = self.read_what_can_be_read(
            "SELECT * FROM event WHERE session_id = ? ORDER BY seq", (session_id,)
        )
        if not found:
            self.session(session_id)
        return iter(tuple(rows.event_of_row(row, self.path) for row in found))

    def read(self, sql: str, parameters: tuple[Any, ...] = ()) -> list[dict[str, Any]]:
        """Rows of a query; for the record's own modules."""
        with self._speaking_plainly("read"):
            return list(self._tables.query(sql, parameters))

    def read_what_can_be_read(
        self, sql: str, parameters: tuple[Any, ...] = ()
    ) -> list[dict[str, Any]]:
        """The same, with `rows.BrokenText` where text is not UTF-8 rather than an error."""
        try:
            return self.read(sql, parameters)
        except RecordError:
            connection = self._tables.conn
            connection.text_factory = rows.text_as_far_as_readable
            try:
                return self.read(sql, parameters)
            finally:
                connection.text_factory = str

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite_utils.Database]:
        """One transaction: kept whole when the block ends, undone whole when it raises."""
        if self._lock is None:
            raise RecordError(f"{self.path}: open for reading only; open_record opens to write")
        with self._speaking_plainly("write"), self._tables.atomic():
            self._lock.require_held()
            yield self._tables

    def close(self) -> None:
        """Close the file and let another writer in; closing twice is harmless."""
        self._require_own_thread()
        self._tables.close()
        if self._lock is not None:
            self._lock.release(self._left_as())

    def _left_as(self) -> str:
        """The note to the next program that opens it; none if anything went wrong with the file."""
        left = None if self._checked is None else left_as(self.path, self._checked)
        return "" if left is None else left.note()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _require_own_thread(self) -> None:
        if threading.get_ident() != self._owner:
            raise RecordError(
                f"{self.path}: this opening belongs to another thread; "
                "send the entries to the thread that opened it, or open the file for reading"
            )

    @contextlib.contextmanager
    def _speaking_plainly(self, doing: str) -> Iterator[None]:
        self._require_own_thread()
        try:
            with speaking_plainly(self.path, doing):
                yield
        except RecordError as error:
            if _tells_of_damage(error.__cause__):
                self._checked = None
            raise


def _tells_of_damage(cause: BaseException | None) -> bool:
    code = getattr(cause, "sqlite_errorcode", None)
    return code is not None and code & _PRIMARY in _DAMAGED


def _session_of_row(row: Mapping[str, Any]) -> Session:
    return Session(
        row["id"],
        row["opened_utc"],
        row["event_count"] or 0,
        row["hash"] or opening_hash(row["id"], row["opened_utc"]),
    )


def no_room(error: Exception) -> bool:
    """Whether SQLite says by this that the disk takes no more."""
    return getattr(error, "sqlite_errorcode", None) in _NO_ROOM


@contextlib.contextmanager
def speaking_plainly(path: Path, doing: str) -> Iterator[None]:
    """Turn SQLite's errors into a `RecordError` that names the file and what to do."""
    try:
        yield
    except (sqlite3.Error, UnicodeDecodeError) as error:
        # Errors of Python's own layer carry no code of SQLite's.
        kind = DiskFull if no_room(error) else RecordError
        raise kind(f"{path}: cannot {doing} the record ({error}); {_advice(error)}") from error


def _advice(error: Exception) -> str:
    text = str(error)
    if "append-only" in text:
        return "nothing was written; a record is only ever added to"
    if "full" in text:
        return "nothing was written; free some disk space, then carry on"
    if isinstance(error, UnicodeError) or "malformed" in text or "not a database" in text:
        return (
            "the file is damaged or no record; keep it and its -wal file aside for inspection "
            "and begin a new record file"
        )
    if "unable to open" in text:
        return "the file or its folder is not there or may not be read"
    return "nothing was written; check the disk and the file's permissions"


def open_record(path: Path, clock: Clock | None = None) -> Database:
    """Open the record file to write, making or upgrading it; one writer at a time.

    The file is checked in full where it is not as the last writer left it, where that one did
    not close it properly, or where the last full check is a day old; else only its ends
    (`soundness`).
    Raises `RecordError` when another writer has it, when it is damaged, not a record, or
    was written by a newer program, and when the disk refuses.
    """
    lock = WriterLock(path)
    now = datetime.now(UTC)
    try:
        left = read_note(lock.found)
        # Before SQLite opens it, which may already change the files.
        checked = left.checked if left is not None and left.holds(path, now) else None
        with speaking_plainly(path, "open"):
            connection = sqlite3.connect(path, timeout=BUSY_TIMEOUT_S)
            try:
                lock.require_held()
                _prepare(path, connection, in_full=checked is None)
                marker = Marker(path, box_key(path))
                chosen = clock or SystemClock()
                database = Database(path, connection, chosen, lock, checked or now, marker)
                _migrate(database)
                with database.writing() as tables:
                    marker.begin(tables)
            except BaseException:
                connection.close()
                raise
    except BaseException:
        lock.release()
        raise
    return database


def open_for_reading(path: Path) -> Database:
    """Open an existing record file to read; the writer may go on writing meanwhile.

    Raises `RecordError` when there is no such file, or it is damaged or not a record.
    """
    return Database(path, connect_to_read(path), SystemClock(), None)


def connect_to_read(path: Path) -> sqlite3.Connection:
    """A connection that can only read an existing record; raises as `open_for_reading` does."""
    require_no_link(path)
    if not path.is_file():
        raise RecordError(
            f"{path}: there is no such record file", said="no-record", record=str(path)
        )
    require_own_files_beside(path)
    address = path.resolve().as_uri()
    with speaking_plainly(path, "open"):
        connection = sqlite3.connect(f"{address}?mode=ro", uri=True, timeout=BUSY_TIMEOUT_S)
        try:
            _require_record(path, connection)
        except sqlite3.OperationalError:
            # In a folder that may not be written (an archive) or has no room, SQLite cannot make
            # the files it reads a write-ahead log through; without one there is nothing to miss.
            connection.close()
            log = beside(path, "-wal")
            if log.exists() and log.stat().st_size:
                raise
            connection = sqlite3.connect(f"{address}?immutable=1", uri=True)
            _require_record(path, connection)
        except BaseException:
            connection.close()
            raise
    return connection


def _prepare(path: Path, connection: sqlite3.Connection, *, in_full: bool) -> None:
    """Check that the file is a sound record or empty, and set how it is written."""
    if connection.execute("SELECT COUNT(*) FROM sqlite_schema").fetchone()[0]:
        _require_record(path, connection)
        _require_guards(path, connection)
        if in_full:
            require_whole(connection)
        else:
            require_ends_whole(path, connection)
    else:
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    if connection.execute("PRAGMA journal_mode = WAL").fetchone()[0] != "wal":
        raise RecordError(
            f"{path}: this disk cannot keep a write-ahead log; put the record on a local disk"
        )
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")


def _require_record(path: Path, connection: sqlite3.Connection) -> None:
    application_id = connection.execute("PRAGMA application_id").fetchone()[0]
    names = {row[0] for row in connection.execute("SELECT name FROM sqlite_schema")}
    if application_id != APPLICATION_ID or (names and "schema_version" not in names):
        raise RecordError(
            f"{path}: is a database, but not a record of this program; choose another file"
        )
    if names:
        newest = connection.execute("SELECT MAX(number) FROM schema_version").fetchone()[0]
        if newest is not None and newest > MIGRATIONS[-1].number:
            raise RecordError(
                f"{path}: has schema version {newest}, this program knows up to "
                f"{MIGRATIONS[-1].number}; use the newer program that wrote it"
            )


def _require_guards(path: Path, connection: sqlite3.Connection) -> None:
    """Nothing is written into a file that may not keep it."""
    for problem in schema_problems(connection):
        raise RecordError(
            f"{path}: {problem}; nothing is written into it: look at it with 'companion verify', "
            "keep it aside and go on from a backup, or with a new record file"
        )


def _migrate(database: Database) -> None:
    tables = database.read("SELECT name FROM sqlite_schema WHERE name = 'schema_version'")
    applied: Mapping[int, str] = (
        {row["number"]: row["name"] for row in database.read("SELECT * FROM schema_version")}
        if tables
        else {}
    )
    pending = [migration for migration in MIGRATIONS if migration.number not in applied]
    if not pending:
        return
    applied_utc = database.clock.now().at_utc
    with database.writing() as writing:
        if not tables:
            writing.execute(SCHEMA_VERSION_TABLE)
        for migration in pending:
            for statement in migration.statements:
                writing.execute(statement)
            row = {"number": migration.number, "name": migration.name, "applied_utc": applied_utc}
            rows.insert(writing, "schema_version", row, ("number",))

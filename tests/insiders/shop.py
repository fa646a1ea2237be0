"""A shop to be attacked, and what somebody can do who knows the code and may write its files.

The insider has the record, the clips, the index and the file of locked keys, takes guards off and
puts them back, makes chains and seals anew, and has any key but the box's and the others' own.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.archive.index_check import index_problems
from companion.archive.opening import open_archive
from companion.errors import RecordError
from companion.facts.afterwards import SignedOff
from companion.facts.car import Car
from companion.record import ClipStore, Entry, FixedClock, SqliteLog, clips_folder, open_record
from companion.record.afterwards import how_it_ended
from companion.record.audit.event_bytes import stored_hash
from companion.record.audit.keys import public_hex, read_public_key
from companion.record.audit.merkle import prefix_roots
from companion.record.audit.people import Cost, KeyRing
from companion.record.audit.seal import Leaf, Seal, make_seal
from companion.record.audit.verify import Outside, verify
from companion.record.box import NO_LINK, public_key_path, statement_of_mark
from companion.record.canonical import canonical_json, opening_hash
from companion.record.cars import CarStore, cars_folder
from companion.record.cars_kept import cars_left_over
from companion.record.clips import ClipStore as Clips
from companion.record.database import OFFICE, open_for_reading
from companion.record.enrolling import Office
from companion.record.finding import Finding
from companion.record.left_over import left_over
from companion.record.open_to_others import open_to_others
from companion.record.visits import open_visit
from companion.statistics.figures_check import figures_problems, open_summaries

CHEAP = Cost(passes=1, memory_kib=8, lanes=1)
JOBS = ("monday", "tuesday", "wednesday")
LATER = "thursday"


@dataclass(frozen=True)
class Shop:
    """Three jobs under a seal, the first signed by its supervisor, and one job after the seal."""

    path: Path
    seal: Seal
    box: str

    @property
    def clips(self) -> ClipStore:
        return ClipStore(clips_folder(self.path))

    @property
    def cars(self) -> CarStore:
        return CarStore(cars_folder(self.path))

    def copied(self, folder: Path) -> Shop:
        shutil.copytree(self.path.parent, folder, dirs_exist_ok=True, symlinks=True)
        return Shop(folder / self.path.name, self.seal, self.box)

    def named(self, *, seal: bool = False, box: bool = False) -> list[str]:
        """What a check says is wrong: of the record, of its index, of what lies among the clips."""
        kept = Outside(seal=self.seal if seal else None, boxes=frozenset({self.box} if box else ()))
        try:
            findings: list[Finding] = verify(self.path, self.clips, outside=kept)
            told = [str(finding) for finding in findings]
            if not findings:
                told += index_problems(self.path)
                told += figures_problems(self.path)
                lying = left_over(self.path, self.clips)
                told += [f"left over: {name}" for name in (*lying.orphans, *lying.remnants)]
                told += [f"left over: {name}" for name in lying.others]
                with open_for_reading(self.path) as database:
                    unkept = cars_left_over(database.events(OFFICE), self.cars)
                told += [f"left over: {name}" for name in unkept]
                told += [str(one) for one in open_to_others(self.path)]
        except RecordError as error:
            return [str(error)]
        return told

    @contextmanager
    def opened(self, *, guards_off: bool = True) -> Iterator[sqlite3.Connection]:
        """The file under the insider's hands: guards off meanwhile, and on again after it."""
        with closing(sqlite3.connect(self.path, isolation_level=None)) as db:
            guards = db.execute(
                "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
            ).fetchall()
            for name, _ in guards if guards_off else ():
                db.execute(f"DROP TRIGGER {name}")
            yield db
            for _, sql in guards if guards_off else ():
                db.execute(sql)
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            db.execute("PRAGMA journal_mode = DELETE")

    def does(self, *statements: str) -> None:
        with self.opened() as db:
            for statement in statements:
                db.execute(statement)


def build(folder: Path) -> Shop:
    """Made by the program itself."""
    path = folder / "bay.record"
    clips = Clips(clips_folder(path))
    with open_record(path, FixedClock("2031-05-01T08:00:00.000Z")) as database:
        office = Office(database, KeyRing(path, CHEAP))
        office.enrol("B. Sample", "supervisor", "730219", None)
        boss = office.signer("B. Sample", "730219", "sign")
        office.enrol("A. Example", "technician", "4711", boss)
        cars = CarStore(cars_folder(path))
        open_visit(database, cars, Car(order="4711", plate="EX 123"))
        open_visit(database, cars, Car(order="4712", plate="EX 124"))
        for place, name in enumerate(JOBS):
            _job(database, clips, name, place)
        log = SqliteLog(database, "monday")
        last = how_it_ended(log.events("monday")).last
        fact = SignedOff(by=boss.name, role=boss.role, how="pin", events=last.seq, head=last.hash)
        log.append([boss.signed_off("monday", fact)])
        database.create_session("empty")
        seal = make_seal(database)
        _job(database, clips, LATER, 9)
    with open_archive(path) as archive, open_summaries(archive):
        pass
    with closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA journal_mode = DELETE")
    return Shop(path, seal, read_public_key(public_key_path(path)))


def _job(database: Any, clips: ClipStore, name: str, place: int) -> None:
    log = SqliteLog(database, database.create_session(name), clips)
    sha256 = clips.put(bytes([place + 1, 1]) * 4000)
    log.append([Entry("opened", {"technician": "A. Example", "example": True})])
    for number in range(4):
        heard = {"words": f"seven {number}", "clip_sha256": sha256 if number == 1 else None}
        log.append([Entry("heard", heard), Entry("accepted", {"value": f"77{number}"})])
    twist = {"floor_twist_mm": {"value": 0.1 * place, "u": 0.2, "unit": "mm"}}
    log.append([Entry("computed", {"step_id": "floor", "outputs": twist})])
    log.append([Entry("finished", {"result": "inside"})])


# What the insider can make


def chained(db: sqlite3.Connection, session: str, change: Callable[[int, str, Any], Any]) -> None:
    """Make a session's chain anew, with each body as `change(seq, kind, body)` has it."""
    rows = db.execute(
        "SELECT seq, kind, at_utc, monotonic_ns, clock_trusted, body FROM event "
        "WHERE session_id = ? ORDER BY seq",
        (session,),
    ).fetchall()
    (opened,) = db.execute("SELECT opened_utc FROM session WHERE id = ?", (session,)).fetchone()
    head = opening_hash(session, opened)
    db.execute("DELETE FROM event WHERE session_id = ?", (session,))
    for seq, (_, kind, at, _mono, trusted, body) in enumerate(rows, start=1):
        head = put(db, session, kind, change(seq, kind, json.loads(body)), head, seq, at, trusted)


def put(
    db: sqlite3.Connection,
    session: str,
    kind: str,
    body: Mapping[str, Any],
    head: str,
    seq: int,
    at: str = "2031-05-02T08:00:00.000Z",
    trusted: int = 1,
) -> str:
    """One event with a hash that is right; gives the new head."""
    text = canonical_json(body)
    told = (session.encode(), seq, kind.encode(), at.encode(), seq, trusted, text, head.encode())
    made = stored_hash(*told).decode()
    db.execute(
        "INSERT INTO event VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (session, seq, kind, at, seq, trusted, text.decode(), head, made),
    )
    return made


def head_of(db: sqlite3.Connection, session: str) -> tuple[int, str]:
    row = db.execute(
        "SELECT seq, hash FROM event WHERE session_id = ? ORDER BY seq DESC LIMIT 1", (session,)
    ).fetchone()
    return row[0], row[1]


def add(
    db: sqlite3.Connection, session: str, kind: str, body: Mapping[str, Any]
) -> tuple[int, str]:
    """An event more at the end of a session; its number and hash."""
    seq, head = head_of(db, session)
    return seq + 1, put(db, session, kind, body, head, seq + 1)


def forge_job(db: sqlite3.Connection, name: str = "forged") -> tuple[int, str]:
    """A whole job that never was, with everything right but the box's mark."""
    opened = "2031-05-01T12:00:00.000Z"
    db.execute("INSERT INTO session VALUES (?, ?)", (name, opened))
    head = put(db, name, "opened", {"technician": "A. Example"}, opening_hash(name, opened), 1)
    return 2, put(db, name, "finished", {"result": "inside"}, head, 2)


def sign_all_marks(db: sqlite3.Connection, key: Ed25519PrivateKey, *, own_box: bool) -> None:
    """Make every mark anew with the insider's own key: under the box's name, or as a box."""
    public = public_hex(key)
    if own_box:
        db.execute("UPDATE box SET public_key = ?", (public,))
    (named,) = db.execute("SELECT public_key FROM box").fetchone()
    rows = db.execute(
        "SELECT number, what, session_id, seq, head FROM box_mark ORDER BY number"
    ).fetchall()
    link = NO_LINK
    for number, what, session, seq, head in rows:
        link = _sign(db, key, named, number, what, session, seq, head, link)


def seal_marks_anew(db: sqlite3.Connection) -> None:
    """The roots in the marks of seals, as they are over the heads that now stand."""
    rows = db.execute(
        "SELECT session_id, seq, hash, opened_utc FROM sealed_head "
        "LEFT JOIN event USING (session_id, seq) JOIN session ON session.id = session_id "
        "ORDER BY number"
    ).fetchall()
    leaves = [
        Leaf(session=session, seq=seq, head=head or opening_hash(session, opened)).hashed
        for session, seq, head, opened in rows
    ]
    for count, root in enumerate(prefix_roots(leaves)):
        db.execute(
            "UPDATE box_mark SET head = ? WHERE what = 'sealed' AND seq = ?", (root.hex(), count)
        )


def add_mark(
    db: sqlite3.Connection, key: Ed25519PrivateKey, session: str, seq: int, head: str
) -> None:
    """A mark under the box's name, chained as it should be, signed by another key."""
    rows = db.execute(
        "SELECT number, what, session_id, seq, head, previous, signature FROM box_mark "
        "ORDER BY number DESC LIMIT 1"
    ).fetchone()
    number, what, of, last_seq, last_head, previous, signature = rows
    (named,) = db.execute("SELECT public_key FROM box").fetchone()
    told = statement_of_mark(number, named, what, of, last_seq, last_head, previous)
    link = sha256(told + signature).digest()
    db.execute(
        "INSERT INTO box_mark SELECT ?, box, 'written', ?, ?, ?, previous, signature "
        "FROM box_mark WHERE number = ?",
        (number + 1, session, seq, head, number),
    )
    _sign(db, key, named, number + 1, "written", session, seq, head, link)


def _sign(
    db: sqlite3.Connection,
    key: Ed25519PrivateKey,
    named: str,
    number: int,
    what: str,
    session: str,
    seq: int,
    head: str,
    previous: bytes,
) -> bytes:
    told = statement_of_mark(number, named, what, session, seq, head, previous)
    signature = key.sign(told)
    db.execute(
        "UPDATE box_mark SET head = ?, previous = ?, signature = ? WHERE number = ?",
        (head, previous, signature, number),
    )
    return sha256(told + signature).digest()

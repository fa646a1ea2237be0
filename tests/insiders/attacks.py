"""What insiders may try, each with what has to be named, and by which check.

By the file alone (`verify`), against a seal kept elsewhere (`--seal`), against the box's public
key kept elsewhere (`--box-key`), or by a store that took it all before (`--store`). What none of
them names stands here too.
"""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import sqlite3
import struct
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from argon2 import PasswordHasher
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.archive.index import index_path
from companion.errors import RecordError
from companion.facts.afterwards import Signature, SignedOff
from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.record.afterwards import how_it_ended, statement
from companion.record.audit.keys import public_hex
from companion.record.audit.people import KeyRing
from companion.record.audit.seal import make_seal
from companion.record.box import key_path, public_key_path
from companion.record.cars_kept import let_cars_go
from companion.record.enrolling import Office
from companion.record.left_over import left_over
from companion.record.retention import expire_clips
from companion.record.soundness import journal_path
from companion.record.store_word import LastWord, keep
from companion.statistics.store import summaries_path
from tests.insiders.shop import (
    CHEAP,
    LATER,
    Shop,
    add,
    add_mark,
    chained,
    forge_job,
    head_of,
    put,
    seal_marks_anew,
    sign_all_marks,
)

ALONE, SEAL, BOX, STORE = "verify alone", "a seal", "the box's key", "a store"
NOBODY = ""


@dataclass(frozen=True)
class Attack:
    """One attack; `by` is the least that names it, `also` what else does by itself.

    `named` is part of what is said. What `ALONE` names is named whatever is kept elsewhere.
    `told`: what `verify` says of it all the same where nothing is wrong.
    """

    name: str
    does: Callable[[Shop], object]
    by: str
    named: str
    also: tuple[str, ...] = ()
    told: str = ""


def stranger() -> Ed25519PrivateKey:
    """Any key that the insider makes."""
    return Ed25519PrivateKey.generate()


def sql(*statements: str) -> Callable[[Shop], None]:
    return lambda shop: shop.does(*statements)


def with_file(change: Callable[[sqlite3.Connection], object]) -> Callable[[Shop], None]:
    def does(shop: Shop) -> None:
        with shop.opened() as db:
            change(db)

    return does


def schema(*statements: str) -> Callable[[Shop], None]:
    def does(shop: Shop) -> None:
        with shop.opened(guards_off=False) as db:
            db.execute("PRAGMA writable_schema = ON")
            for text in statements:
                db.execute(text)

    return does


def hidden_trigger(table: str, name: str, when: str = "") -> Callable[[Shop], None]:
    told = f"CREATE TRIGGER {name} BEFORE INSERT ON {table} {when} BEGIN SELECT RAISE(IGNORE); END"
    quoted = told.replace("'", "''")
    return schema(
        f"INSERT INTO sqlite_schema VALUES ('trigger', '{name}', '{table}', 0, '{quoted}')"
    )


def rewrites(session: str, *, marks: str = "") -> Callable[[Shop], None]:
    """A reading changed and the whole chain made anew; the marks left, or made anew too."""
    key = stranger()

    def change(db: sqlite3.Connection) -> None:
        chained(
            db, session, lambda seq, kind, body: {"value": "801"} if kind == "accepted" else body
        )
        if marks:
            seq, head = head_of(db, session)
            db.execute(
                "UPDATE box_mark SET head = ? WHERE session_id = ? AND seq = ?",
                (head, session, seq),
            )
            seal_marks_anew(db)
            sign_all_marks(db, key, own_box=marks == "another box")

    def does(shop: Shop) -> None:
        with shop.opened() as db:
            change(db)
        if marks == "another box":
            public_key_path(shop.path).write_text(public_hex(key) + "\n", encoding="ascii")

    return does


def adds(session: str, *, mark: bool = False) -> Callable[[Shop], None]:
    def change(db: sqlite3.Connection) -> None:
        seq, head = add(db, session, "noted", {"words": "he told me so"})
        if mark:
            add_mark(db, stranger(), session, seq, head)

    return with_file(change)


def claims(body: dict[str, Any]) -> Callable[[Shop], None]:
    """A sign-off put in by plain SQL."""

    def change(db: sqlite3.Connection) -> None:
        seq, head = head_of(db, "tuesday")
        told = {"by": "B. Sample", "role": "supervisor", "how": "pin", "events": seq, "head": head}
        add(db, "tuesday", "signed_off", {**told, "remark": "", "signature": None, **body})

    return with_file(change)


def signs_with_own_key(shop: Shop) -> None:
    key = stranger()

    def change(db: sqlite3.Connection) -> None:
        seq, head = head_of(db, "tuesday")
        fact = SignedOff(by="B. Sample", role="supervisor", how="pin", events=seq, head=head)
        value = key.sign(statement("tuesday", fact)).hex()
        signed = fact.model_copy(
            update={"signature": Signature(public_key=public_hex(key), value=value)}
        )
        add(db, "tuesday", "signed_off", signed.model_dump(mode="json"))

    with shop.opened() as db:
        change(db)


def moves_a_sign_off(db: sqlite3.Connection) -> None:
    (body,) = db.execute("SELECT body FROM event WHERE kind = 'signed_off'").fetchone()
    seq, head = head_of(db, "tuesday")
    add(db, "tuesday", "signed_off", json.loads(body) | {"events": seq, "head": head})


def enrols_himself(db: sqlite3.Connection) -> None:
    key = stranger()
    told = {"name": "C. Insider", "role": "supervisor", "public_key": public_hex(key)}
    signature = {"algorithm": "Ed25519", "public_key": public_hex(key), "value": "0" * 128}
    rest = {"instead_of": "", "vouched_by": "B. Sample", "own": signature, "vouch": signature}
    add(db, "office", "person_enrolled", told | rest)


def takes_out(session: str, *tables: str) -> Callable[[Shop], None]:
    columns = {"session": "id"}
    return sql(
        *(f"DELETE FROM {t} WHERE {columns.get(t, 'session_id')} = '{session}'" for t in tables)
    )


def swaps_clips(shop: Shop) -> None:
    one, other = sorted(shop.clips.folder.iterdir())[:2]
    shutil.copyfile(other, one)


def clip(shop: Shop) -> Path:
    return sorted(shop.clips.folder.iterdir())[0]


def links_a_clip(shop: Shop) -> None:
    large = shop.path.with_name("large")
    with large.open("wb") as file:
        file.truncate(3_000_000_000)
    one = clip(shop)
    one.unlink()
    one.symlink_to(large)


def pipes_a_clip(shop: Shop) -> None:
    one = clip(shop)
    one.unlink()
    os.mkfifo(one)


def plants(name: str) -> Callable[[Shop], object]:
    return lambda shop: (shop.clips.folder / name).write_bytes(b"somebody's voice")


def index(statement: str) -> Callable[[Shop], None]:
    def does(shop: Shop) -> None:
        with closing(sqlite3.connect(index_path(shop.path), isolation_level=None)) as db:
            db.create_function("casefolded", 1, str.casefold, deterministic=True)
            db.execute(statement)

    return does


def figures(statement: str) -> Callable[[Shop], None]:
    def does(shop: Shop) -> None:
        with closing(sqlite3.connect(summaries_path(shop.path), isolation_level=None)) as db:
            db.execute(statement)

    return does


def appends_bytes(shop: Shop) -> None:
    with shop.path.open("ab") as file:
        file.write(b"a letter of 18 KB " * 1024)


def without_unnamed_clips(shop: Shop) -> None:
    for unnamed in left_over(shop.path, shop.clips).orphans:
        shop.clips.remove(unnamed)


def older_file(shop: Shop) -> None:
    """As it was before the last job, every trace of that taken out: a rollback."""
    shop.does(
        "DELETE FROM box_mark WHERE number > "
        "(SELECT MAX(number) FROM box_mark WHERE what = 'sealed')",
        f"DELETE FROM event WHERE session_id = '{LATER}'",
        f"DELETE FROM session WHERE id = '{LATER}'",
    )
    without_unnamed_clips(shop)


def much_older_file(shop: Shop) -> None:
    """As it was before the second job."""
    with shop.opened() as db:
        (first,) = db.execute(
            "SELECT MIN(number) FROM box_mark WHERE session_id = 'tuesday'"
        ).fetchone()
        db.execute("DELETE FROM box_mark WHERE number >= ?", (first,))
        db.execute("DELETE FROM sealed_head")
        db.execute("DELETE FROM event WHERE session_id NOT IN ('monday', 'office')")
        db.execute("DELETE FROM event WHERE kind = 'signed_off'")
        db.execute("DELETE FROM session WHERE id NOT IN ('monday', 'office')")
    without_unnamed_clips(shop)


def older_version(shop: Shop) -> None:
    """Marks, people and their tables taken out, as if the version before had written it."""
    with shop.opened(guards_off=False) as db:
        for (name,) in db.execute(
            "SELECT name FROM sqlite_schema WHERE type = 'trigger'"
        ).fetchall():
            if name.startswith("box"):
                db.execute(f"DROP TRIGGER {name}")
        db.execute("DROP TABLE box_mark")
        db.execute("DROP TABLE box")
        db.execute("DELETE FROM schema_version WHERE number = 3")


def new_box(shop: Shop) -> None:
    """The box's key taken away, so that the box goes on with a new one and adopts a forged job."""
    with shop.opened() as db:
        forge_job(db)
    key_path(shop.path).unlink()
    public_key_path(shop.path).unlink()
    with open_record(shop.path, FixedClock()) as database:
        database.sessions()
    for name in ("-wal", "-shm"):
        shop.path.with_name(shop.path.name + name).unlink(missing_ok=True)


def with_the_box_s_key(shop: Shop) -> None:
    """What the service itself may do, no matter who runs it."""
    with open_record(shop.path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session("invented"))
        log.append([Entry("opened", {}), Entry("finished", {"result": "inside"})])


def seals_anew(shop: Shop) -> None:
    """A rewritten job under a seal made anew, by the program itself."""
    rewrites("tuesday")(shop)
    with open_record(shop.path, FixedClock()) as database:
        make_seal(database)


def links_the_folder(folder: Callable[[Shop], Path]) -> Callable[[Shop], None]:
    """The folder moved away and a link left in its place."""

    def does(shop: Shop) -> None:
        here = folder(shop)
        away = here.with_name("elsewhere")
        here.rename(away)
        here.symlink_to(away)

    return does


def links_the_file(file: Callable[[Path], Path]) -> Callable[[Shop], None]:
    def does(shop: Shop) -> None:
        here = file(shop.path)
        away = here.with_name("elsewhere")
        here.rename(away)
        here.symlink_to(away)

    return does


def puts_own_public_key(shop: Shop) -> None:
    public_key_path(shop.path).write_text(public_hex(stranger()) + "\n")


def into_the_log(shop: Shop) -> None:
    """A reading changed in the write-ahead log beside the file, which itself stays as it was."""
    with closing(sqlite3.connect(shop.path, isolation_level=None)) as db:
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA wal_autocheckpoint = 0")
        guards = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        db.execute("UPDATE event SET body = '{}' WHERE session_id = 'tuesday' AND seq = 3")
        for _, text in guards:
            db.execute(text)
        log = shop.path.with_name(shop.path.name + "-wal")
        kept = {file: file.read_bytes() for file in (shop.path, log)}
    for file, content in kept.items():
        file.write_bytes(content)


def lets_sound_go_and_puts_it_back(shop: Shop) -> None:
    one = clip(shop)
    content = one.read_bytes()
    with open_record(shop.path, FixedClock("2041-05-01T08:00:00.000Z")) as database:
        expire_clips(database, shop.clips, 30, "agreed")
    one.write_bytes(content)


def lets_a_car_go_and_puts_it_back(shop: Shop) -> None:
    one = car(shop)
    content = one.read_bytes()
    with open_record(shop.path, FixedClock("2041-05-01T08:00:00.000Z")) as database:
        let_cars_go(database, shop.cars, 30, "agreed")
    one.write_bytes(content)


def car(shop: Shop) -> Path:
    return sorted(shop.cars.folder.iterdir())[0]


def swaps_cars(shop: Shop) -> None:
    one, other = sorted(shop.cars.folder.iterdir())[:2]
    kept = one.read_bytes()
    shutil.copyfile(other, one)
    other.write_bytes(kept)


def other_plate(shop: Shop) -> None:
    one = car(shop)
    one.write_bytes(one.read_bytes().replace(b"EX 12", b"EX 92"))


def links_a_car(shop: Shop) -> None:
    large = shop.path.with_name("large")
    with large.open("wb") as file:
        file.truncate(3_000_000_000)
    one = car(shop)
    one.unlink()
    one.symlink_to(large)


def pipes_a_car(shop: Shop) -> None:
    one = car(shop)
    one.unlink()
    os.mkfifo(one)


def plants_a_car(name: str) -> Callable[[Shop], object]:
    return lambda shop: (shop.cars.folder / name).write_bytes(b"somebody's plate")


def closes_a_visit(db: sqlite3.Connection) -> None:
    add(db, "office", "visit_closed", {"visit": "20310501-1"})


def names_another_car(db: sqlite3.Connection) -> None:
    """The second visit told of with the first one's car, and the office's chain made anew."""
    named = [
        json.loads(body)["car_sha256"]
        for (body,) in db.execute("SELECT body FROM event WHERE kind = 'visit_opened' ORDER BY seq")
    ]

    def other(_seq: int, kind: str, body: Any) -> Any:
        return {**body, "car_sha256": named[0]} if kind == "visit_opened" else body

    chained(db, "office", other)


def lets_a_car_go_by_sql(shop: Shop) -> None:
    one = car(shop)
    with shop.opened() as db:
        add(db, "office", "cars_let_go", {"cars": [one.stem], "why": "agreed"})
    one.unlink()


def forges_a_tale(db: sqlite3.Connection) -> None:
    forge_job(db, "\x1b[2Jforged\nUnbroken: every event and clip is as it was written.")


def takes_the_wrong_pins_out(db: sqlite3.Connection) -> None:
    told = db.execute("SELECT MAX(seq) FROM event WHERE session_id = 'office'").fetchone()
    db.execute("DELETE FROM event WHERE session_id = 'office' AND seq = ?", told)


def replaces_by_a_link(shop: Shop) -> None:
    away = shop.path.with_name("away")
    shop.path.rename(away)
    shop.path.symlink_to(away)


def enters_a_box(shop: Shop) -> None:
    """A key of his own among the boxes, and as the public key that somebody will take away."""
    public = public_hex(stranger())
    with shop.opened() as db:
        db.execute("INSERT INTO box SELECT MAX(number) + 1, ? FROM box", (public,))
    public_key_path(shop.path).write_text(public + "\n", encoding="ascii")


def opens(name: Callable[[Shop], Path], mode: int) -> Callable[[Shop], None]:
    return lambda shop: name(shop).chmod(mode)


def lays_a_journal(shop: Shop) -> None:
    """An older page, which SQLite puts back for the next writer."""
    with shop.opened() as db:
        (page_bytes,) = db.execute("PRAGMA page_size").fetchone()
        (pages,) = db.execute("PRAGMA page_count").fetchone()
    page = shop.path.read_bytes()[-page_bytes:]
    nonce = 7
    summed = (nonce + sum(page[at] for at in range(page_bytes - 200, 0, -200))) % 2**32
    # SQLite's file format, 3: magic, records, nonce, pages at first, sector, page size.
    head = bytes.fromhex("d9d505f920a163d7") + struct.pack(
        ">IIIII", 1, nonce, pages, 512, page_bytes
    )
    told = struct.pack(">I", pages) + page + struct.pack(">I", summed)
    journal_path(shop.path).write_bytes(head.ljust(512, b"\0") + told)


def has_a_second_name(suffix: str) -> Callable[[Shop], None]:
    """What SQLite would write beside the record is another file's second name."""

    def does(shop: Shop) -> None:
        victim = shop.path.with_name("victim")
        victim.write_bytes(b"somebody's own file" * 100)
        os.link(victim, shop.path.with_name(shop.path.name + suffix))

    return does


def links_a_log(shop: Shop) -> None:
    shop.path.with_name(shop.path.name + "-wal").symlink_to(shop.path.with_name("victim"))


def lays_a_pipe(name: Callable[[Shop], Path]) -> Callable[[Shop], None]:
    def does(shop: Shop) -> None:
        name(shop).unlink()
        os.mkfifo(name(shop))

    return does


def lets_himself_in(shop: Shop) -> None:
    """A person of the form before keys put into the people's file; he then gives his PIN."""
    people = KeyRing(shop.path).path
    told = json.loads(people.read_text(encoding="utf-8"))
    hashed = PasswordHasher(1, 8, 1).hash("1234")
    told["people"] = [{"name": "C. Insider", "role": "supervisor", "pin_hash": hashed}]
    people.write_text(json.dumps(told), encoding="utf-8")
    with open_record(shop.path, FixedClock()) as database:
        signer = Office(database, KeyRing(shop.path, CHEAP)).signer("C. Insider", "1234", "sign")
        log = SqliteLog(database, "tuesday")
        last = how_it_ended(log.events("tuesday")).last
        fact = SignedOff(
            by=signer.name, role=signer.role, how="pin", events=last.seq, head=last.hash
        )
        log.append([signer.signed_off("tuesday", fact)])


def dates_the_schema(told: str) -> Callable[[Shop], None]:
    return sql(f"UPDATE schema_version SET applied_utc = '{told}' WHERE number = 1")


def forges_the_last_word(shop: Shop) -> None:
    """The box seems to have sent all it has, a minute ago."""
    keep(shop.path, LastWord("2031-05-03T08:00:00.000Z"))


def forgets_a_failed_pin(shop: Shop) -> None:
    """A wrong PIN is recorded, and taken out again with its mark."""
    with open_record(shop.path, FixedClock()) as database:
        office = Office(database, KeyRing(shop.path, CHEAP))
        with contextlib.suppress(RecordError):
            office.signer("B. Sample", "0000", "sign")
    with shop.opened() as db:
        db.execute(
            "DELETE FROM event WHERE session_id = 'office' AND seq = "
            "(SELECT MAX(seq) FROM event WHERE session_id = 'office')"
        )
        db.execute("DELETE FROM box_mark WHERE number = (SELECT MAX(number) FROM box_mark)")


def swaps_order(db: sqlite3.Connection) -> None:
    places = dict(db.execute("SELECT id, rowid FROM session").fetchall())
    for name, place in (
        ("monday", 900),
        ("tuesday", places["monday"]),
        ("monday", places["tuesday"]),
    ):
        db.execute("UPDATE session SET rowid = ? WHERE id = ?", (place, name))


def respells(db: sqlite3.Connection) -> None:
    seq, head = head_of(db, LATER)
    del head
    (body,) = db.execute(
        "SELECT body FROM event WHERE session_id = ? AND seq = ?", (LATER, seq)
    ).fetchone()
    db.execute(
        "UPDATE event SET body = ? WHERE session_id = ? AND seq = ?",
        (body.replace(":", ": "), LATER, seq),
    )


def inserts_between(db: sqlite3.Connection) -> None:
    db.execute("UPDATE event SET seq = seq + 100 WHERE session_id = ? AND seq > 3", (LATER,))


ATTACKS: tuple[Attack, ...] = (
    # The guards
    Attack("a trigger named sqlite_… swallows sign-offs", hidden_trigger("event", "sqlite_x", "WHEN NEW.kind = 'signed_off'"), ALONE, "the file: 'sqlite_x' is no part"),
    Attack("a trigger named like an index of SQLite's own", hidden_trigger("event", "sqlite_autoindex_event_1"), ALONE, "no part of a record"),
    Attack("a trigger swallows seals", hidden_trigger("sealed_head", "sqlite_y"), ALONE, "no part of a record"),
    Attack("a trigger swallows the box's marks", sql("CREATE TRIGGER quiet BEFORE INSERT ON box_mark BEGIN SELECT RAISE(IGNORE); END"), ALONE, "'quiet'"),
    Attack("a guard taken off", schema("DELETE FROM sqlite_schema WHERE name = 'event_is_never_changed'"), ALONE, "taken off"),
    Attack("a guard made harmless under its name", schema("UPDATE sqlite_schema SET sql = replace(sql, 'RAISE(ABORT, ''append-only: an event is never changed'')', '1') WHERE name = 'event_is_never_changed'"), ALONE, "altered"),
    Attack("a text of the schema changed", schema("UPDATE sqlite_schema SET sql = sql || ' ' WHERE name = 'event'"), ALONE, "altered"),
    Attack("a view put in", sql("CREATE VIEW x AS SELECT * FROM event"), ALONE, "no part of a record"),
    Attack("a table put in", sql("CREATE TABLE notes (n TEXT)"), ALONE, "no part of a record"),
    Attack("user_version set", sql("PRAGMA user_version = 5"), ALONE, "user version"),
    Attack("the name of a schema version changed", sql("UPDATE schema_version SET name = 'x' WHERE number = 2"), ALONE, "schema versions"),
    Attack("18 KB appended to the file", appends_bytes, ALONE, "bytes follow its end"),
    # Events
    Attack("a reading changed", sql("UPDATE event SET body = '{\"value\":\"801\"}' WHERE session_id = 'tuesday' AND seq = 3"), ALONE, "session tuesday, event 3"),
    Attack("the date of an event changed", sql(f"UPDATE event SET at_utc = '2031-04-01T08:00:00.000Z' WHERE session_id = '{LATER}' AND seq = 2"), ALONE, "event 2"),
    Attack("a clock made trusted", sql("UPDATE event SET clock_trusted = 0 WHERE session_id = 'monday' AND seq = 1"), ALONE, "session monday, event 1"),
    Attack("a refusal's kind changed", sql("UPDATE event SET kind = 'noted' WHERE session_id = 'monday' AND seq = 2"), ALONE, "session monday, event 2"),
    Attack("an event left out", sql("DELETE FROM event WHERE session_id = 'monday' AND seq = 4"), ALONE, "event 4 before it is missing"),
    Attack("a body respelled", with_file(respells), ALONE, "session thursday"),
    Attack("events numbered otherwise", with_file(inserts_between), ALONE, "session thursday"),
    Attack("events moved to another job", sql("DELETE FROM event WHERE session_id = 'tuesday'", "UPDATE event SET session_id = 'tuesday' WHERE session_id = 'wednesday'"), ALONE, "session tuesday"),
    Attack("the opening line of a job taken out", sql("DELETE FROM session WHERE id = 'wednesday'"), ALONE, "session wednesday"),
    Attack("a job opened at another time", sql("UPDATE session SET opened_utc = '2031-04-01T08:00:00.000Z' WHERE id = 'tuesday'"), ALONE, "session tuesday, event 1"),
    Attack("the opening time of a job sealed while empty", sql("UPDATE session SET opened_utc = '2031-04-01T08:00:00.000Z' WHERE id = 'empty'"), ALONE, "session empty", (SEAL,)),
    Attack("two jobs change places", with_file(swaps_order), ALONE, "another place"),
    # Ends
    Attack("the end of a sealed job dropped", sql("DELETE FROM event WHERE session_id = 'tuesday' AND seq > 6"), ALONE, "tail was dropped", (SEAL,)),
    Attack("the end of a job after the seal dropped", sql(f"DELETE FROM event WHERE session_id = '{LATER}' AND seq > 6"), ALONE, "tail was dropped"),
    Attack("a whole job taken out", takes_out("wednesday", "event", "session", "sealed_head"), ALONE, "whole session is missing", (SEAL,)),
    Attack("a job taken out with its marks", takes_out("wednesday", "event", "session", "sealed_head", "box_mark"), ALONE, "does not follow the mark", (SEAL,)),
    Attack("an older file put back, from before the seal", much_older_file, SEAL, "older file was put in its place", (STORE,)),
    Attack("an older file put back, from after the seal", older_file, STORE, "the whole session is missing"),
    # Chains made anew, things invented
    Attack("a chain rewritten, hashes and all", rewrites("tuesday"), ALONE, "not what the box signed", (SEAL,)),
    Attack("… after the seal", rewrites(LATER), ALONE, "not what the box signed"),
    Attack("… and marks forged in the box's name", rewrites(LATER, marks="its name"), ALONE, "was not made with the key of the box"),
    Attack("… and every mark made anew by another box", rewrites(LATER, marks="another box"), BOX, "by another box", (STORE,)),
    Attack("… of a sealed job, by another box", rewrites("tuesday", marks="another box"), SEAL, "not the event that the seal", (BOX, STORE)),
    Attack("a whole job forged by plain SQL", with_file(forge_job), ALONE, "no box signed it"),
    Attack("an event added after the seal by plain SQL", adds("monday"), ALONE, "session monday, event 13: the box did not sign it"),
    Attack("… with a mark in the box's name", adds("monday", mark=True), ALONE, "was not made with the key of the box"),
    Attack("a mark changed", sql("UPDATE box_mark SET seq = seq + 1 WHERE number = 3"), ALONE, "mark"),
    Attack("a mark taken out", sql("DELETE FROM box_mark WHERE number = 7"), ALONE, "does not follow the mark"),
    Attack("the box's public key replaced", sql("UPDATE box SET public_key = hex(randomblob(32))"), ALONE, "mark"),
    Attack("the box's key taken away, a forged job adopted", new_box, BOX, "by another box", (STORE,)),
    Attack("the record made one of an older version", older_version, BOX, "no box signed it", (STORE,)),
    Attack("a rewritten job sealed anew", seals_anew, ALONE, "not what the box signed", (SEAL,)),
    Attack("a sealed head moved", sql("UPDATE sealed_head SET seq = seq - 1 WHERE session_id = 'tuesday'"), ALONE, "signed another seal", (SEAL,)),
    Attack("a sealed head put in by plain SQL", sql(f"INSERT INTO sealed_head (number, session_id, seq) SELECT MAX(number) + 1, '{LATER}', 1 FROM sealed_head"), ALONE, "of no seal that the box signed"),
    Attack("a sealed head taken out", sql("DELETE FROM sealed_head WHERE number = 2"), ALONE, "sealed head 2 is missing", (SEAL,)),
    Attack("a job invented by somebody who runs the service", with_the_box_s_key, NOBODY, ""),
    # People
    Attack("a sign-off “by PIN” put in by plain SQL", claims({}), ALONE, "claims the PIN of B. Sample"),
    Attack("a correction “by PIN” put in by plain SQL", with_file(lambda db: add(db, "tuesday", "amended", {"by": "B. Sample", "how": "pin", "event": 3, "now": "x", "why": "y", "signature": None})), ALONE, "claims the PIN of B. Sample"),
    Attack("a sign-off signed with a key of the insider's own", signs_with_own_key, ALONE, "whose key was not enrolled"),
    Attack("a sign-off copied to another job", with_file(moves_a_sign_off), ALONE, "not made over this"),
    Attack("a sign-off of another state", claims({"events": 2}), ALONE, "another state"),
    Attack("a sign-off with a typed name, by plain SQL", claims({"how": "typed"}), ALONE, "the box did not sign it"),
    Attack("a sign-off taken back", sql("DELETE FROM event WHERE kind = 'signed_off'"), ALONE, "tail was dropped", (SEAL,)),
    Attack("an enrolment put in by plain SQL", with_file(enrols_himself), ALONE, "session office"),
    Attack("who was enrolled rewritten", with_file(lambda db: chained(db, "office", lambda _s, _k, b: {**b, "name": "C. Insider"})), ALONE, "session office", (SEAL,)),
    Attack("the last of the office taken out", with_file(takes_the_wrong_pins_out), ALONE, "tail was dropped", (SEAL,)),
    Attack("the enrolments taken out", takes_out("office", "event", "session", "sealed_head"), ALONE, "session office", (SEAL,)),
    Attack("the file of locked keys deleted", lambda shop: shop.path.with_name("people.json").unlink(), NOBODY, ""),
    # Clips and files
    Attack("a clip replaced by another", swaps_clips, ALONE, "was changed"),
    Attack("a clip deleted", lambda shop: clip(shop).unlink(), ALONE, "is gone"),
    Attack("a clip replaced by a link to 3 GB", links_a_clip, ALONE, "something that is not a file"),
    Attack("a clip replaced by a pipe", pipes_a_clip, ALONE, "something that is not a file"),
    Attack("sound put among the clips", plants("0" * 64 + ".flac"), ALONE, "left over"),
    Attack("half a clip left", plants(".clip-abcdef"), ALONE, "left over"),
    Attack("another file among the clips", plants("letter.txt"), ALONE, "left over"),
    Attack("the folder of clips replaced by a link", links_the_folder(lambda shop: shop.clips.folder), ALONE, "is a link to another place"),
    Attack("sound that was let go put back", lets_sound_go_and_puts_it_back, ALONE, "left over"),
    Attack("a reading changed in the log beside the record", into_the_log, ALONE, "session tuesday, event 3"),
    Attack("the record replaced by a link", replaces_by_a_link, ALONE, "is a link"),
    Attack("the public key beside the record replaced", puts_own_public_key, ALONE, "of no box that wrote it"),
    Attack("a job whose name would wipe its finding off the screen", with_file(forges_a_tale), ALONE, "no box signed it"),
    # Cars and visits
    Attack("another plate in the file of a car", other_plate, ALONE, "of visit 20310501-"),
    Attack("the cars of two visits change places", swaps_cars, ALONE, "was changed"),
    Attack("a car deleted without a word", lambda shop: car(shop).unlink(), ALONE, "is gone"),
    Attack("a car let go by plain SQL", lets_a_car_go_by_sql, ALONE, "the box did not sign it"),
    Attack("a car replaced by a link to 3 GB", links_a_car, ALONE, "was changed"),
    Attack("a car replaced by a pipe", pipes_a_car, ALONE, "was changed"),
    Attack("the folder of cars replaced by a link", links_the_folder(lambda shop: shop.cars.folder), ALONE, "is a link to another place"),
    Attack("a car that no visit names", plants_a_car("0" * 64 + ".json"), ALONE, "left over"),
    Attack("half a car left", plants_a_car(".01234567-abc"), ALONE, "left over"),
    Attack("a car that was let go put back", lets_a_car_go_and_puts_it_back, ALONE, "left over"),
    Attack("a visit closed by plain SQL", with_file(closes_a_visit), ALONE, "the box did not sign it"),
    Attack("a visit put to another car", with_file(names_another_car), ALONE, "session office"),
    # What lies beside the record, and who may reach it
    Attack("a key of his own entered among the boxes", enters_a_box, ALONE, "the file: box 2 in it ("),
    Attack("the box's key readable by others", opens(lambda shop: key_path(shop.path), 0o644), ALONE, "others besides its owner can read"),
    Attack("the locked keys readable by others", opens(lambda shop: KeyRing(shop.path).path, 0o640), ALONE, "others besides its owner can read"),
    Attack("the record writable by everybody", opens(lambda shop: shop.path, 0o666), ALONE, "anyone on this machine can change"),
    Attack("the record's folder writable by everybody", opens(lambda shop: shop.path.parent, 0o777), ALONE, "anyone on this machine can change"),
    Attack("a journal of other pages laid beside the record", lays_a_journal, ALONE, "put back other pages"),
    Attack("the record's log a link to another file", links_a_log, ALONE, "is a link to another place"),
    Attack("the record's log a second name of another file", has_a_second_name("-wal"), ALONE, "has another name too"),
    Attack("the index's log a second name of another file", has_a_second_name(".index-wal"), ALONE, "has another name too"),
    Attack("the public key beside the record replaced by a link", links_the_file(public_key_path), ALONE, "of no box that wrote it"),
    Attack("the public key beside the record replaced by a pipe", lays_a_pipe(lambda shop: public_key_path(shop.path)), ALONE, "of no box that wrote it"),
    Attack("no date as the date of a schema version", dates_the_schema("x"), ALONE, "is no date"),
    Attack("another date as the date of a schema version", dates_the_schema("2031-04-01T08:00:00.000Z"), NOBODY, ""),
    Attack("a wrong PIN's trace taken out with its mark", forgets_a_failed_pin, NOBODY, ""),
    Attack("himself put among the people of before keys", lets_himself_in, NOBODY, "", told="Nobody vouched for C. Insider (supervisor)"),
    Attack("the store's last word beside the record forged", forges_the_last_word, NOBODY, ""),
    # The index
    Attack("the index replaced by a link", links_the_file(index_path), ALONE, "is a link to another place"),
    Attack("the figures replaced by a link", links_the_file(summaries_path), ALONE, "are a link to another place"),
    Attack("another technician in the index", index("UPDATE digest SET technician = 'C. Insider' WHERE number = 2"), ALONE, "index beside the record"),
    Attack("another result in the index", index("UPDATE digest SET result = 'outside' WHERE number = 1"), ALONE, "index beside the record"),
    # The figures for the statistics
    Attack("a floor that drifts in the figures", figures("UPDATE measure SET value = value + number"), ALONE, "figures beside the record"),
    Attack("a job put to another bay in the figures", figures("UPDATE session SET bay = 'another' WHERE id = 'monday'"), ALONE, "figures beside the record"),
    Attack("figures of no job", figures("INSERT INTO measure VALUES (99, 'floor_twist_mm', 5.0)"), ALONE, "figures beside the record"),
    Attack("words in the index that nobody said", index("INSERT INTO words (rowid, said, heard, noted) VALUES (16777219, 'giraffe', '', '')"), ALONE, "finds other words"),
)  # fmt: skip
"""Every one of them; the docs have a table of it."""


def put_in_order() -> tuple[Attack, ...]:
    """Those that verify names alone first, those that nothing names last."""
    order = (ALONE, SEAL, BOX, STORE, NOBODY)
    return tuple(sorted(ATTACKS, key=lambda attack: order.index(attack.by)))


__all__ = ["ALONE", "ATTACKS", "BOX", "NOBODY", "SEAL", "STORE", "Attack", "put", "put_in_order"]

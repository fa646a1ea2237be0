"""Somebody changes the file with any tool there is; verify finds it and says where."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import RecordError
from companion.record import ClipStore, Entry, FixedClock, SqliteLog, clips_folder, open_record
from companion.record.audit.event_bytes import stored_hash
from companion.record.audit.seal import Seal, make_seal
from companion.record.audit.verify import Outside, verify
from companion.record.canonical import canonical_json
from companion.record.finding import Finding
from companion.record.rows import event_of_row

SESSIONS = ("monday", "tuesday", "wednesday")
EVENTS = 9
COLUMNS = "session_id, seq, kind, at_utc, monotonic_ns, clock_trusted, body, previous_hash, hash"


@dataclass(frozen=True)
class Shop:
    """A record of three sessions with a clip each, and the seal that was kept elsewhere."""

    path: Path
    seal: Seal

    @property
    def clips(self) -> ClipStore:
        return ClipStore(clips_folder(self.path))

    def findings(self, *, sealed: bool = False) -> list[Finding]:
        """What chain, clips and seals show; what the box's marks do has tests of its own."""
        kept = Outside(seal=self.seal if sealed else None)
        return without_box(verify(self.path, self.clips, outside=kept))

    def tamper(self, change: Callable[[sqlite3.Connection], object]) -> None:
        """Guards off, change, guards on again, nothing left in the log."""
        stranger = sqlite3.connect(self.path)
        guards = stranger.execute(
            "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in guards:
            stranger.execute(f"DROP TRIGGER {name}")
        change(stranger)
        for _, sql in guards:
            stranger.execute(sql)
        stranger.commit()
        stranger.close()


def without_box(findings: list[Finding]) -> list[Finding]:
    return [finding for finding in findings if finding.kind != "box"]


@pytest.fixture(scope="module")
def original(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    path = tmp_path_factory.mktemp("shop") / "bay.record"
    clips = ClipStore(clips_folder(path))
    with open_record(path, FixedClock()) as database:
        for place, session_id in enumerate(SESSIONS):
            log = SqliteLog(database, database.create_session(session_id), clips)
            sha256 = clips.put(bytes([place, 1]) * 4000)
            for number in range(1, EVENTS + 1):
                clip = sha256 if number == 4 else None
                body = {"n": number, "u": 0.25 + place, "words": "seven é", "clip_sha256": clip}
                log.append([Entry("heard", body)])
        seal = make_seal(database)
    return Shop(path, seal)


def copy_of(original: Shop, folder: Path) -> Shop:
    shutil.copytree(original.path.parent, folder, dirs_exist_ok=True)
    return Shop(folder / original.path.name, original.seal)


@pytest.fixture
def shop(original: Shop, tmp_path: Path) -> Shop:
    return copy_of(original, tmp_path)


def test_an_untouched_record_is_unbroken_also_against_its_seal(shop: Shop) -> None:
    assert shop.findings(sealed=True) == []


# Any byte of any event


@settings(max_examples=120, deadline=None)
@given(data=st.data())
def test_any_byte_of_any_text_of_any_event_changed_is_found_and_named(
    original: Shop, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """The new byte may be any, so that the text need not be UTF-8, JSON, or a date any more."""
    shop = copy_of(original, tmp_path_factory.mktemp("changed"))
    session_id = data.draw(st.sampled_from(SESSIONS))
    seq = data.draw(st.integers(1, EVENTS))
    column = data.draw(st.sampled_from(["kind", "at_utc", "body", "previous_hash", "hash"]))
    stranger = sqlite3.connect(shop.path)
    (content,) = stranger.execute(
        f"SELECT CAST({column} AS BLOB) FROM event WHERE session_id = ? AND seq = ?",
        (session_id, seq),
    ).fetchone()
    stranger.close()
    place = data.draw(st.integers(0, len(content) - 1))
    # A hash has to keep its 64 characters, or the table itself refuses it.
    byte = data.draw(st.integers(1, 127 if "hash" in column else 255))
    if content[place] == byte:
        byte = byte % 127 + 1
    changed = content[:place] + bytes([byte]) + content[place + 1 :]
    shop.tamper(
        lambda db: db.execute(
            f"UPDATE event SET {column} = CAST(? AS TEXT) WHERE session_id = ? AND seq = ?",
            (changed, session_id, seq),
        )
    )
    named = [(f.session_id, f.seq, f.kind) for f in shop.findings() if "clip" not in f.kind]
    assert named == [(session_id, seq, "changed")]


@settings(max_examples=50, deadline=None)
@given(data=st.data())
def test_any_byte_of_the_file_changed_is_found_unless_it_carries_nothing(
    original: Shop, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    """A byte of free space or of a counter may change: then the record still says the same.

    Where the file can no longer be taken for a record at all, that is said as an error.
    """
    shop = copy_of(original, tmp_path_factory.mktemp("flipped"))
    content = bytearray(shop.path.read_bytes())
    place = data.draw(st.integers(100, len(content) - 1))
    content[place] ^= data.draw(st.integers(1, 255))
    shop.path.write_bytes(content)
    try:
        findings = shop.findings()
    except RecordError:
        return
    if not findings:
        assert rows_of(shop.path) == rows_of(original.path)


def rows_of(path: Path) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(path)
    try:
        return [
            *connection.execute(f"SELECT {COLUMNS} FROM event ORDER BY session_id, seq"),
            *connection.execute("SELECT id, opened_utc FROM session ORDER BY id"),
        ]
    finally:
        connection.close()


def test_a_byte_of_a_body_changed_in_the_file_itself_names_its_event(shop: Shop) -> None:
    content = shop.path.read_bytes()
    before, after = b'"n":7,"u":1.25', b'"n":8,"u":1.25'
    assert content.count(before) == 1
    shop.path.write_bytes(content.replace(before, after))
    (finding,) = shop.findings()
    assert (finding.session_id, finding.seq, finding.kind) == ("tuesday", 7, "changed")


@pytest.mark.parametrize(
    ("column", "value"), [("monotonic_ns", "monotonic_ns + 1"), ("clock_trusted", "0")]
)
def test_a_changed_number_names_its_event(shop: Shop, column: str, value: str) -> None:
    shop.tamper(
        lambda db: db.execute(
            f"UPDATE event SET {column} = {value} WHERE session_id = 'monday' AND seq = 3"
        )
    )
    (finding,) = shop.findings()
    assert (finding.session_id, finding.seq, finding.kind) == ("monday", 3, "changed")


# Order, ends, whole sessions


@pytest.mark.parametrize("what", ["body", "kind, body, at_utc, monotonic_ns, previous_hash, hash"])
def test_two_events_swapped_are_found_at_the_first_of_them(shop: Shop, what: str) -> None:
    def swap(db: sqlite3.Connection) -> None:
        rows = dict(
            db.execute(
                "SELECT seq, json_array(kind, body, at_utc, monotonic_ns, previous_hash, hash) "
                "FROM event WHERE session_id = 'tuesday' AND seq IN (5, 6)"
            ).fetchall()
        )
        names = ["kind", "body", "at_utc", "monotonic_ns", "previous_hash", "hash"]
        for seq, other in ((5, 6), (6, 5)):
            sets = ", ".join(
                f"{n} = json_extract(?, '$[{names.index(n)}]')" for n in what.split(", ")
            )
            marks = [rows[other]] * len(what.split(", "))
            db.execute(
                f"UPDATE event SET {sets} WHERE session_id = 'tuesday' AND seq = {seq}", marks
            )

    shop.tamper(swap)
    (finding,) = shop.findings()
    assert (finding.session_id, finding.seq, finding.kind) == ("tuesday", 5, "changed")


def test_events_moved_to_another_session_are_found(shop: Shop) -> None:
    def move(db: sqlite3.Connection) -> None:
        db.execute("DELETE FROM event WHERE session_id = 'monday'")
        db.execute("UPDATE event SET session_id = 'monday' WHERE session_id = 'tuesday'")

    shop.tamper(move)
    first = shop.findings()[0]
    assert (first.session_id, first.seq, first.kind) == ("monday", 1, "changed")


def test_a_dropped_tail_is_found_by_the_seal_in_the_file_and_by_the_one_kept(shop: Shop) -> None:
    shop.tamper(lambda db: db.execute("DELETE FROM event WHERE session_id = 'tuesday' AND seq > 6"))
    (own,) = shop.findings()
    assert (own.session_id, own.seq, own.kind) == ("tuesday", 6, "sealed")
    kept = shop.findings(sealed=True)[-1]
    assert (kept.session_id, kept.seq, kept.kind) == ("tuesday", 6, "rolled_back")
    assert "its tail was dropped" in kept.what


def test_a_session_taken_out_with_every_trace_of_it_is_named_by_the_seal(shop: Shop) -> None:
    def take_out(db: sqlite3.Connection) -> None:
        for table in ("sealed_head", "event"):
            db.execute(f"DELETE FROM {table} WHERE session_id = 'wednesday'")
        db.execute("DELETE FROM session WHERE id = 'wednesday'")

    shop.tamper(take_out)
    assert shop.findings() == []
    kinds = {(f.session_id, f.kind) for f in shop.findings(sealed=True)}
    assert kinds == {("", "rolled_back"), ("wednesday", "rolled_back")}


def test_a_chain_rewritten_as_a_whole_shows_only_against_the_seal(shop: Shop) -> None:
    shop.tamper(lambda db: rewrite(db, "tuesday", 5, {"n": 5, "words": "nine"}))
    assert shop.findings() == []
    (finding,) = shop.findings(sealed=True)
    assert (finding.session_id, finding.seq, finding.kind) == ("tuesday", EVENTS, "sealed")
    (by_root,) = without_box(verify(shop.path, outside=Outside(root=shop.seal.root)))
    assert "no state of this file ever had the root" in by_root.what


def rewrite(db: sqlite3.Connection, session_id: str, from_seq: int, body: object) -> None:
    """What somebody does who knows how the chain is made."""
    rows = db.execute(
        "SELECT seq, kind, at_utc, monotonic_ns, clock_trusted, body, previous_hash FROM event "
        "WHERE session_id = ? AND seq >= ? ORDER BY seq",
        (session_id, from_seq),
    ).fetchall()
    head = rows[0][6].encode()
    for seq, kind, at_utc, monotonic_ns, trusted, text, _ in rows:
        content = canonical_json(body) if seq == from_seq else text.encode()
        at, sid = at_utc.encode(), session_id.encode()
        made = stored_hash(sid, seq, kind.encode(), at, monotonic_ns, trusted, content, head)
        db.execute(
            "UPDATE event SET body = ?, previous_hash = ?, hash = ? "
            "WHERE session_id = ? AND seq = ?",
            (content.decode(), head.decode(), made.decode(), session_id, seq),
        )
        head = made


def test_a_body_that_is_hashed_but_not_canonical_is_found(shop: Shop) -> None:
    """Also somebody who makes the hash anew cannot put two spellings of the same into a record."""

    def respell(db: sqlite3.Connection) -> None:
        (seq, kind, at, mono, trusted, body, previous) = db.execute(
            "SELECT seq, kind, at_utc, monotonic_ns, clock_trusted, body, previous_hash FROM event "
            f"WHERE session_id = 'monday' AND seq = {EVENTS}"
        ).fetchone()
        other = body.replace('"u":0.25', '"u":0.250')
        assert other != body
        texts = (text.encode() for text in (kind, at))
        made = stored_hash(b"monday", seq, *texts, mono, trusted, other.encode(), previous.encode())
        db.execute(
            f"UPDATE event SET body = ?, hash = ? WHERE session_id = 'monday' AND seq = {EVENTS}",
            (other, made.decode()),
        )

    shop.tamper(respell)
    changed = [finding for finding in shop.findings() if finding.kind == "changed"]
    assert [(f.session_id, f.seq) for f in changed] == [("monday", EVENTS)]
    assert "canonical" in changed[0].what


# The guards


@pytest.mark.parametrize(
    ("statement", "told"),
    [
        ("DROP TRIGGER event_is_never_changed", "taken off"),
        (
            "CREATE TRIGGER lets_pass AFTER INSERT ON event BEGIN SELECT 1; END",
            "no part of a record",
        ),
        ("CREATE TABLE notes (n TEXT)", "no part of a record"),
    ],
)
def test_guards_taken_off_or_things_put_in_are_named(shop: Shop, statement: str, told: str) -> None:
    stranger = sqlite3.connect(shop.path)
    stranger.execute(statement)
    stranger.close()
    (finding,) = shop.findings(sealed=True)
    assert finding.kind == "guards"
    assert told in finding.what


def test_a_guard_that_was_made_harmless_under_its_own_name_is_found(shop: Shop) -> None:
    stranger = sqlite3.connect(shop.path)
    stranger.execute("DROP TRIGGER event_is_never_deleted")
    stranger.execute(
        "CREATE TRIGGER event_is_never_deleted BEFORE DELETE ON event BEGIN SELECT 1; END"
    )
    stranger.close()
    (finding,) = shop.findings()
    assert finding.kind == "guards"
    assert "altered" in finding.what


# Clips and files


def test_a_clip_replaced_by_another_real_clip_is_found(shop: Shop) -> None:
    own, other = sorted(shop.clips.folder.iterdir())[:2]
    own.write_bytes(other.read_bytes())
    (finding,) = shop.findings()
    assert (finding.seq, finding.kind) == (4, "clip_changed")
    assert own.stem in finding.what


def test_a_table_whose_columns_were_renamed_is_a_finding(shop: Shop) -> None:
    shop.tamper(lambda db: db.execute("ALTER TABLE event RENAME COLUMN at_utc TO when_utc"))
    assert {finding.kind for finding in shop.findings()} == {"guards", "damaged"}


def test_an_older_file_put_back_is_found_by_seal_root_and_phrase(
    shop: Shop, tmp_path: Path
) -> None:
    older = tmp_path / "older"
    shutil.copytree(shop.path.parent, older, ignore=shutil.ignore_patterns("older"))
    with open_record(shop.path, FixedClock()) as database:
        SqliteLog(database, "monday").append([Entry("noted", {"words": "later"})])
        SqliteLog(database, database.create_session("thursday")).append([Entry("said", {})])
        seal = make_seal(database)
    assert verify(shop.path, outside=Outside(seal=seal)) == []
    shutil.copyfile(older / shop.path.name, shop.path)
    assert verify(shop.path) == []
    found = verify(shop.path, outside=Outside(seal=seal))
    assert {(f.session_id, f.seq) for f in found} == {("", 0), ("monday", EVENTS), ("thursday", 0)}
    assert all(finding.kind == "rolled_back" for finding in found)
    for root in (seal.root, seal.phrase):
        (finding,) = verify(shop.path, outside=Outside(root=root))
        assert finding.kind == "rolled_back"
    assert verify(shop.path, outside=Outside(root=shop.seal.phrase.upper())) == []


@pytest.mark.parametrize("column", COLUMNS.split(", "))
def test_a_column_whose_name_rotted_is_told_as_a_damaged_record(column: str) -> None:
    row = dict.fromkeys(COLUMNS.split(", "), 1) | {"body": "{}"}
    del row[column]
    with pytest.raises(RecordError, match="go on from a backup"):
        event_of_row(row, Path("record.sqlite"))

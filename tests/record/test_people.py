"""Whose signature it is can be checked from the record: keys, who vouched, PINs, failed tries."""

from __future__ import annotations

import sqlite3
import stat
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.errors import RecordError
from companion.facts.afterwards import Amended, Role, SignedOff
from companion.language.loader import load_language
from companion.record import Database, Entry, FixedClock, SqliteLog, open_record
from companion.record.afterwards import how_it_ended
from companion.record.audit.people import Cost, KeyRing
from companion.record.audit.verify import Outside, examine, verify
from companion.record.database import OFFICE
from companion.record.enrolling import Office, Signer, read_roll
from companion.record.roll import Enrolment, Roll
from tests.asking import asked

PIN, OTHER = "730219465108", "4711"
CHEAP = Cost(passes=1, memory_kib=8, lanes=1)
"""Keys that cost next to nothing to unlock: the real cost would only make the tests slow."""


@pytest.fixture
def office(database: Database, record_path: Path) -> Office:
    return Office(database, KeyRing(record_path, CHEAP))


def a_job(database: Database, session_id: str = "s1") -> SqliteLog:
    log = SqliteLog(database, database.create_session(session_id))
    log.append([Entry("opened", {"technician": "Ana"}), Entry("finished", {"result": "inside"})])
    return log


def test_only_a_supervisor_with_a_pin_here_can_vouch() -> None:
    def known(name: str, role: Role, *, of_store: bool = False) -> Enrolment:
        return Enrolment(name, role, name, 1, "2031-05-06T08:00:00.000Z", "", is_of_store=of_store)

    here = known("B. Sample", "supervisor")
    others = [known("A. Example", "technician"), known("C. Far", "supervisor", of_store=True)]
    assert Roll([*others, here]).supervisors == (here,)


def sign(log: SqliteLog, signer: Signer) -> None:
    last = how_it_ended(log.events(log.session_id)).last
    fact = SignedOff(by=signer.name, role=signer.role, how="pin", events=last.seq, head=last.hash)
    log.append([signer.signed_off(log.session_id, fact)])


def told(path: Path) -> str:
    examined = examine(path)
    assert examined.findings == ()
    return "\n".join(load_language().show(message) for message in examined.told)


def test_what_was_signed_is_checked_afterwards_and_not_only_claimed(
    database: Database, office: Office, record_path: Path
) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss = office.signer("b. sample ", PIN, "x")
    office.enrol("A. Example", "technician", OTHER, boss)
    log = a_job(database)
    sign(log, office.signer("A. Example", OTHER, "x"))
    fact = Amended(by="B. Sample", how="pin", event=1, now="x", why="y")
    log.append([boss.amended("s1", fact, log.head_hash)])
    checked = told(record_path)
    assert "with the key of A. Example, enrolled 2030-01-01, vouched for by B. Sample" in checked
    assert "with the key of B. Sample, enrolled 2030-01-01, vouched for by nobody" in checked
    assert "Nobody vouched for B. Sample (supervisor)" in checked
    (key,) = (one.public_key for one in read_roll(database).current if one.name == "A. Example")
    assert verify(record_path, outside=Outside(keys=frozenset({key}))) != []


def test_a_pin_is_kept_nowhere(office: Office, database: Database, record_path: Path) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    for file in record_path.parent.iterdir():
        assert PIN.encode() not in file.read_bytes()
    ring = KeyRing(record_path)
    assert stat.S_IMODE(ring.path.stat().st_mode) == 0o600
    assert Cost() == Cost(passes=3, memory_kib=65536, lanes=4)


def test_a_wrong_pin_signs_nothing_and_is_recorded(
    office: Office, database: Database, record_path: Path
) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    with pytest.raises(RecordError, match=r"not the PIN of B\. Sample") as caught:
        office.signer("B. Sample", "730219465109", "sign off s1")
    assert "730219465109" not in str(caught.value)
    failed = list(database.events(OFFICE))[-1]
    assert (failed.kind, failed.body["doing"]) == ("pin_failed", "sign off s1")
    assert "A wrong PIN was given once for B. Sample" in told(record_path)
    assert b"730219465109" not in record_path.read_bytes()


@pytest.mark.parametrize("pin", ["", "123", "12a4", "1" * 13, "١٢٣٤", "1234 "])
def test_a_pin_has_four_to_twelve_digits(office: Office, pin: str) -> None:
    with pytest.raises(RecordError, match="4 to 12 digits"):
        office.enrol("B. Sample", "supervisor", pin, None)


def test_another_pin_takes_the_old_one_and_a_lost_one_a_supervisor(
    office: Office, database: Database, record_path: Path
) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss = office.signer("B. Sample", PIN, "x")
    office.enrol("A. Example", "technician", OTHER, boss)
    first = office.signer("A. Example", OTHER, "x")
    office.change_pin(first, "0815")
    with pytest.raises(RecordError, match="not the PIN"):
        office.signer("A. Example", OTHER, "x")
    assert office.signer("A. Example", "0815", "x").key.public_key() == first.key.public_key()
    log = a_job(database)
    sign(log, office.signer("A. Example", "0815", "x"))
    with pytest.raises(RecordError, match=r"A\. Example is a technician here"):
        office.enrol("B. Sample", "supervisor", "0000", first)
    with pytest.raises(RecordError, match="wanted: a supervisor"):
        office.enrol("A. Example", "supervisor", "0000", first)
    office.enrol("A. Example", "technician", "2222", boss)
    again = office.signer("A. Example", "2222", "x")
    assert again.key.public_key() != first.key.public_key()
    assert verify(record_path) == []
    sign(log, first)
    (finding,) = verify(record_path)
    assert "the key of A. Example was not enrolled then" in finding.what


def test_who_was_removed_signs_no_more_and_what_they_signed_stays(
    office: Office, database: Database, record_path: Path
) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss = office.signer("B. Sample", PIN, "x")
    office.enrol("A. Example", "technician", OTHER, boss)
    leaver = office.signer("A. Example", OTHER, "x")
    log = a_job(database)
    sign(log, leaver)
    office.remove("A. Example", boss)
    assert office.known("A. Example") is None
    assert verify(record_path) == []
    with pytest.raises(RecordError, match="not among the people"):
        office.signer("A. Example", OTHER, "x")
    sign(a_job(database, "s2"), leaver)
    (finding,) = verify(record_path)
    assert (finding.session_id, finding.kind) == ("s2", "signature")


def test_a_deleted_file_of_keys_makes_nobody_a_supervisor(
    office: Office, database: Database, record_path: Path
) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    KeyRing(record_path).path.unlink()
    assert office.supervisors() == ["B. Sample"]
    with pytest.raises(RecordError, match="not in it; put the file back"):
        office.signer("B. Sample", PIN, "x")
    office.enrol("C. Specimen", "supervisor", "0000", None)
    assert "Nobody vouched for C. Specimen (supervisor)" in told(record_path)


def test_somebody_of_an_older_file_gets_a_key_by_the_pin(
    office: Office, database: Database, record_path: Path
) -> None:
    old = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash(PIN)
    person = f'{{"name":"B. Sample","role":"supervisor","pin_hash":"{old}"}}'
    KeyRing(record_path).path.write_text(f'{{"people":[{person}]}}')
    assert office.known("b. sample") == ("B. Sample", "supervisor")
    with pytest.raises(RecordError, match="not the PIN"):
        office.signer("B. Sample", "0000", "x")
    sign(a_job(database), office.signer("B. Sample", PIN, "x"))
    assert KeyRing(record_path).of_before("B. Sample") is None
    assert "with the key of B. Sample" in told(record_path)


@pytest.mark.parametrize("content", ["nonsense", '{"people":[{"name":"x"}]}'])
def test_a_damaged_file_of_keys_is_named(office: Office, record_path: Path, content: str) -> None:
    KeyRing(record_path).path.write_text(content)
    with pytest.raises(RecordError, match=r"people\.json"):
        office.supervisors()


CLAIMS: list[tuple[str, Callable[[SignedOff], SignedOff], str]] = [
    ("no signature", lambda f: f.model_copy(update={"signature": None}), "no key signed it"),
    ("another name", lambda f: f.model_copy(update={"by": "C. Specimen"}), "not made over this"),
    ("another role", lambda f: f.model_copy(update={"role": "technician"}), "not made over this"),
]


@pytest.mark.parametrize(("what", "change", "why"), CLAIMS, ids=[claim[0] for claim in CLAIMS])
def test_a_pin_that_is_only_claimed_is_named(
    office: Office,
    database: Database,
    record_path: Path,
    what: str,
    change: Callable[[SignedOff], SignedOff],
    why: str,
) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss, log = office.signer("B. Sample", PIN, "x"), a_job(database)
    last = how_it_ended(log.events("s1")).last
    fact = SignedOff(by=boss.name, role=boss.role, how="pin", events=2, head=last.hash)
    log.append([change(boss.signed_off("s1", fact))])
    (finding,) = verify(record_path)
    assert (finding.seq, finding.kind) == (3, "signature")
    assert why in finding.what


def test_a_key_that_nobody_enrolled_proves_no_pin(database: Database, record_path: Path) -> None:
    stranger = Signer("B. Sample", "supervisor", Ed25519PrivateKey.generate())
    sign(a_job(database), stranger)
    (finding,) = verify(record_path)
    assert "whose key was not enrolled" in finding.what


@pytest.mark.parametrize("field", ["own", "vouch", "name", "role", "public_key", "vouched_by"])
def test_an_enrolment_that_was_not_signed_as_it_says_is_named(
    office: Office, database: Database, record_path: Path, field: str
) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss = office.signer("B. Sample", PIN, "x")
    office.enrol("A. Example", "technician", OTHER, boss)
    body = dict(list(database.events(OFFICE))[-1].body) | {"instead_of": ""}
    new = {
        "own": body["vouch"],
        "vouch": body["own"],
        "name": "D. Muster",
        "role": "supervisor",
        "public_key": "0" * 64,
        "vouched_by": "",
    }
    SqliteLog(database, OFFICE).append([Entry("person_enrolled", body | {field: new[field]})])
    kinds = {finding.kind for finding in verify(record_path)}
    assert kinds == {"person"}
    with pytest.raises(RecordError, match="who may sign is not as it was recorded"):
        office.known("A. Example")


def test_what_an_older_version_recorded_is_told_as_not_to_be_checked(tmp_path: Path) -> None:
    schema = Path(__file__).parent / "schemas" / "version_2.sql"
    path = tmp_path / "bay.record"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(schema.read_text("utf-8"))
    assert "Not signed by a box" in told(path)
    session = "20300101-080001-0a0a0a0a"
    with open_record(path, FixedClock()) as database:
        log = SqliteLog(database, session)
        head = log.head_hash
        body = {"by": "B. Sample", "role": "supervisor", "how": "pin", "events": 5, "head": head}
        log.append([Entry("signed_off", body)])
    (finding,) = verify(path)
    assert "claims the PIN" in finding.what


def test_the_same_sign_off_recorded_before_is_no_fault(tmp_path: Path) -> None:
    """A record of the third schema, with a sign-off of the second in it."""
    schema = Path(__file__).parent / "schemas" / "version_3.sql"
    path = tmp_path / "bay.record"
    with closing(sqlite3.connect(path)) as connection:
        connection.executescript(schema.read_text("utf-8"))
    checked = told(path)
    assert "claims a PIN from before there were keys, which cannot be checked" in checked
    assert "with the key of B. Sample, enrolled" in checked
    assert "in the record before the box first wrote to it" in checked


def test_a_pin_of_before_opens_nothing_when_the_older_file_is_put_back(
    office: Office, record_path: Path
) -> None:
    """The same key, so what it signs would be believed: the record tells which lock is the last."""
    office.enrol("B. Sample", "supervisor", OTHER, None)
    older = (record_path.parent / "people.json").read_bytes()
    office.change_pin(office.signer("B. Sample", OTHER, "x"), PIN)
    newer = (record_path.parent / "people.json").read_bytes()
    (record_path.parent / "people.json").write_bytes(older)
    for pin in (OTHER, PIN):
        with pytest.raises(RecordError, match="another lock than the record tells of"):
            office.signer("B. Sample", pin, "x")
    (record_path.parent / "people.json").write_bytes(newer)
    assert office.signer("B. Sample", PIN, "x").name == "B. Sample"
    assert told(record_path)


def test_a_power_cut_between_the_new_lock_and_its_event_locks_nobody_out(
    office: Office, record_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    office.enrol("B. Sample", "supervisor", OTHER, None)
    signer = office.signer("B. Sample", OTHER, "x")

    def cut(*_: object) -> None:
        raise OSError("the power is gone")

    with monkeypatch.context() as patched:
        patched.setattr(SqliteLog, "append", cut)
        with pytest.raises(OSError, match="power"):
            office.change_pin(signer, PIN)
    assert office.signer("B. Sample", OTHER, "x").name == "B. Sample"
    office.change_pin(signer, PIN)
    assert office.signer("B. Sample", PIN, "x").name == "B. Sample"
    ring = KeyRing(record_path, CHEAP)
    assert len(ring._read().keys) == 1


@pytest.mark.parametrize(
    "name", ["B.  Sample", "B.\u200b Sample", "\uff22. Sample", "B. Samp\u00adle", "b.\u00a0SAMPLE"]
)
def test_nobody_is_known_by_a_name_that_reads_as_anothers(office: Office, name: str) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss = office.signer("B. Sample", PIN, "x")
    with pytest.raises(RecordError, match="is read as"):
        office.known(name)
    with pytest.raises(RecordError, match="is read as"):
        office.enrol(name, "technician", OTHER, boss)


def test_a_name_that_nobody_can_see_is_none(office: Office) -> None:
    with pytest.raises(RecordError, match="can be seen"):
        office.enrol("\u200b", "supervisor", PIN, None)


def test_a_technician_vouches_for_nobody_else(office: Office) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss = office.signer("B. Sample", PIN, "x")
    for name in ("A. Example", "C. Third"):
        office.enrol(name, "technician", OTHER, boss)
    one = office.signer("A. Example", OTHER, "x")
    before = office.roll.current
    for name in ("C. Third", "D. New", "B. Sample"):
        with pytest.raises(RecordError, match=r"A\. Example is a technician here"):
            office.enrol(name, "technician", "2222", one)
    for name in ("C. Third", "B. Sample"):
        with pytest.raises(RecordError, match="wanted: a supervisor"):
            office.remove(name, one)
    assert office.roll.current == before
    office.enrol(" a. EXAMPLE ", "technician", "2222", one)
    again = office.signer("A. Example", "2222", "x")
    assert again.key.public_key() != one.key.public_key()
    office.remove("A. Example", again)
    assert office.known("A. Example") is None


def test_who_was_removed_vouches_for_nobody(office: Office) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    office.enrol("E. Other", "supervisor", OTHER, office.signer("B. Sample", PIN, "x"))
    gone = office.signer("E. Other", OTHER, "x")
    office.remove("E. Other", office.signer("B. Sample", PIN, "x"))
    for name in ("E. Other", "D. New", "B. Sample"):
        with pytest.raises(RecordError, match="wanted: a supervisor"):
            office.enrol(name, "supervisor", "2222", gone)
    with pytest.raises(RecordError, match="wanted: a supervisor"):
        office.remove("B. Sample", gone)
    assert [one.name for one in office.roll.current] == ["B. Sample"]


def test_a_key_of_the_store_is_known_by_the_word_of_a_supervisor_of_this_box(
    office: Office, database: Database, record_path: Path
) -> None:
    a_job(database)
    [row] = database.read("SELECT public_key FROM box")
    box = str(row["public_key"])
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss = office.signer("B. Sample", PIN, "x")
    office.enrol("A. Example", "technician", OTHER, boss)
    office.enrol("E. Other", "supervisor", OTHER, boss)
    gone = office.signer("E. Other", OTHER, "x")
    office.remove("E. Other", boss)
    north = asked("S. North", box)
    before = office.roll.enrolments

    stranger = Signer("F. Stranger", "supervisor", Ed25519PrivateKey.generate())
    for voucher in (office.signer("A. Example", OTHER, "x"), gone, stranger):
        with pytest.raises(RecordError, match="wanted: a supervisor"):
            office.accept(north, voucher)
    for wrong, why in (
        (asked("S. North", "ab" * 32), "did not ask this box"),
        (north.model_copy(update={"name": "S. South"}), "not with that key"),
        (asked("B.\u00a0Sample", box), "is read as"),
    ):
        with pytest.raises(RecordError, match=why):
            office.accept(wrong, boss)
    assert office.roll.enrolments == before

    office.accept(north, boss)
    known = office.roll.find("s. north", of_store=True)
    assert known is not None
    assert (known.public_key, known.vouched_by) == (north.public_key, "B. Sample")
    # It signs at the store alone: it has no PIN here, and is nobody who vouches here.
    assert office.known("S. North") is None
    assert office.supervisors() == ["B. Sample"]
    with pytest.raises(RecordError, match="known, or was removed, here already"):
        office.accept(north, boss)

    another = asked("S. North", box)
    office.accept(another, boss)
    [now] = [one for one in office.roll.current if one.is_of_store]
    assert now.public_key == another.public_key
    office.remove("S. North", boss, of_store=True)
    assert office.roll.find("S. North", of_store=True) is None
    for removed in (north, another):
        with pytest.raises(RecordError, match="known, or was removed, here already"):
            office.accept(removed, boss)
    assert verify(record_path) == []


def test_who_has_no_key_is_not_taken_out(office: Office) -> None:
    office.enrol("B. Sample", "supervisor", PIN, None)
    boss = office.signer("B. Sample", PIN, "x")
    with pytest.raises(RecordError, match=r"'C\. Third' has no key in this record"):
        office.remove(" C. Third", boss)
    # A PIN here is no key of the store.
    with pytest.raises(RecordError, match=r"'B\. Sample' has no key of the store"):
        office.remove("B. Sample ", boss, of_store=True)
    assert [one.name for one in office.roll.current] == ["B. Sample"]

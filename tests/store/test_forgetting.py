"""A name replaced by a pseudonym: everywhere, without breaking a hash, and only that."""

from __future__ import annotations

import json
import re
from pathlib import Path

import psycopg
import pytest
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from psycopg import Connection

from companion.cli import main
from companion.facts.afterwards import SignedOff
from companion.record import FixedClock, SqliteLog, open_record
from companion.record.afterwards import how_it_ended
from companion.record.audit.event_bytes import stored_hash
from companion.record.audit.people import Cost, KeyRing
from companion.record.canonical import canonical_json, parsed_json
from companion.record.enrolling import Office
from companion.store import keeping
from companion.store.connecting import StoreError
from companion.store.exporting import export_person
from companion.store.forgetting import replace_again, replace_name
from companion.store.redactions import only_names_went
from companion.store.review.indexing import index_store
from companion.store.sound import ship_sound
from companion.store.verifying import verify_store
from tests.store.chain import Chain, log_in
from tests.store.spoken_jobs import SALT, box_of, speak
from tests.store.yard import Box, Yard

NAME = "A. Example"
LATER = "2026-03-05T08:00:00.000Z"
CHEAP = Cost(passes=1, memory_kib=8, lanes=1)


def signed(record: Path, job: str, by: str, vouched_by: str, at: str = LATER) -> None:
    """The job signed off by somebody with a PIN, vouched for by a supervisor."""
    with open_record(record, FixedClock(at)) as database:
        office = Office(database, KeyRing(record, CHEAP))
        if office.roll.find(vouched_by) is None:
            office.enrol(vouched_by, "supervisor", "1234", None)
        if office.roll.find(by) is None:
            voucher = office.signer(vouched_by, "1234", "vouch")
            office.enrol(by, "technician", "4321", voucher)
        signer = office.signer(by, "4321", "sign")
        over = how_it_ended(database.events(job))
        fact = SignedOff(
            by=by, role="technician", how="pin", events=over.last.seq, head=over.last.hash
        )
        SqliteLog(database, job).append([signer.signed_off(job, fact)])


@pytest.fixture
def box(yard: Yard) -> Box:
    """Two jobs of A. Example, one signed, one of somebody else that names them; all of it sent."""
    made = box_of(yard)
    speak(made.record, "job-1")
    speak(made.record, "job-2")
    speak(made.record, "job-3", technician="B. Sample")
    signed(made.record, "job-1", NAME, "S. Super")
    made.ship()
    ship_sound(made.record, made.store, made.password_file)
    index_store(yard.admin)
    return made


def everything(admin: Connection) -> str:
    """All text that the store and its index hold, but whose a pseudonym is."""
    told = []
    for schema, table in admin.execute(
        "SELECT n.nspname::text, c.relname::text FROM pg_class c JOIN pg_namespace n "
        "ON n.oid = c.relnamespace WHERE n.nspname IN ('store', 'reading') AND c.relkind = 'r'"
    ).fetchall():
        rows = admin.execute(f'SELECT t::text FROM {schema}."{table}" t'.encode()).fetchall()
        told += [row[0] for row in rows]
    return "\n".join(told)


def hashes(admin: Connection) -> list[tuple[object, ...]]:
    return admin.execute("SELECT job, sequence, hash FROM store.event ORDER BY 1, 2").fetchall()


def test_the_name_is_gone_everywhere_and_every_hash_holds(yard: Yard, box: Box) -> None:
    admin = yard.admin
    before = hashes(admin)
    assert everything(admin).count(NAME) > 8
    done = replace_name(admin, " a.  EXAMPLE ", for_good=True)
    # Two openings, two notes, the sign-off, the enrolment.
    assert (done.events, done.jobs, done.left) == (6, 3, ())
    told = everything(admin)
    assert NAME.lower() not in told.lower()
    assert "exampl" not in told.lower()
    assert told.count(done.pseudonym) > 8
    assert hashes(admin) == before
    checked = verify_store(admin)
    assert checked.problems == []
    assert checked.redacted == 6
    assert box.against_the_store() == []
    # More comes, and the box's own record was never touched.
    speak(box.record, "job-4", technician="B. Sample", at="2026-03-06T08:00:00.000Z")
    assert box.ship().events == 6
    assert yard.problems() == []


def test_nobody_finds_the_name_by_trying_names(yard: Yard, box: Box) -> None:
    """With the salt or the signature gone, knowing the rest is no way to try names."""
    admin = yard.admin
    done = replace_name(admin, NAME, for_good=True)
    rows = admin.execute(
        "SELECT j.id::text, e.sequence, e.kind::text, e.at_utc, e.monotonic_ns, e.clock_trusted, "
        "e.body, encode(e.hash, 'hex'), encode(coalesce(b.hash, j.opening_hash), 'hex') "
        "FROM store.erasure r JOIN store.event e USING (job, sequence) JOIN store.job j "
        "ON j.job = e.job LEFT JOIN store.event b ON b.job = e.job "
        "AND b.sequence = e.sequence - 1"
    ).fetchall()
    assert len(rows) == 6
    found = set()
    for job, seq, kind, at, monotonic, trusted, body, hashed, previous in rows:
        value = json.loads(body.replace(done.pseudonym, NAME))
        made = stored_hash(
            job.encode(),
            seq,
            kind.encode(),
            at.encode(),
            monotonic,
            int(trusted),
            canonical_json(value),
            previous.encode(),
        )
        if made.decode() == hashed:
            found.add(kind)
        assert SALT not in body
        assert not re.search(r'"value":"(?!0{128})', body)
    # A name that was said in a sentence has nothing beside it that nobody knows.
    assert found == {"noted"}


def test_the_pages_tell_what_is_proven(yard: Yard, box: Box) -> None:
    done = replace_name(yard.admin, NAME, for_good=True)
    chain = Chain(yard, {"one": box}, *yard.login(keeping.add_pages(yard.admin)))
    chain.person("S. North", "supervisor", "North")
    with chain.pages() as client:
        log_in(client, "S. North")
        listed = client.get("/").text
        assert NAME not in listed
        assert listed.count(done.pseudonym) >= 2
        job = next(
            one
            for one in re.findall(r'name="session" value="([^"]+)"', listed)
            if one.endswith("job-1")
        )
        page = client.get("/session", params={"id": job}).text
        assert "what signed it cannot be checked here any more" in page
        assert "names were replaced" in page
        assert "was changed" not in page
        assert client.get("/search", params={"q": "example"}).text.count("/session?id=") == 0


def test_while_it_is_known_whose_it_is_the_name_is_replaced_in_what_comes(
    yard: Yard, box: Box
) -> None:
    admin = yard.admin
    done = replace_name(admin, NAME, for_good=False)
    speak(box.record, "job-4", at="2026-03-06T08:00:00.000Z")
    signed(box.record, "job-4", NAME, "S. Super", "2026-03-06T09:00:00.000Z")
    box.ship()
    index_store(admin)
    assert NAME in everything(admin)
    (again,) = replace_again(admin)
    assert (again.pseudonym, again.events) == (done.pseudonym, 3)
    rows = admin.execute("SELECT name FROM store.pseudonym").fetchall()
    assert rows == [(NAME,)]
    assert everything(admin).count(NAME) == 1
    (nothing,) = replace_again(admin)
    assert nothing.events == 0
    # The same pseudonym serves until it is forgotten whose it is.
    assert replace_name(admin, NAME, for_good=True).pseudonym == done.pseudonym
    assert NAME not in everything(admin)
    speak(box.record, "job-5", at="2026-03-07T08:00:00.000Z")
    box.ship()
    assert replace_again(admin) == []
    assert replace_name(admin, NAME, for_good=True).pseudonym != done.pseudonym
    assert yard.problems() == []


def test_two_people_in_one_event(yard: Yard, box: Box) -> None:
    """The enrolment names who was enrolled and who vouched."""
    first = replace_name(yard.admin, NAME, for_good=True)
    second = replace_name(yard.admin, "S. Super", for_good=True)
    row = yard.admin.execute(
        "SELECT body FROM store.event WHERE kind = 'person_enrolled' ORDER BY sequence DESC LIMIT 1"
    ).fetchone()
    assert row is not None
    body = parsed_json(row[0])
    assert (body["name"], body["vouched_by"]) == (first.pseudonym, second.pseudonym)
    assert yard.problems() == []
    assert box.against_the_store() == []


def test_what_is_told_since_cannot_be_told_otherwise(yard: Yard, box: Box) -> None:
    admin = yard.admin
    for statement, told in (
        ("UPDATE store.event SET body = '{}'", "append-only"),
        ("UPDATE store.event SET at_utc = at_utc || ''", "append-only"),
        ("DELETE FROM store.event", "append-only"),
    ):
        with pytest.raises(psycopg.errors.InsufficientPrivilege, match=told):
            admin.execute(statement.encode())
    replace_name(admin, NAME, for_good=False)
    with pytest.raises(psycopg.errors.InsufficientPrivilege, match="append-only"):
        admin.execute("UPDATE store.event SET body = replace(body, 'inside', 'outside')")
    for statement in (
        "UPDATE store.erasure SET body_sha256 = sha256('x')",
        "DELETE FROM store.erasure",
        "TRUNCATE store.erasure",
        "UPDATE store.pseudonym SET told = 'person 00000000'",
        "UPDATE store.pseudonym SET name = 'X. Other'",
        "DELETE FROM store.pseudonym",
    ):
        with pytest.raises(psycopg.errors.InsufficientPrivilege, match="append-only"):
            admin.execute(statement.encode())
    with yard.person("K. Keeper", "keeper") as keeper:
        for statement in ("UPDATE store.event SET body = body", "DELETE FROM store.erasure"):
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                keeper.execute(statement.encode())


@pytest.mark.parametrize(
    ("tampering", "told"),
    [
        (
            "UPDATE store.event SET body = replace(body, 'Bay one', 'Bay two') "
            "WHERE kind = 'opened'",
            "not as it was told",
        ),
        (
            "UPDATE store.event SET monotonic_ns = monotonic_ns + 1 WHERE kind = 'opened'",
            "what it follows, or its place",
        ),
        (
            "UPDATE store.event SET hash = sha256('x') WHERE kind = 'opened'",
            "what it follows, or its place",
        ),
        (
            "UPDATE store.erasure SET midstate = sha256('x')",
            "what it follows, or its place",
        ),
        (
            "DELETE FROM store.erasure",
            "not what its hash was made of",
        ),
    ],
)
def test_a_store_that_was_tampered_with_is_named(
    yard: Yard, box: Box, tampering: str, told: str
) -> None:
    replace_name(yard.admin, NAME, for_good=True)
    for table in ("event", "erasure"):
        yard.admin.execute(f"ALTER TABLE store.{table} DISABLE TRIGGER USER".encode())
    yard.admin.execute(tampering.encode())
    for table in ("event", "erasure"):
        yard.admin.execute(f"ALTER TABLE store.{table} ENABLE TRIGGER USER".encode())
    assert any(told in problem for problem in yard.problems())


def test_the_box_notices_what_the_store_tells_otherwise(yard: Yard, box: Box) -> None:
    """The keeper of the tables can have the store agree with itself; the box has the event."""
    replace_name(yard.admin, NAME, for_good=True)
    assert box.against_the_store() == []
    admin = yard.admin
    for table in ("event", "erasure"):
        admin.execute(f"ALTER TABLE store.{table} DISABLE TRIGGER USER".encode())
    admin.execute(
        "UPDATE store.event SET body = replace(body, 'Bay one', 'Bay two') "
        "WHERE kind = 'opened' AND body LIKE '%person %'"
    )
    admin.execute(
        "UPDATE store.erasure r SET body_sha256 = sha256(convert_to(e.body, 'UTF8')) "
        "FROM store.event e WHERE e.job = r.job AND e.sequence = r.sequence"
    )
    for table in ("event", "erasure"):
        admin.execute(f"ALTER TABLE store.{table} ENABLE TRIGGER USER".encode())
    assert yard.problems() == []
    told = box.against_the_store()
    assert len(told) == 2
    assert all("tells the rest otherwise" in one for one in told)


@pytest.mark.parametrize(
    ("own", "told", "alike"),
    [
        ('{"by":"A. Example"}', '{"by":"person 00000000"}', True),
        ('{"by":"A. Example","x":1}', '{"by":"person 00000000","x":2}', False),
        ('{"by":"A","x":"B"}', '{"by":"person 00000000"}', False),
        ('{"a":"Ann O","b":"ann o"}', '{"a":"person 0000000a","b":"person 0000000a"}', True),
        ('{"a":"Ann O","b":"Bob P"}', '{"a":"person 0000000a","b":"person 0000000a"}', False),
        ('{"a":"Ann O","b":"Bob P"}', '{"a":"person 0000000a","b":"person 0000000b"}', True),
        ('{"name_salt":"5a"}', '{"name_salt":""}', True),
        ('{"w":"x\\"y Z"}', '{"w":"person 00000000"}', True),
    ],
)
def test_what_counts_as_the_same_but_for_names(own: str, told: str, alike: bool) -> None:
    assert only_names_went(own, told) is alike


def test_names_that_are_also_words_and_names_that_are_none(yard: Yard) -> None:
    box = box_of(yard)
    speak(box.record, "job-1", technician="Consent")
    speak(box.record, "job-2", technician='O"Neil \\ (Züg) *')
    box.ship()
    admin = yard.admin
    done = replace_name(admin, "consent", for_good=True)
    bodies = [row[0] for row in admin.execute("SELECT body FROM store.event ORDER BY 1").fetchall()]
    assert sum(done.pseudonym in body for body in bodies) == 1
    # A name of one word may be any word: in a sentence it stays.
    assert any("Ask Consent" in body for body in bodies)
    done = replace_name(admin, 'o"neil \\ (züg) *', for_good=True)
    assert done.events == 2
    assert "Neil" not in everything(admin)
    for short in ("", "  ", "A.", "%%%", ".*"):
        with pytest.raises(StoreError, match="too short"):
            replace_name(admin, short, for_good=True)
    assert replace_name(admin, "'; DROP TABLE store.event; --", for_good=True).events == 0
    assert yard.problems() == []


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    name=st.from_regex(r"[A-Za-zäöé*+.\\\"'(\[^$]{1,6} [A-Za-zß)\]|?{}/-]{1,8}", fullmatch=True),
    before=st.sampled_from(["", " ", "(", "\n", "\t", "\x01", "x", "_", "9", "é", "\\"]),
    after=st.sampled_from(["", " ", ")", "\n", ".", "x", "_", "9", "é", '"']),
)
def test_only_the_name_as_words_of_its_own_is_replaced(
    admin: Connection, name: str, before: str, after: str
) -> None:
    body = canonical_json({"other name": 1, "words": before + name + after}).decode()
    row = admin.execute(
        "SELECT store.without_name(%s, 'noted', %s, 'person 00000000')", (body, name)
    ).fetchone()
    assert row is not None
    is_word = not (before in ("x", "_", "9", "é") or after in ("x", "_", "9", "é"))
    wanted = before + ("person 00000000" if is_word else name) + after
    assert json.loads(row[0]) == {"other name": 1, "words": wanted}


def test_all_that_is_kept_about_somebody_as_a_folder(yard: Yard, box: Box, tmp_path: Path) -> None:
    chain = Chain(yard, {"one": box}, *yard.login(keeping.add_pages(yard.admin)))
    chain.person("S. North", "supervisor", "North")
    folder = tmp_path / "a-example"
    done = export_person(yard.admin, NAME, folder)
    assert (done.jobs, done.clips) == (2, 4)
    assert len(list((folder / "sound").iterdir())) == 4
    jobs = sorted((folder / "jobs").iterdir())
    assert [len(job.read_text().splitlines()) for job in jobs] == [7, 6]
    named = (folder / "named.jsonl").read_text()
    assert "person_enrolled" in named
    assert "B. Sample" not in named
    listened = [json.loads(line) for line in (folder / "listened_to_them.jsonl").open()]
    # The export itself is noted, and read before it is.
    assert len(listened) in (0, 4)
    assert yard.admin.execute("SELECT count(*) FROM store.access").fetchone() == (4,)
    assert all(file.stat().st_mode & 0o077 == 0 for file in folder.rglob("*"))
    with pytest.raises(StoreError, match="new"):
        export_person(yard.admin, NAME, folder)
    replace_name(yard.admin, NAME, for_good=False)
    again = export_person(yard.admin, NAME, tmp_path / "again")
    assert (again.jobs, again.clips) == (2, 4)
    replace_name(yard.admin, NAME, for_good=True)
    assert export_person(yard.admin, NAME, tmp_path / "gone").jobs == 0


def test_the_commands(
    yard: Yard, box: Box, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "no-settings"))
    where = yard.cluster.address(yard.database)

    def run(*words: str, code: int = 0) -> str:
        done = CliRunner().invoke(main, ["store", *words, "--store", where])
        assert done.exit_code == code, done.output
        return done.output

    keeping.add_person(yard.admin, NAME, "a.example", "technician", ("North",))
    out = tmp_path / "out"
    assert "2 jobs" in run("export", "--person", NAME, "--out", str(out))
    told = run("forget", "--person", NAME, "--keep-whose")
    assert "in 6 events of 3 jobs" in told
    assert "logs in still" in told
    assert "can no longer log in" in run("remove-person", "a.example")
    run("keep", "sound", "forever")
    run("keep", "names", "1")
    run("keep", "sound", "none", code=2)
    assert "no longer knows" in run("forget", "--person", NAME)
    assert "In 6 events names were replaced" in run("verify")
    assert NAME not in everything(yard.admin)

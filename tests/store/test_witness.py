"""The store as a witness against a box, and what is kept outside as a witness against the store."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from psycopg import Connection

from companion.errors import RecordError
from companion.store.sealing import seal_store
from companion.store.verifying import verify_store
from tests.insiders.attacks import ALONE, ATTACKS, STORE, Attack
from tests.insiders.shop import Shop, build
from tests.store.yard import Yard, work

ON_THE_BOX = [attack for attack in ATTACKS if attack.by != ALONE]


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    return build(tmp_path_factory.mktemp("shop"))


@pytest.mark.parametrize("attack", ON_THE_BOX, ids=lambda attack: attack.name)
def test_what_a_record_alone_does_not_show(yard: Yard, shop: Shop, attack: Attack) -> None:
    """What takes a seal or the box's key, or what nothing names, held against the store."""
    ours = shop.copied(yard.folder / "shop")
    box = yard.let_in("shop", "North", ours.path)
    # Its days lie ahead of the store's clock, which a keeper has to let pass.
    yard.admin.execute("SELECT store.excuse('shop', 'a shop of the future')")
    box.ship()
    assert box.against_the_store() == []
    attack.does(ours)
    try:
        named = box.against_the_store()
    except RecordError as error:
        named = [str(error)]
    assert bool(named) == (STORE in (attack.by, *attack.also)), named
    if attack.by == STORE:
        assert any(attack.named in told for told in named), named


def test_an_invented_job_with_the_boxs_own_key_among_older_ones(yard: Yard) -> None:
    """The record made anew with one job more in its middle: unbroken by itself."""
    box = yard.box(jobs=3)
    box.ship()
    for name in ("bay.record", "bay.record-wal", "bay.record-shm", "bay.record.lock"):
        (box.record.parent / name).unlink(missing_ok=True)
    work(box.record, jobs=1, first=1)
    work(box.record, jobs=1, first=9, at="2026-03-02T01:00:00.000Z")
    work(box.record, jobs=2, first=2, at="2026-03-02T12:00:00.000Z")
    told = box.against_the_store()
    assert any("session job-9: it claims mark" in line for line in told)
    assert any("session job-2" in line and "rewritten" in line for line in told)
    assert not any("session job-1:" in line for line in told)


def _as_superuser(*statements: str) -> Callable[[Connection], None]:
    """By somebody who runs the server: guards off meanwhile, and on again after it."""

    def does(admin: Connection) -> None:
        admin.execute("SET session_replication_role = replica")
        for statement in statements:
            admin.execute(statement.encode())
        admin.execute("SET session_replication_role = DEFAULT")

    return does


LAST = "(SELECT max(job) FROM store.job)"
TAMPERED: dict[str, tuple[Callable[[Connection], None], str]] = {
    "an event's words changed": (
        _as_superuser('UPDATE store.event SET body = \'{"text":"left"}\' WHERE sequence = 2'),
        "event 2: its content, or what it follows",
    ),
    "an event's date changed": (
        _as_superuser("UPDATE store.event SET at_utc = '2026-03-02T08:00:01Z' WHERE sequence = 2"),
        "event 2: its content, or what it follows",
    ),
    "an event taken out": (
        _as_superuser("DELETE FROM store.event WHERE sequence = 3"),
        "event 3 before it is missing",
    ),
    "a job's end taken out": (
        _as_superuser("DELETE FROM store.event WHERE sequence = 6"),
        "its end was dropped",
    ),
    "a job's end taken out, and its head moved": (
        _as_superuser(
            "DELETE FROM store.event WHERE sequence > 4",
            "UPDATE store.job j SET last_seq = 4, head = e.hash FROM store.event e "
            "WHERE e.job = j.job AND e.sequence = 4",
        ),
        "is gone or another one than the box signed",
    ),
    "a whole job taken out": (
        _as_superuser(
            f"DELETE FROM store.event WHERE job = {LAST}",
            f"DELETE FROM store.job WHERE job = {LAST}",
        ),
        "is gone or another one than the box signed",
    ),
    "a job and its marks taken out": (
        _as_superuser(
            f"DELETE FROM store.event WHERE job = {LAST}",
            f"DELETE FROM store.mark m USING store.job j WHERE j.job = {LAST} AND m.job_id = j.id",
            f"DELETE FROM store.job WHERE job = {LAST}",
        ),
        "an event under one of its seals is gone",
    ),
    "an event put in": (
        _as_superuser(
            "INSERT INTO store.event SELECT month, box, job, 7, site, monotonic_ns, clock_trusted, "
            "kind, at_utc, sha256('x'), body FROM store.event WHERE sequence = 6 LIMIT 1"
        ),
        "event 7",
    ),
    "a mark forged": (
        _as_superuser("UPDATE store.mark SET head = sha256('x') WHERE what = 'written'"),
        "was not signed with the key",
    ),
    "a mark of another key": (
        _as_superuser("UPDATE store.mark SET public_key = sha256('x')"),
        "is by a key that is not this box's",
    ),
    "the box's last mark moved": (
        _as_superuser("UPDATE store.box SET last_mark = last_mark - 1"),
        "its last mark",
    ),
    "the link of the box's last mark changed": (
        _as_superuser("UPDATE store.box SET last_link = sha256('x')"),
        "was changed",
    ),
    "a head under a box's seal changed": (
        _as_superuser("UPDATE store.sealed_head SET sequence = 2 WHERE number = 1"),
        "over other heads than these",
    ),
    "a seal of the store taken out": (
        _as_superuser("DELETE FROM store.seal_leaf", "DELETE FROM store.seal WHERE seal = 1"),
        "the seal of",
    ),
    "a seal of the store changed": (
        _as_superuser("UPDATE store.seal SET root = sha256('x') WHERE seal = 1"),
        "seal 1 is gone or was changed",
    ),
    "a guard taken off": (
        _as_superuser("DROP TRIGGER never_changed ON store.event"),
        "the guard never_changed of event is off",
    ),
    "a guard switched off": (
        _as_superuser("ALTER TABLE store.mark DISABLE TRIGGER never_changed"),
        "the guard never_changed of mark is off",
    ),
    "a trigger put in": (
        _as_superuser(
            "CREATE TRIGGER mine BEFORE INSERT ON store.event FOR EACH ROW "
            "EXECUTE FUNCTION store.never_changed()"
        ),
        "the guard mine of event",
    ),
    "the check of signatures made harmless": (
        _as_superuser(
            "CREATE OR REPLACE FUNCTION store.is_signature(public_key bytea, signature bytea, "
            "message bytea) RETURNS boolean LANGUAGE sql AS 'SELECT true'"
        ),
        "its function is_signature is another one",
    ),
    "rights to write given": (
        _as_superuser("GRANT UPDATE ON store.event TO companion_keeper"),
        "rights on event were given: UPDATE to companion_keeper",
    ),
    "everybody let see everything": (
        _as_superuser("GRANT SELECT ON store.event TO PUBLIC"),
        "rights on event were given: SELECT to everybody",
    ),
    "rows no longer kept apart": (
        _as_superuser("ALTER TABLE store.event DISABLE ROW LEVEL SECURITY"),
        "the rows of event are no longer kept apart",
    ),
}


@pytest.mark.parametrize("name", TAMPERED)
def test_what_the_keeper_of_the_server_changes_is_named(yard: Yard, name: str) -> None:
    does, wanted = TAMPERED[name]
    yard.box(jobs=2).ship()
    seal = seal_store(yard.admin)
    assert verify_store(yard.admin, seal, seal.phrase).problems == []
    does(yard.admin)
    told = [str(problem) for problem in verify_store(yard.admin, seal).problems]
    assert any(wanted in line for line in told), told


def test_a_store_put_back_from_before_shows_against_a_seal_and_against_the_box(
    yard: Yard,
) -> None:
    box = yard.box()
    box.ship()
    work(box.record, first=2)
    copy = f"{yard.database}_older"
    # A copy of a database needs nobody connected to it.
    yard.admin.close()
    yard.cluster.make_database(copy, template=yard.database)
    with yard.cluster.admin(yard.database) as now:
        box.ship()
        seal = seal_store(now)
    with yard.cluster.admin(copy) as older:
        assert verify_store(older).problems == []
        told = [str(problem) for problem in verify_store(older, seal).problems]
        by_phrase = [str(p) for p in verify_store(older, root=seal.phrase).problems]
    yard.cluster.drop_database(copy)
    assert any("is not among its own" in line for line in told)
    assert any("its mark" in line and "is gone" in line for line in told)
    assert any("never had the root" in line for line in by_phrase)


def test_seals_follow_each_other_and_the_keeper_alone_makes_them(yard: Yard) -> None:
    box = yard.box()
    with yard.person("K. Keeper", "keeper") as keeper:
        first = seal_store(keeper)
        box.ship()
        second = seal_store(keeper)
        assert verify_store(keeper, first).problems == []
        assert verify_store(keeper, second, first.phrase).problems == []
    assert second.previous == first.root
    assert [leaf.mark for leaf in second.leaves] == [5]


def test_an_auditor_verifies_and_a_copied_record_is_held_against_a_named_box(yard: Yard) -> None:
    from companion.store.witness import witness

    one, two = yard.box("one"), yard.box("two")
    one.ship()
    two.ship()
    elsewhere = yard.folder / "elsewhere"
    shutil.copytree(one.record.parent, elsewhere)
    copied = elsewhere / Path(one.record).name
    with yard.person("A. Auditor", "auditor") as auditor:
        assert verify_store(auditor).problems == []
        assert witness(copied, auditor, "one").findings == ()
        assert witness(copied, auditor, "two").findings != ()

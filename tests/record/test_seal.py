"""A seal stands for every job as it was, can be kept in three ways, and grows with the record."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record import Database, Entry, SqliteLog
from companion.record.audit.check_phrase import BITS, WORDS, check_phrase, same_phrase
from companion.record.audit.seal import (
    Seal,
    make_seal,
    proof_of,
    read_proof,
    read_seal,
    sealed_heads,
    write_outside,
)
from companion.record.audit.verify import Outside, verify


@pytest.fixture
def two_jobs(database: Database, three_entries: list[Entry]) -> Database:
    for session_id in ("s1", "s2"):
        SqliteLog(database, database.create_session(session_id)).append(three_entries)
    return database


def test_a_leaf_is_added_only_for_a_job_that_has_grown(two_jobs: Database) -> None:
    first = make_seal(two_jobs)
    assert [(leaf.session, leaf.seq) for leaf in first.leaves] == [("s1", 3), ("s2", 3)]
    again = make_seal(two_jobs)
    assert (again.root, again.leaves) == (first.root, first.leaves)
    SqliteLog(two_jobs, "s1").append([Entry("noted", {})])
    third = make_seal(two_jobs)
    assert [(leaf.session, leaf.seq) for leaf in third.leaves] == [("s1", 3), ("s2", 3), ("s1", 4)]
    assert third.root != first.root


def test_every_earlier_root_holds_for_ever(two_jobs: Database, record_path: Path) -> None:
    seals = [make_seal(two_jobs)]
    for number in range(5):
        SqliteLog(two_jobs, "s2").append([Entry("noted", {"n": number})])
        seals.append(make_seal(two_jobs))
    for seal in seals:
        for outside in (Outside(seal=seal), Outside(root=seal.root), Outside(root=seal.phrase)):
            assert verify(record_path, outside=outside) == []


def test_a_job_without_events_is_sealed_too(database: Database, record_path: Path) -> None:
    database.create_session("s1")
    seal = make_seal(database)
    assert [(leaf.session, leaf.seq) for leaf in seal.leaves] == [("s1", 0)]
    assert verify(record_path, outside=Outside(seal=seal)) == []
    assert make_seal(database).leaves == seal.leaves


def test_an_empty_record_has_the_root_of_the_empty_tree(database: Database) -> None:
    assert make_seal(database).root == sha256(b"").hexdigest()


def test_a_seal_kept_in_a_file_comes_back(two_jobs: Database, tmp_path: Path) -> None:
    seal = make_seal(two_jobs)
    write_outside(tmp_path / "monday.seal", seal)
    assert read_seal(tmp_path / "monday.seal") == seal
    with pytest.raises(RecordError, match="wanted: a new file"):
        write_outside(tmp_path / "monday.seal", seal)


@pytest.mark.parametrize(
    "change", [{"root": "0" * 64}, {"phrase": "acorn " * 8}, {"leaves": []}, {"format": "other"}]
)
def test_a_seal_that_was_changed_itself_is_refused(
    two_jobs: Database, tmp_path: Path, change: dict[str, object]
) -> None:
    told = json.loads(make_seal(two_jobs).model_dump_json()) | change
    (tmp_path / "monday.seal").write_text(json.dumps(told))
    with pytest.raises(RecordError, match=r"monday\.seal"):
        read_seal(tmp_path / "monday.seal")


@pytest.mark.parametrize(
    "content", ["", "nonsense", "[]", "{}", '{"format":"bay-companion seal 1"}']
)
def test_a_file_that_is_no_seal_is_named(tmp_path: Path, content: str) -> None:
    (tmp_path / "x").write_text(content)
    with pytest.raises(RecordError, match="is not a valid seal"):
        read_seal(tmp_path / "x")


def test_a_proof_shows_one_job_and_tells_nothing_of_the_others(
    two_jobs: Database, tmp_path: Path, record_path: Path
) -> None:
    seal = make_seal(two_jobs)
    write_outside(tmp_path / "s2.proof", proof_of(seal, "s2"))
    assert "s1" not in (tmp_path / "s2.proof").read_text()
    proof = read_proof(tmp_path / "s2.proof")
    assert (proof.root, proof.leaf.head) == (seal.root, two_jobs.session("s2").head_hash)
    assert verify(record_path, outside=Outside(proof=proof)) == []
    with pytest.raises(RecordError, match="not under this seal"):
        proof_of(seal, "s3")


def test_a_proof_that_leads_elsewhere_is_refused(two_jobs: Database, tmp_path: Path) -> None:
    proof = proof_of(make_seal(two_jobs), "s2")
    write_outside(tmp_path / "s2.proof", proof.model_copy(update={"place": 0}))
    with pytest.raises(RecordError, match="does not lead to its root"):
        read_proof(tmp_path / "s2.proof")


def test_the_guards_keep_the_sealed_heads(two_jobs: Database, record_path: Path) -> None:
    make_seal(two_jobs)
    stranger = sqlite3.connect(record_path)
    for statement in (
        "UPDATE sealed_head SET seq = 1",
        "DELETE FROM sealed_head",
        "INSERT INTO sealed_head VALUES (9, 's1', 3)",
        "INSERT OR REPLACE INTO sealed_head VALUES (1, 's1', 1)",
        "INSERT INTO sealed_head (session_id, seq) VALUES ('s1', 3)",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            stranger.execute(statement)
    stranger.close()
    assert len(sealed_heads(two_jobs)) == 2


def test_a_root_that_is_none_is_refused(two_jobs: Database, record_path: Path) -> None:
    for root in ("abc", "g" * 64, "walnut otter"):
        with pytest.raises(RecordError, match="neither a root nor a check phrase"):
            verify(record_path, outside=Outside(root=root))
    (finding,) = verify(record_path, outside=Outside(root="walnut otter " * 4))
    assert finding.kind == "rolled_back"


# The phrase


def test_the_words_are_256_that_are_told_apart_by_their_beginning() -> None:
    assert len(WORDS) == len(set(WORDS)) == 256
    assert list(WORDS) == sorted(WORDS)
    assert len({word[:4] for word in WORDS}) == 256
    assert all(word.isascii() and word.isalpha() and word.islower() for word in WORDS)


def test_a_phrase_carries_the_first_bits_of_the_root() -> None:
    root = bytes(range(32))
    assert check_phrase(root) == " ".join(WORDS[:8])
    assert BITS == 64
    assert check_phrase(root[:7] + b"\xff" * 25) != check_phrase(root)
    assert check_phrase(root[:8] + b"\xff" * 24) == check_phrase(root)


def test_a_phrase_may_be_typed_as_it_was_heard() -> None:
    root = sha256(b"a record").digest()
    assert same_phrase(check_phrase(root).upper().replace(" ", ", "), root)
    assert not same_phrase(check_phrase(root).rsplit(" ", 1)[0], root)


def test_the_form_of_a_seal_is_told_in_it(two_jobs: Database) -> None:
    assert isinstance(make_seal(two_jobs), Seal)
    assert json.loads(make_seal(two_jobs).model_dump_json())["format"] == "bay-companion seal 1"


def test_leaves_that_stand_in_another_order_are_named(
    two_jobs: Database, record_path: Path
) -> None:
    """Every job of the seal is there unchanged; only the order of the leaves is another."""
    seal = make_seal(two_jobs)
    with closing(sqlite3.connect(record_path, isolation_level=None)) as db:
        guards = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        for old, new in ((1, 9), (2, 1), (9, 2)):
            db.execute("UPDATE sealed_head SET number = ? WHERE number = ?", (new, old))
        for _, sql in guards:
            db.execute(sql)
    assert "sealed" not in {finding.kind for finding in verify(record_path)}
    named = [one for one in verify(record_path, outside=Outside(seal=seal)) if one.kind == "sealed"]
    assert [(one.session_id, one.seq) for one in named] == [("s1", 0)]
    assert "leaf 1 of the seal" in named[0].what


def test_another_opening_than_the_sealed_one_is_said_of_the_job_and_of_no_event(
    database: Database, record_path: Path
) -> None:
    database.create_session("s1")
    seal = make_seal(database)
    with closing(sqlite3.connect(record_path, isolation_level=None)) as db:
        guards = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        db.execute("UPDATE session SET opened_utc = '2031-04-01T08:00:00.000Z'")
        for _, sql in guards:
            db.execute(sql)
    told = [str(one) for one in verify(record_path, outside=Outside(seal=seal))]
    assert any(
        one.startswith("session s1: it is not the opening that the seal of") for one in told
    ), told

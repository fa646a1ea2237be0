"""When a job is over: it is signed off and corrected by new events, with PIN, name or key."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.facts.afterwards import Amended, Signature, SignedOff
from companion.record import Database, Entry, SqliteLog
from companion.record.afterwards import amendable, how_it_ended, statement
from companion.record.audit.keys import (
    make_key,
    needs_passphrase,
    public_hex,
    read_key,
    read_public_key,
)
from companion.record.audit.verify import Outside, verify
from companion.record.port import StoredEvent


@pytest.fixture
def over(database: Database, three_entries: list[Entry]) -> SqliteLog:
    """The log of a job that is over."""
    log = SqliteLog(database, database.create_session("s1"))
    log.append([*three_entries, Entry("finished", {"result": "inside"})])
    return log


def signed_off(log: SqliteLog, **changes: object) -> SignedOff:
    last = how_it_ended(log.events(log.session_id)).last
    body = {"by": "B. Sample", "role": "supervisor", "how": "typed"}
    return SignedOff.model_validate(body | {"events": last.seq, "head": last.hash} | changes)


def append(log: SqliteLog, fact: SignedOff | Amended) -> StoredEvent:
    (event,) = log.append([fact])
    return event


def test_a_sign_off_is_an_event_over_the_head_before_it(over: SqliteLog, record_path: Path) -> None:
    head = over.head_hash
    event = append(over, signed_off(over))
    assert (event.body["head"], event.body["events"]) == (head, 4)
    assert event.previous_hash == head
    assert verify(record_path) == []


def test_both_sign_and_a_correction_comes_between(over: SqliteLog, record_path: Path) -> None:
    append(over, signed_off(over, by="A. Example", role="technician", how="typed"))
    wrong = amendable(over.events("s1"), 3)
    append(over, Amended(by="B. Sample", how="typed", event=wrong.seq, now="774", why="misread"))
    append(over, signed_off(over))
    kinds = [event.kind for event in over.events("s1")][4:]
    assert kinds == ["signed_off", "amended", "signed_off"]
    assert list(over.events("s1"))[2] == wrong
    assert verify(record_path) == []


def test_a_job_that_is_not_over_is_not_signed_off(
    database: Database, three_entries: list[Entry]
) -> None:
    log = SqliteLog(database, database.create_session("s2"))
    with pytest.raises(RecordError, match="is not over"):
        how_it_ended(log.events("s2"))
    log.append(three_entries)
    with pytest.raises(RecordError, match="s2 is not over"):
        how_it_ended(log.events("s2"))
    with pytest.raises(RecordError, match="s2 is not over"):
        amendable(log.events("s2"), 1)


def test_a_job_that_stopped_is_over_until_somebody_goes_on_with_it(database: Database) -> None:
    log = SqliteLog(database, database.create_session("s3"))
    log.append([Entry("stopped", {"why": "the floor is too uneven"})])
    over = how_it_ended(log.events("s3"))
    assert (over.result, over.why) == ("stopped", "the floor is too uneven")
    log.append([Entry("accepted", {"reading_id": "left_arm_mm", "value": "775", "unit": "mm"})])
    with pytest.raises(RecordError, match="s3 is not over"):
        how_it_ended(log.events("s3"))
    log.append([Entry("finished", {"result": "inside"})])
    assert (how_it_ended(log.events("s3")).result, how_it_ended(log.events("s3")).why) == (
        "inside",
        "",
    )


def test_a_finished_job_of_which_no_result_was_recorded_is_over(database: Database) -> None:
    log = SqliteLog(database, database.create_session("s4"))
    log.append([Entry("finished", {})])
    assert how_it_ended(log.events("s4")).result == "finished"


def test_an_event_that_there_is_not_is_not_corrected(over: SqliteLog) -> None:
    with pytest.raises(RecordError, match="no event 9; wanted: 1 to 4"):
        amendable(over.events("s1"), 9)


@pytest.mark.parametrize("change", [{"head": "0" * 64}, {"events": 3}])
def test_a_sign_off_of_another_state_is_found(
    over: SqliteLog, record_path: Path, change: dict[str, object]
) -> None:
    append(over, signed_off(over, **change))
    (finding,) = verify(record_path)
    assert (finding.seq, finding.kind) == (5, "signature")


# Keys


def with_signature(log: SqliteLog, key_file: Path, **changes: object) -> SignedOff:
    key, signed = read_key(key_file), signed_off(log)
    value = key.sign(statement(log.session_id, signed)).hex()
    signature = Signature(public_key=public_hex(key), value=value)
    return signed.model_copy(update={"signature": signature, **changes})


def test_a_signature_holds_for_its_key_and_for_no_other(
    over: SqliteLog, tmp_path: Path, record_path: Path
) -> None:
    own, other = make_key(tmp_path / "own.key"), make_key(tmp_path / "other.key")
    append(over, with_signature(over, tmp_path / "own.key"))
    assert verify(record_path) == []
    assert verify(record_path, outside=Outside(keys=frozenset({own, other}))) == []
    kinds = {f.kind for f in verify(record_path, outside=Outside(keys=frozenset({other})))}
    assert kinds == {"signature"}


@pytest.mark.parametrize("change", [{"by": "C. Specimen"}, {"role": "technician"}, {"remark": "x"}])
def test_a_signature_moved_to_another_sign_off_is_found(
    over: SqliteLog, tmp_path: Path, record_path: Path, change: dict[str, object]
) -> None:
    make_key(tmp_path / "own.key")
    append(over, with_signature(over, tmp_path / "own.key", **change))
    (finding,) = verify(record_path)
    assert (finding.seq, finding.kind) == (5, "signature")
    assert "was not made over this sign-off" in finding.what


def test_where_a_key_is_asked_for_a_sign_off_without_one_is_found(
    over: SqliteLog, tmp_path: Path, record_path: Path
) -> None:
    key = make_key(tmp_path / "own.key")
    append(over, signed_off(over))
    (finding,) = verify(record_path, outside=Outside(keys=frozenset({key})))
    assert finding.what == "no sign-off of it is signed with a key given"


def test_a_key_is_for_its_owner_is_never_overwritten_and_may_have_a_passphrase(
    tmp_path: Path,
) -> None:
    path = tmp_path / "own.key"
    public = make_key(path, "correct horse")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert needs_passphrase(path)
    assert public_hex(read_key(path, "correct horse")) == public
    assert read_public_key(tmp_path / "own.key.pub") == public
    for wrong in ("", "wrong"):
        with pytest.raises(RecordError, match="cannot be opened as a key"):
            read_key(path, wrong)
    with pytest.raises(RecordError, match="never overwritten"):
        make_key(path)


def test_a_file_that_is_no_key_is_named(tmp_path: Path) -> None:
    (tmp_path / "x").write_text("nonsense")
    with pytest.raises(RecordError, match="cannot be opened as a key"):
        read_key(tmp_path / "x")
    with pytest.raises(RecordError, match="is not a public key"):
        read_public_key(tmp_path / "x")
    with pytest.raises(RecordError, match="cannot be read"):
        read_key(tmp_path / "nowhere")


@pytest.mark.parametrize(
    ("kind", "told"), [(SignedOff.KIND, "a sign-off"), (Amended.KIND, "a correction")]
)
def test_of_a_form_that_is_not_known_it_is_told_what_it_was(
    over: SqliteLog, record_path: Path, kind: str, told: str
) -> None:
    over.append([Entry(kind, {"by": 4711})])
    (finding,) = verify(record_path)
    assert f"it is {told} of a form not known" in str(finding)

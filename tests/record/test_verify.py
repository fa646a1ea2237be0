"""Whatever is changed behind the record's back, verify names where it begins."""

from __future__ import annotations

import json
import shutil
import sqlite3
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import RecordError
from companion.record import ClipStore, Entry, FixedClock, SqliteLog, clips_folder, open_record
from companion.record.audit import verify as verify_module
from companion.record.audit.verify import examine, verify
from companion.record.box import key_path, public_key_path
from companion.record.canonical import stored_event
from companion.record.guards import schema_problems
from companion.record.migrations import TRIGGER_NAMES
from companion.record.port import Stamp

EVENT_COUNT = 12


@dataclass(frozen=True)
class Sealed:
    """A finished record of one session, its head, and the clip that event 6 names."""

    path: Path
    head: str
    clip: Path

    @property
    def clips(self) -> ClipStore:
        return ClipStore(clips_folder(self.path))

    def copied_to(self, folder: Path) -> Sealed:
        shutil.copytree(self.path.parent, folder, dirs_exist_ok=True)
        return Sealed(
            folder / self.path.name, self.head, clips_folder(folder / "x") / self.clip.name
        )

    def tamper(self, *statements: str) -> None:
        """Change the file as someone with any SQLite tool could: guards off, change, guards on."""
        stranger = sqlite3.connect(self.path)
        guards = stranger.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        kept = guards.fetchall()
        for name, _ in kept:
            stranger.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            stranger.execute(statement)
        for _, sql in kept:
            stranger.execute(sql)
        stranger.commit()
        stranger.close()


@pytest.fixture(scope="session")
def original(tmp_path_factory: pytest.TempPathFactory) -> Sealed:
    path = tmp_path_factory.mktemp("shop") / "bay.record"
    clips = ClipStore(clips_folder(path))
    with open_record(path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session("s1"), clips)
        sha256 = clips.put(b"\x00\x01" * 4000)
        for number in range(1, EVENT_COUNT + 1):
            clip = sha256 if number == 6 else None
            log.append([Entry("heard", {"n": number, "clip_sha256": clip, "words": "seven"})])
        head = log.head_hash
    return Sealed(path, head, clips.get(sha256))


@pytest.fixture
def sealed(original: Sealed, tmp_path: Path) -> Sealed:
    return original.copied_to(tmp_path)


def test_an_untouched_record_has_no_findings(sealed: Sealed) -> None:
    assert verify(sealed.path, sealed.clips, {"s1": sealed.head}) == []


@pytest.mark.parametrize(
    "change",
    [
        "kind = 'said'",
        "at_utc = '2030-01-01T08:00:00.000Z'",
        "at_utc = 'yesterday'",
        "monotonic_ns = monotonic_ns + 1",
        "clock_trusted = 0",
        "body = replace(body, 'seven', 'eleven')",
        "body = replace(body, ',', ', ')",
        "body = substr(body, 1, length(body) - 1) || ',\"n\":99}'",
        "body = 'no json'",
        "body = '[]'",
        "hash = '" + "0" * 64 + "'",
    ],
)
@settings(max_examples=4, deadline=None)
@given(seq=st.integers(1, EVENT_COUNT))
def test_a_changed_event_is_the_one_that_is_named(
    original: Sealed, tmp_path_factory: pytest.TempPathFactory, change: str, seq: int
) -> None:
    sealed = original.copied_to(tmp_path_factory.mktemp("tampered"))
    sealed.tamper(f"UPDATE event SET {change} WHERE seq = {seq}")
    findings = [finding for finding in verify(sealed.path) if finding.kind == "changed"]
    assert [(finding.session_id, finding.seq) for finding in findings] == [("s1", seq)]


def test_a_changed_event_with_its_hash_made_again_breaks_the_chain_after_it(
    sealed: Sealed,
) -> None:
    stranger = sqlite3.connect(sealed.path)
    at, mono, trusted, previous = stranger.execute(
        "SELECT at_utc, monotonic_ns, clock_trusted, previous_hash FROM event WHERE seq = 5"
    ).fetchone()
    stranger.close()
    body = {"n": 5, "clip_sha256": None, "words": "nine"}
    stamp = Stamp(at, mono, bool(trusted))
    forged = stored_event("s1", 5, Entry("heard", body), stamp, previous).hash
    text = json.dumps(body, sort_keys=True, separators=(",", ":"))
    sealed.tamper(f"UPDATE event SET body = '{text}', hash = '{forged}' WHERE seq = 5")
    (finding,) = verify(sealed.path)
    assert (finding.seq, finding.kind) == (6, "chain")
    assert "does not follow event 5" in finding.what


def test_a_missing_event_is_a_gap(sealed: Sealed) -> None:
    sealed.tamper("DELETE FROM event WHERE seq = 4")
    (finding,) = verify(sealed.path)
    assert (finding.seq, finding.kind) == (5, "gap")
    assert "event 4" in finding.what


def test_a_dropped_tail_shows_against_the_box_s_mark_and_a_head_kept_elsewhere(
    sealed: Sealed,
) -> None:
    sealed.tamper("DELETE FROM event WHERE seq > 9")
    (own,) = verify(sealed.path)
    assert (own.seq, own.kind) == (9, "box")
    _, finding = verify(sealed.path, expected_heads={"s1": sealed.head})
    assert (finding.seq, finding.kind) == (9, "head")
    assert "tail was dropped" in finding.what


def test_events_added_after_the_given_head_are_said_to_be_so(sealed: Sealed) -> None:
    with open_record(sealed.path, FixedClock()) as database:
        SqliteLog(database, "s1").append([Entry("noted", {})])
    (finding,) = verify(sealed.path, expected_heads={"s1": sealed.head.upper()})
    assert finding.kind == "head"
    assert f"event {EVENT_COUNT}" in finding.what


def test_a_whole_session_taken_out_shows_against_its_head(sealed: Sealed) -> None:
    sealed.tamper("DELETE FROM event", "DELETE FROM session")
    (own,) = verify(sealed.path)
    assert (own.session_id, own.kind) == ("s1", "box")
    _, finding = verify(sealed.path, expected_heads={"s1": sealed.head})
    assert "whole session is missing" in finding.what


def test_a_changed_opening_breaks_the_first_event(sealed: Sealed) -> None:
    sealed.tamper("UPDATE session SET opened_utc = '2029-01-01T00:00:00Z'")
    (finding,) = verify(sealed.path)
    assert (finding.seq, finding.kind) == (1, "chain")


def test_events_without_their_session_are_orphans(sealed: Sealed) -> None:
    sealed.tamper("DELETE FROM session")
    assert [(finding.session_id, finding.kind) for finding in verify(sealed.path)] == [
        ("s1", "orphan"),
        ("s1", "box"),
    ]


@pytest.mark.parametrize("guard", sorted(TRIGGER_NAMES))
def test_a_guard_left_off_is_named(sealed: Sealed, guard: str) -> None:
    stranger = sqlite3.connect(sealed.path)
    stranger.execute(f"DROP TRIGGER {guard}")
    stranger.close()
    (finding,) = verify(sealed.path)
    assert finding.kind == "guards"
    assert guard in finding.what


def test_a_missing_clip_is_named_with_its_event(sealed: Sealed) -> None:
    sealed.clip.unlink()
    (finding,) = verify(sealed.path, sealed.clips)
    assert (finding.seq, finding.kind) == (6, "clip_missing")


def test_a_changed_clip_is_named_with_its_event(sealed: Sealed) -> None:
    content = bytearray(sealed.clip.read_bytes())
    content[-1] ^= 1
    sealed.clip.write_bytes(content)
    (finding,) = verify(sealed.path, sealed.clips)
    assert (finding.seq, finding.kind) == (6, "clip_changed")


def test_a_finding_reads_as_a_sentence(sealed: Sealed) -> None:
    sealed.tamper("DELETE FROM event WHERE seq = 4")
    assert str(verify(sealed.path)[0]) == "session s1, event 5: event 4 before it is missing"


def test_a_file_that_is_not_there_is_an_error_not_a_finding(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no such record file"):
        verify(tmp_path / "nowhere.record")


def test_the_marks_of_one_box_are_told_in_one_run_and_those_of_another_in_the_next(
    record_path: Path,
) -> None:
    with open_record(record_path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session("s1"))
        for text in ("Left.", "Right."):
            log.append([Entry("said", {"text": text})])
    key_path(record_path).unlink()
    public_key_path(record_path).unlink()
    with open_record(record_path, FixedClock("2031-01-01T00:00:00.000Z")) as database:
        SqliteLog(database, database.create_session("s2")).append([Entry("said", {})])
    runs = [message.args for message in examine(record_path).told if message.id == "verify-marks"]
    assert [(run["first"], run["last"]) for run in runs] == [("1", "3"), ("4", "6")]


def test_a_box_with_a_new_key_signs_that_it_is_there_and_that_is_no_finding(
    record_path: Path,
) -> None:
    """Where the old key signed all there is; what the new one found was not written before keys."""
    with open_record(record_path, FixedClock()) as database:
        SqliteLog(database, database.create_session("s1")).append([Entry("said", {})])
    key_path(record_path).unlink()
    public_key_path(record_path).unlink()
    open_record(record_path).close()
    examined = examine(record_path)
    assert examined.findings == ()
    runs = [message.args for message in examined.told if message.id == "verify-marks"]
    assert [(run["first"], run["last"]) for run in runs] == [("1", "2"), ("3", "3")]
    assert not any(message.id == "verify-found" for message in examined.told)
    open_record(record_path).close()
    assert examine(record_path).told == examined.told


def test_a_record_with_nothing_in_it_names_no_box(record_path: Path) -> None:
    open_record(record_path).close()
    assert verify(record_path) == []


def test_what_was_checked_is_counted(sealed: Sealed) -> None:
    with open_record(sealed.path, FixedClock()) as database:
        SqliteLog(database, database.create_session("s2")).append([Entry("said", {})])
    checked = examine(sealed.path).told[0].args
    assert (checked["sessions"], checked["events"]) == (2, EVENT_COUNT + 1)


def test_a_job_that_goes_on_meanwhile_is_looked_at_as_it_was(
    sealed: Sealed, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One moment of the record is checked, though a writer adds to it between two looks."""
    looked_at = schema_problems

    def and_a_writer(connection: sqlite3.Connection) -> list[str]:
        found = looked_at(connection)
        with open_record(sealed.path, FixedClock()) as database:
            SqliteLog(database, database.create_session("s2")).append([Entry("said", {})])
        return list(found)

    monkeypatch.setattr(verify_module, "schema_problems", and_a_writer)
    checked = examine(sealed.path).told[0].args
    assert (checked["sessions"], checked["events"]) == (1, EVENT_COUNT)

"""Months later at the terminal: look, check, seal, copy, sign, correct, let sound go."""

from __future__ import annotations

import json
import re
import shutil
import time
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.cli import main
from companion.job.loader import JobPaths
from companion.record import (
    ClipStore,
    Entry,
    FixedClock,
    SqliteLog,
    clips_folder,
    open_for_reading,
    open_record,
)
from companion.record.retention import expire_clips
from companion.runtime import assembly
from companion.runtime.loop import replay_record
from tests.rendered import render_report


def companion(*arguments: str | Path, typed: str = "", code: int = 0) -> Result:
    result = CliRunner().invoke(main, [str(a) for a in arguments], input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == code, result.output
    return result


@pytest.fixture
def record(two_jobs_copied: Path) -> Path:
    return two_jobs_copied


def last_session(record: Path) -> str:
    with open_for_reading(record) as database:
        return database.sessions()[-1].session_id


def last_events(record: Path, count: int = 1) -> list[tuple[str, dict[str, object]]]:
    with open_for_reading(record) as database:
        events = list(database.events(last_session(record)))
    return [(event.kind, dict(event.body)) for event in events[-count:]]


# Looking


def test_times_at_the_terminal_are_local_and_say_so(
    record: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    here = ("--record", record)
    in_utc = companion("review", "list", *here).output
    assert "Times are UTC." in in_utc
    monkeypatch.setenv("TZ", "EST+5")
    time.tzset()
    try:
        listed, shown = (companion("review", name, *here).output for name in ("list", "show"))
    finally:
        monkeypatch.undo()
        time.tzset()
    assert "Times are local, UTC-05:00." in listed
    assert "Times are local, UTC-05:00." in shown
    utc, there = (re.findall(r"\d{4}-\d\d-\d\d \d\d:\d\d", text)[0] for text in (in_utc, listed))
    apart = datetime.fromisoformat(utc) - datetime.fromisoformat(there)
    assert apart == timedelta(hours=5)


def test_the_list_shows_the_newest_job_first_with_its_names(record: Path) -> None:
    lines = companion("review", "list", "--record", record).output.splitlines()
    assert lines[1].split()[0] == last_session(record)
    assert "Simulated technician" in lines[1]
    assert "inside" in lines[1]
    assert lines[-1] == "1 to 2 of 2"


def test_the_list_is_filtered_and_paged(record: Path) -> None:
    nobody = companion("review", "list", "--record", record, "--technician", "nobody")
    assert (
        nobody.output.splitlines()[-1]
        == "No job fits all of that. Leave out an option to see more."
    )
    paged = companion("review", "list", "--record", record, "--limit", "1")
    assert paged.output.splitlines()[-1] == "1 to 1 of 2; continue with --page 2"
    words = companion("review", "list", "--record", record, "--text", "chocked")
    assert words.output.splitlines()[-1] == "1 to 2"
    wrong = companion("review", "list", "--record", record, "--since", "May", code=1)
    assert "wanted: YYYY-MM-DD" in wrong.output


def test_a_search_shows_each_job_and_the_events_that_hold_the_words(record: Path) -> None:
    told = companion("review", "search", "wheels chocked", "--record", record).output
    assert told.splitlines()[0].startswith(last_session(record))
    assert re.search(r"^ +\d+ said +Brake on, wheels chocked", told, re.MULTILINE)
    none = companion("review", "search", "giraffe", "--record", record).output
    assert none == "Nothing was found.\n"


def test_a_job_is_shown_line_by_line(record: Path) -> None:
    told = companion("review", "show", "--record", record).output
    with open_for_reading(record) as database:
        session = database.sessions()[-1]
    assert f"head {session.head_hash}, {session.event_count} events" in told
    assert len(told.splitlines()) >= session.event_count + 2
    part = companion(
        "review", "show", session.session_id, "--from", "11", "--count", "2", "--record", record
    ).output.splitlines()
    assert "Your voice is personal data." in part[2]
    assert len(part) == 4


def test_what_a_terminal_would_obey_is_not_passed_on(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session())
        log.append([Entry("opened", {"technician": "\x1b[31mred\x07 [bold]x[/bold]"})])
        log.append([Entry("heard", {"words": "\x1b]0;title\x07 yes"})])
    for command in (["list"], ["show"], ["search", "yes"], ["search", "red"]):
        told = companion("review", *command, "--record", path).output
        assert "\x1b" not in told
        assert "\x07" not in told
    assert "[bold]x[/bold]" in companion("review", "list", "--record", path).output


@pytest.mark.parametrize("form", ["jsonl", "csv", "readings", "parquet", "readings-parquet"])
def test_every_job_is_exported_in_every_form(record: Path, tmp_path: Path, form: str) -> None:
    out = tmp_path / f"all.{form}"
    told = companion("review", "export", "--all", "--form", form, "--out", out, "--record", record)
    count = int(told.output.split()[0])
    with open_for_reading(record) as database:
        kinds = [e.kind for s in database.sessions() for e in database.events(s.session_id)]
    assert count == (kinds.count("accepted") if "readings" in form else len(kinds))
    assert out.stat().st_size > 0


def test_parquet_into_the_terminal_is_refused(record: Path) -> None:
    companion("export", "--form", "parquet", "--record", record, code=2)


# Sealing and checking


def test_a_seal_is_kept_and_held_against_the_record(record: Path, tmp_path: Path) -> None:
    kept = tmp_path / "monday.seal"
    told = companion("seal", "--out", kept, "--record", record).output
    root = re.search(r"^Root +([0-9a-f]{64})$", told, re.MULTILINE)
    phrase = re.search(r"^Phrase +((?:[a-z]+ ){7}[a-z]+) +\(64 bits\)$", told, re.MULTILINE)
    assert root is not None
    assert phrase is not None
    for option in (("--seal", kept), ("--root", root[1]), ("--root", phrase[1])):
        assert companion("verify", *option, "--record", record).output.startswith("Unbroken:")
        assert (
            "nothing kept elsewhere" not in companion("verify", *option, "--record", record).output
        )
    assert (
        "Give --head, --seal, --root or --store" in companion("verify", "--record", record).output
    )
    assert "already exists" in companion("seal", "--out", kept, "--record", record, code=7).output


def test_an_older_file_is_told_from_the_sealed_one(record: Path, tmp_path: Path) -> None:
    older = tmp_path / "older.sqlite"
    shutil.copyfile(record, older)
    session = last_session(record)
    with open_for_reading(record) as database:
        last = database.session(session).event_count
    companion("sign", "--by", "A. Example", "--role", "technician", "--record", record)
    companion("seal", "--out", tmp_path / "x.seal", "--record", record)
    shutil.copyfile(older, record)
    told = companion("verify", "--seal", tmp_path / "x.seal", "--record", record, code=7).output
    assert "an older file was put in its place" in told
    assert f"session {session}, event {last}: it ends here" in told
    assert told.rstrip().endswith("Broken.")


def test_a_proof_of_one_job_is_written_and_checked(record: Path, tmp_path: Path) -> None:
    proof, session = tmp_path / "one.proof", last_session(record)
    companion("seal", "--proof-of", session, "--out", proof, "--record", record)
    assert json.loads(proof.read_text())["leaf"]["session"] == session
    companion("verify", "--proof", proof, "--record", record)
    companion("seal", "--proof-of", session, "--record", record, code=2)


# Copies


def test_a_backup_is_made_and_put_back(record: Path, tmp_path: Path) -> None:
    copy, new = tmp_path / "copy.sqlite", tmp_path / "new" / "record.sqlite"
    told = companion("backup", copy, "--record", record).output
    assert "Copied and verified: 2 jobs," in told
    companion("restore", copy, "--record", new)
    assert companion("review", "list", "--record", new).output.splitlines()[-1] == "1 to 2 of 2"
    assert "never overwritten" in companion("restore", copy, "--record", new, code=7).output


def test_figures_are_shown_with_plain_spaces_at_the_terminal(record: Path) -> None:
    shown = companion("review", "show", "--record", record).output
    assert " mm/m " in shown
    assert "·mm" not in shown


# Signing and correcting


def test_a_supervisor_signs_with_a_pin_that_is_nowhere_to_be_seen(record: Path) -> None:
    told = companion(
        *("people", "add", "B. Sample", "--role", "supervisor", "--record", record),
        typed="730219465108\n730219465108\n",
    ).output
    told += companion("people", "list", "--record", record).output
    told += companion(
        "sign", "--by", "b. sample", "--remark", "seen", "--record", record, typed="730219465108\n"
    ).output
    assert "730219465108" not in told
    assert "by B. Sample (with their key)" in told
    ((kind, body),) = last_events(record)
    assert (kind, body["by"], body["role"], body["how"]) == (
        "signed_off",
        "B. Sample",
        "supervisor",
        "pin",
    )
    assert all(b"730219465108" not in file.read_bytes() for file in record.parent.iterdir())
    assert "1 sign-off" in companion("review", "list", "--record", record).output
    companion("verify", "--record", record)


def test_a_wrong_pin_or_another_role_signs_nothing(record: Path) -> None:
    companion(
        *("people", "add", "B. Sample", "--role", "technician", "--record", record),
        typed="730219465108\n730219465108\n",
    )
    before = last_events(record)
    by = ("--by", "B. Sample", "--record", record)
    assert "not the PIN" in companion("sign", *by, typed="1111\n", code=7).output
    assert "is a technician here" in companion("sign", *by, "--role", "supervisor", code=7).output
    assert "give --role" in companion("sign", "--by", "C. X", "--record", record, code=7).output
    assert last_events(record) == before


PIN = "730219465108\n"


def supervisor(record: Path, name: str = "B. Sample") -> None:
    add = ("people", "add", name, "--role", "supervisor", "--record", record)
    companion(*add, typed=PIN * 2)


def event_of(record: Path, kind: str) -> int:
    with open_for_reading(record) as database:
        events = list(database.events(last_session(record)))
    return next(event.seq for event in events if event.kind == kind)


def correct(record: Path, event: int, now: str, *, typed: str = PIN, code: int = 0) -> str:
    words = ("correct", "--event", str(event), "--now", now, "--why", "misread")
    by = ("--by", "B. Sample", "--record", record)
    return companion(*words, *by, typed=typed, code=code).output


def test_without_a_supervisors_pin_nothing_is_corrected(record: Path) -> None:
    before, reading = last_events(record), event_of(record, "accepted")
    told = correct(record, reading, "774 mm", typed="", code=7)
    assert "no supervisor has one in this record" in told
    companion(
        *("people", "add", "B. Sample", "--role", "technician", "--record", record), typed=PIN * 2
    )
    assert "no supervisor has one" in correct(record, reading, "774 mm", typed="", code=7)
    supervisor(record, "C. Specimen")
    assert "is a technician here" in correct(record, reading, "774 mm", typed="", code=7)
    assert last_events(record) == before


@pytest.mark.parametrize(
    ("kind", "now", "told"),
    [
        ("said", "left arm 774", "is nothing that a person read, answered, did or noted"),
        ("computed", "0.1", "is nothing that a person read, answered, did or noted"),
        ("accepted", "nonsense", "says nothing that event"),
        ("accepted", "left arm 99999", "says nothing that event"),
        ("accepted", "left arm 774 or 775", "says nothing that event"),
        ("accepted", "774 left", "says nothing that event"),
        ("accepted", "12", "(200 … 800)"),
        ("accepted", " ", "one of them is missing"),
        ("done", "", "one of them is missing"),
        ("answered", "nonsense", "wanted: keep the sound; words only"),
    ],
)
def test_a_correction_says_what_its_event_could_have_said(
    record: Path, kind: str, now: str, told: str
) -> None:
    supervisor(record)
    before = last_events(record)
    assert told in correct(record, event_of(record, kind), now, typed="", code=7)
    assert last_events(record) == before


def test_an_answer_and_something_done_can_be_corrected(record: Path) -> None:
    supervisor(record)
    correct(record, event_of(record, "answered"), "Keep the sound")
    correct(record, event_of(record, "done"), "was not done")
    correct(record, event_of(record, "accepted"), "seven seven four")


def test_an_empty_list_of_people_says_so(record: Path) -> None:
    assert (
        "Nobody has a PIN in this record." in companion("people", "list", "--record", record).output
    )


def test_once_supervisors_have_pins_a_typed_one_is_not_taken(record: Path) -> None:
    typed = ("sign", "--by", "C. Specimen", "--role", "supervisor", "--record", record)
    assert "name typed, not proven" in companion(*typed).output
    companion(
        *("people", "add", "B. Sample", "--role", "supervisor", "--record", record),
        typed="730219465108\n730219465108\n",
    )
    assert "its supervisors have PINs" in companion(*typed, code=7).output
    companion("people", "remove", "B. Sample", "--record", record, code=1)
    companion("people", "remove", "B. Sample", "--record", record, typed="730219465108\n")
    companion(*typed)


def test_a_correction_stands_beside_the_event_it_corrects(record: Path) -> None:
    with open_for_reading(record) as database:
        events = list(database.events(last_session(record)))
    wrong = next(event for event in events if event.kind == "accepted")
    supervisor(record)
    correct(record, wrong.seq, "left arm 774")
    with open_for_reading(record) as database:
        now = list(database.events(last_session(record)))
    assert now[:-1] == events
    body = dict(now[-1].body)
    assert body.pop("signature")
    assert body == {
        "by": "B. Sample",
        "how": "pin",
        "event": wrong.seq,
        "now": "left arm 774",
        "why": "misread",
    }
    shown = companion("review", "show", "--record", record).output
    assert f"instead of event {wrong.seq}: left arm 774" in shown


def test_a_key_signs_too_and_verify_asks_for_it(record: Path, tmp_path: Path) -> None:
    key, other = tmp_path / "own.key", tmp_path / "other.key"
    companion("keys", "make", key, typed="correct horse\ncorrect horse\n")
    companion("keys", "make", other, "--no-passphrase")
    companion(
        *("sign", "--by", "B. Sample", "--role", "supervisor", "--key", key, "--record", record),
        typed="correct horse\n",
    )
    companion("verify", "--key", f"{key}.pub", "--record", record)
    told = companion("verify", "--key", f"{other}.pub", "--record", record, code=7).output
    assert "with another key than those given" in told


def test_who_signs_a_job_again_is_told_so(record: Path) -> None:
    by = ("sign", "--by", "A. Example", "--role", "technician", "--record", record)
    assert "already" not in companion(*by).output
    assert "A. Example has already signed this job off: event" in companion(*by).output


def test_signed_and_corrected_jobs_still_have_a_report(record: Path) -> None:
    companion("sign", "--by", "A. Example", "--role", "technician", "--record", record)
    supervisor(record)
    correct(record, event_of(record, "done"), "<b>774</b>")
    page = render_report(record, last_session(record))
    assert "A. Example (technician) signed off events 1 to" in page
    assert "&lt;b&gt;774&lt;/b&gt;" in page


# Letting sound go


def test_sound_is_let_go_after_a_question(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    clips = ClipStore(clips_folder(path))
    with open_record(path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session(), clips)
        clip = clips.put(b"\x01\x00" * 4000)
        log.append([Entry("heard", {"words": "yes", "clip_sha256": clip})])
    expire = ("clips", "expire", "--days", "30", "--record", path)
    assert "Ended." in companion(*expire, typed="n\n", code=1).output
    assert clips.holds(clip)


def test_sound_is_kept_for_the_days_that_the_settings_say(tmp_path: Path) -> None:
    path, settings = tmp_path / "bay.record", tmp_path / "settings.yaml"
    open_record(path, FixedClock()).close()
    expire = ("clips", "expire", "--record", path, "--settings", settings)
    settings.write_text("kind: settings\n")
    assert "older than 365 days" in companion(*expire, typed="n\n", code=1).output
    settings.write_text("kind: settings\nkeep_sound_days: 20\n")
    assert "older than 20 days" in companion(*expire, typed="n\n", code=1).output
    assert "older than 3 days" in companion(*expire, "--days", "3", typed="n\n", code=1).output


def test_a_job_that_was_broken_off_goes_on_after_its_sound_was_let_go(tmp_path: Path) -> None:
    """What was added afterwards is no part of the conversation that is replayed."""
    path = tmp_path / "bay.record"
    companion("start", "--record", path, typed="keep the sound\nyes\n", code=8)
    clips = ClipStore(clips_folder(path))
    with open_record(path, FixedClock("2090-01-01T00:00:00.000Z")) as database:
        session = database.sessions()[-1].session_id
        before = list(database.events(session))
        clip = clips.put(b"\x01\x00" * 4000)
        loaded, grammar = assembly.load(JobPaths()), assembly.language()
        state = replay_record(loaded, grammar, before)
        SqliteLog(database, session).append(
            [Entry("clips_expired", {"clips": [clip], "why": "kept for the agreed time"})]
        )
        assert expire_clips(database, clips, 1, "x") == []
        assert not clips.holds(clip)
        after = list(database.events(session))
        assert len(after) == len(before) + 1
        assert replay_record(loaded, grammar, after) == state
    told = companion("resume", "--record", path, typed="", code=8).output
    assert f"Session {session}" in told


def test_nothing_is_made_where_there_is_no_record(tmp_path: Path) -> None:
    path = tmp_path / "none.sqlite"
    for command in (
        ["seal"],
        ["sign", "--by", "x", "--role", "technician"],
        ["correct", "--event", "1", "--now", "x", "--why", "y", "--by", "z"],
        ["clips", "expire", "--days", "1", "--yes"],
        ["backup", str(tmp_path / "copy")],
        ["review", "list"],
        ["review", "search", "x"],
        ["review", "show"],
    ):
        told = companion(*command, "--record", path, code=7).output
        assert "there is no such record file" in told, command
    assert list(tmp_path.iterdir()) == []


def test_a_list_says_why_it_is_empty_and_what_would_be_there(record: Path) -> None:
    odd = companion("review", "search", "sign", "--record", record, "--result", "insyde")
    assert odd.output == "No job ended as “insyde”; those here ended as: inside.\n"
    odd = companion("review", "list", "--record", record, "--result", "insyde")
    assert odd.output == "No job ended as “insyde”; those here ended as: inside.\n"


def test_a_job_that_is_not_there_is_not_called_unbroken(record: Path) -> None:
    nosuch = CliRunner().invoke(main, ["verify", "--record", str(record), "--session", "nosuch"])
    assert nosuch.exit_code != 0
    assert "nosuch" in f"{nosuch.output}{nosuch.exception}"
    assert "Unbroken" not in nosuch.output


@pytest.mark.parametrize("day", ["2026-13-40", "2026-1-1", "20260101"])
def test_a_day_that_there_is_not_is_refused(record: Path, day: str) -> None:
    refused = CliRunner().invoke(main, ["review", "list", "--record", str(record), "--since", day])
    assert refused.exit_code == 1
    assert f"{day!r} is not a date" in f"{refused.output}{refused.exception}"

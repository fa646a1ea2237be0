"""A supervisor looks for a job months later: by day, name, bay, result, or by what was said."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.archive import changes, index, listing
from companion.archive.digest import BROKEN_OFF, Digest
from companion.archive.index import index_path
from companion.archive.listing import Filters, choices, digest_of, list_sessions
from companion.archive.opening import open_archive, session_events
from companion.archive.query import fts_query
from companion.archive.search import Found, SessionHits, search
from companion.errors import CompanionError, RecordError
from companion.facts.afterwards import Amended, SignedOff
from companion.record import Database, Entry, FixedClock, SqliteLog, open_record
from companion.statistics.figures_check import open_summaries

DAY_MS = 86_400_000


def a_job(
    database: Database,
    technician: str,
    *,
    vehicle: str = "Example hatchback",
    bay: str = "Bay one",
    result: str | None = "inside",
    said: str = "Left spot, millimetres, left or right.",
    heard: str = "ten right",
    days: float = 1,
) -> SqliteLog:
    log = SqliteLog(database, database.create_session())
    names = {"vehicle": {"name": vehicle}, "bay": {"name": bay, "shop": "Example Workshop"}}
    log.append([Entry("opened", {"technician": technician, "example": True, **names})])
    log.append([Entry("said", {"prompt_id": "p1", "purpose": "ask", "text": said})])
    log.append([Entry("heard", {"prompt_id": "p1", "words": heard, "confidence": 0.9})])
    if result is not None:
        log.append([Entry("finished", {"result": result})])
    assert isinstance(database.clock, FixedClock)
    database.clock.advance(int(days * DAY_MS))
    return log


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """Five jobs on five days, 1 to 5 January 2030."""
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        a_job(database, "Ana Field", heard="twelve left")
        a_job(database, "Béla Örsi", vehicle="Example van", result="outside")
        a_job(database, "Ana Field", bay="Bay two", result=None, heard="the bonnet is loose")
        stopped = a_job(database, "Cy Meadow", result=None, said="Stand level.")
        stopped.append([Entry("stopped", {"why": "the battery fell to twelve volts"})])
        a_job(database, "Ana Field", vehicle="Example van", heard="seven seven five")
    return path


def technicians(record: Path, filters: Filters, **page: int) -> list[tuple[str, str]]:
    with open_archive(record) as archive:
        listed = list_sessions(archive, filters, **page)
    return [(session.opened_utc[:10], session.technician) for session in listed.sessions]


def found_in(record: Path, typed: str, **more: object) -> Found:
    with open_archive(record) as archive:
        return search(archive, typed, **more)  # type: ignore[arg-type]


def days(found: Found) -> list[str]:
    return [one.session.opened_utc[:10] for one in found.sessions]


# Lists


def test_the_newest_job_comes_first_with_what_became_of_it(record: Path) -> None:
    with open_archive(record) as archive:
        page = list_sessions(archive)
    assert (page.total, page.has_more) == (5, False)
    assert [(s.opened_utc[8:10], s.result) for s in page.sessions] == [
        ("05", "inside"),
        ("04", "stopped"),
        ("03", BROKEN_OFF),
        ("02", "outside"),
        ("01", "inside"),
    ]


def test_a_stopped_job_that_was_gone_on_with_is_no_longer_stopped(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        log = a_job(database, "Cy Meadow", result=None)
        log.append([Entry("stopped", {"why": "the battery fell to twelve volts"})])
        log.append([Entry("done", {"step_id": "battery", "text": "Charge it."})])
    with open_archive(path) as archive:
        assert [s.result for s in list_sessions(archive).sessions] == [BROKEN_OFF]


def test_a_line_of_the_list_says_what_the_record_says(record: Path) -> None:
    with open_archive(record) as archive:
        newest = list_sessions(archive, limit=1).sessions[0]
        assert digest_of(archive, newest.session_id) == newest
        events = session_events(archive, newest.session_id)
    assert newest == Digest(
        session_id=newest.session_id,
        opened_utc=newest.opened_utc,
        last_utc=events[-1].at_utc,
        event_count=4,
        head_hash=events[-1].hash,
        technician="Ana Field",
        vehicle="Example van",
        bay="Bay one",
        shop="Example Workshop",
        result="inside",
        is_example=True,
    )


@pytest.mark.parametrize(
    ("filters", "expected"),
    [
        (Filters(since="2030-01-04"), ["05", "04"]),
        (Filters(until="2030-01-02"), ["02", "01"]),
        (Filters(since="2030-01-02", until="2030-01-03"), ["03", "02"]),
        (Filters(since="2030-01-03", until="2030-01-03"), ["03"]),
        (Filters(technician="ana"), ["05", "03", "01"]),
        (Filters(technician="BÉLA ö"), ["02"]),
        (Filters(vehicle="van"), ["05", "02"]),
        (Filters(bay="two"), ["03"]),
        (Filters(result=BROKEN_OFF), ["03"]),
        (Filters(result="inside", technician="Ana", vehicle="hatch"), ["01"]),
        (Filters(technician="%"), []),
        (Filters(text="bonnet"), ["03"]),
        (Filters(text="twelve"), ["04", "01"]),
        (Filters(text="twelve", technician="Ana"), ["01"]),
        (Filters(text="no such word"), []),
    ],
)
def test_filters_leave_the_jobs_that_fit_all_of_them(
    record: Path, filters: Filters, expected: list[str]
) -> None:
    assert [day[8:10] for day, _ in technicians(record, filters)] == expected


def test_a_line_says_where_a_job_ended_and_what_stood_out(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        log = a_job(database, "Ana Field", result=None)
        log.append([Entry("stage", {"stage_id": "s", "title": "Stand", "number": 8, "of": 14})])
        log.append([Entry("doubted", {"step_id": "x", "why": "far from the last"})] * 2)
        log.append([Entry("taken_back", {"step_ids": ["x"], "why": "", "by_technician": True})])
        log.append([Entry("taken_back", {"step_ids": ["y"], "why": "measured again"})])
        log.append([Entry("move_judged", {"kind": "wrong_way", "screw_ids": ["a"]})])
        log.append([Entry("move_judged", {"kind": "as_planned", "screw_ids": ["a"]})])
        log.append([Entry("resumed", {})])
        log.append([Entry("stopped", {"why": "the lift was needed"})])
    with open_archive(path) as archive:
        (one,) = list_sessions(archive).sessions
    assert (one.stage, one.stopped_why) == ("Stand (8/14)", "the lift was needed")
    assert (one.doubts, one.taken_back, one.odd_moves, one.resumed) == (2, 1, 1, 1)


@pytest.mark.parametrize(
    ("order", "expected"),
    [
        ("newest", ["05", "04", "03", "02", "01"]),
        ("oldest", ["01", "02", "03", "04", "05"]),
        ("technician", ["05", "03", "01", "02", "04"]),
        ("vehicle", ["04", "03", "01", "05", "02"]),
        ("bay", ["05", "04", "02", "01", "03"]),
        ("result", ["03", "05", "01", "02", "04"]),
        ("1; DROP TABLE digest", ["05", "04", "03", "02", "01"]),
    ],
)
def test_a_list_is_sorted_as_asked_for(record: Path, order: str, expected: list[str]) -> None:
    with open_archive(record) as archive:
        listed = list_sessions(archive, order=order)
        assert list_sessions(archive).total == 5
    assert [session.opened_utc[8:10] for session in listed.sessions] == expected


def test_what_stood_out_the_most_comes_first(record: Path) -> None:
    with open_record(record, FixedClock("2030-02-01T08:00:00.000Z")) as database:
        second = database.sessions()[1].session_id
        log = SqliteLog(database, second)
        log.append([Entry("noted", {"words": "look here"})])
    with open_archive(record) as archive:
        (first, *_) = list_sessions(archive, order="stood_out").sessions
        (only,) = list_sessions(archive, Filters(only="stood_out")).sessions
    assert first.session_id == only.session_id == second


def test_what_is_over_and_not_signed_off_is_a_list_of_its_own(record: Path) -> None:
    with open_record(record, FixedClock("2030-02-01T08:00:00.000Z")) as database:
        first = database.sessions()[0].session_id
        signed = SignedOff(by="B. Sample", role="supervisor", how="typed", events=4, head="0" * 64)
        SqliteLog(database, first).append([signed])
    assert [day[8:10] for day, _ in technicians(record, Filters(only="unsigned"))] == [
        "05",
        "04",
        "02",
    ]
    assert [day[8:10] for day, _ in technicians(record, Filters(only="signed"))] == ["01"]
    assert len(technicians(record, Filters(only="anything else"))) == 5


def test_moments_narrow_as_days_do(record: Path) -> None:
    begin, end = "2030-01-02T08:00:00.000Z", "2030-01-03T08:00:00.000Z"
    listed = technicians(record, Filters(since=begin, until=end))
    assert [day for day, _ in listed] == ["2030-01-02"]


def test_pages_follow_each_other(record: Path) -> None:
    pages = [technicians(record, Filters(), limit=2, offset=offset) for offset in (0, 2, 4, 6)]
    assert [len(page) for page in pages] == [2, 2, 1, 0]
    assert [job for page in pages for job in page] == technicians(record, Filters())
    with open_archive(record) as archive:
        assert list_sessions(archive, limit=2).has_more
        page = list_sessions(archive, Filters(text="ana"), limit=2)
        assert (page.total, page.has_more, len(page.sessions)) == (None, True, 2)
        page = list_sessions(archive, Filters(text="ana"), limit=2, offset=2)
        assert (page.has_more, len(page.sessions)) == (False, 1)


@pytest.mark.parametrize("day", ["yesterday", "2030-1-1", "2030-01-01T00:00:00Z", "٢٠٣٠-01-01"])
def test_a_day_that_is_none_is_named(record: Path, day: str) -> None:
    with open_archive(record) as archive, pytest.raises(CompanionError, match="wanted: YYYY-MM-DD"):
        list_sessions(archive, Filters(until=day))


def test_what_there_is_to_choose_from(record: Path) -> None:
    with open_archive(record) as archive:
        told = choices(archive)
    assert told.vehicles == ("Example hatchback", "Example van")
    assert told.bays == ("Bay one", "Bay two")
    assert told.technicians == ("Ana Field", "Béla Örsi", "Cy Meadow")
    assert told.results == (BROKEN_OFF, "inside", "outside", "stopped")


def test_a_session_that_there_is_not_is_named(record: Path) -> None:
    with open_archive(record) as archive:
        with pytest.raises(RecordError, match="holds no session 'nobody'"):
            digest_of(archive, "nobody")
        with pytest.raises(RecordError, match="no session 'nobody'"):
            session_events(archive, "nobody")


# Search


def test_what_was_heard_is_found_with_the_words_marked(record: Path) -> None:
    (one,) = found_in(record, "loose bonnet").sessions
    (hit,) = one.hits
    assert (hit.seq, hit.kind) == (3, "heard")
    assert hit.snippet == (("the ", False), ("bonnet", True), (" is ", False), ("loose", True))


def test_the_newest_job_is_found_first(record: Path) -> None:
    assert days(found_in(record, "twelve")) == ["2030-01-04", "2030-01-01"]


@pytest.mark.parametrize(
    ("typed", "place", "count"),
    [
        ("twelve", "heard", 1),
        ("twelve", "noted", 1),
        ("twelve", "said", 0),
        ("left", "said", 4),
        ("left", "heard", 1),
        ("LEFT twelve", "anywhere", 1),
        ("left volts", "anywhere", 0),
        ('"seven five"', "anywhere", 1),
        ('"five seven"', "anywhere", 0),
        ("millim*", "anywhere", 4),
        ("millim", "anywhere", 0),
        ("bela", "anywhere", 1),
        ("örsi", "noted", 1),
        ("workshop", "noted", 5),
        ("", "anywhere", 0),
        (" - * ( ", "anywhere", 0),
        ("AND", "anywhere", 0),
        ("left AND right", "anywhere", 0),
        ('"', "anywhere", 0),
        ("said:left", "anywhere", 0),
        ("o'clock; DROP TABLE digest --", "anywhere", 0),
        ("775", "anywhere", 1),
        ("75", "heard", 1),
        ("775 left", "anywhere", 0),
        ("557", "anywhere", 0),
        ("seven seven five", "heard", 1),
        ("SEVEN seven", "heard", 1),
        ("5.", "anywhere", 0),
    ],
)
def test_words_are_looked_for_where_they_were_said(
    record: Path, typed: str, place: str, count: int
) -> None:
    assert len(found_in(record, typed, place=place).sessions) == count


def test_a_job_with_many_hits_shows_the_first_and_says_that_there_are_more(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        log = a_job(database, "Ana Field")
        log.append([Entry("heard", {"words": f"yes {number}"}) for number in range(5)])
    (one,) = found_in(path, "yes", hits_each=2).sessions
    assert ([hit.seq for hit in one.hits], one.has_more) == ([5, 6], True)
    (one,) = found_in(path, "yes", hits_each=5).sessions
    assert (len(one.hits), one.has_more) == (5, False)


@pytest.mark.parametrize(
    ("heard", "typed", "marked"),
    [
        ("eight zero six", "806", "eight zero six"),
        ("eight oh six", "806", "eight oh six"),
        ("at eight nought six", "806", "eight nought six"),
        ("niner point five", "9.5", "niner point five"),
        ("niner point five", "9,5", "niner point five"),
        ("806", "eight zero six", "806"),
        ("eight zero six", "eight zero six", "eight zero six"),
    ],
)
def test_a_number_is_found_as_figures_and_as_it_was_said(
    tmp_path: Path, heard: str, typed: str, marked: str
) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        a_job(database, "Ana Field", said="Left arm, millimetres.", heard=heard)
        a_job(database, "Ana Field", said="Left arm, millimetres.", heard="six zero eight")
    (one,) = found_in(path, typed).sessions
    (hit,) = one.hits
    told = "".join(piece for piece, _ in hit.snippet)
    assert told == heard
    found = [piece for piece, matches in hit.snippet if matches]
    assert " ".join(found) == marked


def test_pages_of_what_was_found(record: Path) -> None:
    first = found_in(record, "workshop", limit=2)
    second = found_in(record, "workshop", limit=2, offset=2)
    third = found_in(record, "workshop", limit=2, offset=4)
    assert [first.has_more, second.has_more, third.has_more] == [True, True, False]
    assert days(first) + days(second) + days(third) == [
        f"2030-01-0{day}" for day in (5, 4, 3, 2, 1)
    ]


def test_the_two_ways_of_looking_through_a_record_find_the_same(
    record: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With few jobs left each is asked; with many, one goes from match to match."""
    every = [
        (typed, filters)
        for typed in ("twelve", "left", "workshop", "ana", "millim*")
        for filters in (Filters(), Filters(technician="ana"), Filters(vehicle="van"))
    ]
    one_by_one = [days(found_in(record, typed, filters=filters)) for typed, filters in every]
    monkeypatch.setattr(listing, "FEW_SESSIONS", 0)
    assert [
        days(found_in(record, typed, filters=filters)) for typed, filters in every
    ] == one_by_one
    assert any(one_by_one)


def test_signs_that_mark_matches_do_no_harm_in_what_was_said(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        a_job(database, "<b>Ana</b>", heard="a \x02marked\x03 word\x1b[31m")
    (one,) = found_in(path, "marked").sessions
    assert one.hits[0].snippet == (("a ", False), ("marked", True), (" word\x1b[31m", False))


@given(typed=st.text(max_size=30))
def test_whatever_is_typed_is_a_query(typed: str) -> None:
    query = fts_query(typed)
    connection = sqlite3.connect(":memory:")
    connection.execute("CREATE VIRTUAL TABLE words USING fts5(said, heard, noted)")
    for place in ("anywhere", "said"):
        query = fts_query(typed, place)  # type: ignore[arg-type]
        if query:
            connection.execute("SELECT rowid FROM words WHERE words MATCH ?", (query,)).fetchall()
    connection.close()


# The index


def test_the_index_is_for_its_owner_alone_and_can_be_thrown_away(record: Path) -> None:
    before = technicians(record, Filters())
    beside = index_path(record)
    assert stat.S_IMODE(beside.stat().st_mode) == 0o600
    beside.unlink()
    assert technicians(record, Filters()) == before


def test_the_index_holds_no_text_of_what_was_said(record: Path) -> None:
    technicians(record, Filters())
    content = index_path(record).read_bytes()
    assert b"the bonnet is loose" not in content
    assert b"Left spot, millimetres" not in content


def test_what_is_appended_later_is_found_and_nothing_is_found_twice(record: Path) -> None:
    technicians(record, Filters())
    with open_record(record, FixedClock("2030-02-01T08:00:00.000Z")) as database:
        first = database.sessions()[0].session_id
        SqliteLog(database, first).append(
            [Amended(by="B. Sample", how="pin", event=3, now="giraffe", why="x")]
        )
        assert days(found_in(record, "giraffe")) == ["2030-01-01"]
        a_job(database, "Dee Hill", heard="giraffe")
        assert days(found_in(record, "giraffe")) == ["2030-02-01", "2030-01-01"]
    with open_archive(record) as archive:
        assert digest_of(archive, first).corrections == 1
        assert len(search(archive, "giraffe", hits_each=9).sessions[0].hits) == 1


def test_an_older_record_put_back_is_indexed_anew(record: Path, tmp_path: Path) -> None:
    older = tmp_path / "older.record"
    shutil.copyfile(record, older)
    with open_record(record, FixedClock("2030-02-01T08:00:00.000Z")) as database:
        a_job(database, "Dee Hill", heard="giraffe")
        SqliteLog(database, database.sessions()[0].session_id).append([Entry("noted", {})])
    assert len(found_in(record, "giraffe").sessions) == 1
    shutil.copyfile(older, record)
    assert found_in(record, "giraffe").sessions == ()
    assert len(technicians(record, Filters())) == 5
    assert len(found_in(record, "twelve").sessions) == 2


def test_another_record_under_the_same_name_is_indexed_anew(record: Path) -> None:
    technicians(record, Filters())
    for name in (record.name, record.name + ".lock"):
        (record.parent / name).unlink()
    with open_record(record, FixedClock()) as database:
        a_job(database, "Eve Lake")
    assert technicians(record, Filters()) == [("2030-01-01", "Eve Lake")]


def test_a_file_of_something_else_is_not_taken_for_the_index(record: Path) -> None:
    index_path(record).write_text("my notes")
    with pytest.raises(RecordError, match=r"\.index: cannot be used"):
        technicians(record, Filters())
    assert index_path(record).read_text() == "my notes"
    index_path(record).unlink()
    other = sqlite3.connect(index_path(record))
    other.execute("CREATE TABLE recipe (name TEXT)")
    other.close()
    with pytest.raises(RecordError, match="another program"):
        technicians(record, Filters())


def test_an_index_of_an_older_form_is_made_anew(record: Path) -> None:
    before = technicians(record, Filters())
    older = sqlite3.connect(index_path(record))
    older.execute("ALTER TABLE digest DROP COLUMN shop")
    older.execute("PRAGMA user_version = 0")
    older.close()
    assert technicians(record, Filters()) == before


KEEP_LISTING = """
import sys, time
from pathlib import Path
from companion.archive.opening import open_archive
from companion.archive.listing import list_sessions
until = time.monotonic() + float(sys.argv[2])
last = 0
while time.monotonic() < until:
    with open_archive(Path(sys.argv[1])) as archive:
        page = list_sessions(archive)
        assert page.total >= last, (page.total, last)
        last = page.total
print(last)
"""


def test_two_programs_list_while_a_third_writes(tmp_path: Path) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        a_job(database, "Ana Field")
        readers = [
            subprocess.Popen(
                [sys.executable, "-c", KEEP_LISTING, str(path), "2"],
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
            )
            for _ in range(2)
        ]
        written = 1
        while any(reader.poll() is None for reader in readers):
            a_job(database, "Ana Field")
            written += 1
        for reader in readers:
            out, error = reader.communicate()
            assert reader.returncode == 0, error
            assert 1 <= int(out) <= written
    assert len(technicians(path, Filters(), limit=10_000)) == written
    assert len(found_in(path, "workshop", limit=10_000).sessions) == written


LIST_IN_ARCHIVE = """
import os, sys
from pathlib import Path
from companion.archive.opening import open_archive
from companion.archive.listing import list_sessions
if os.geteuid() == 0:
    os.setuid(65534)  # the administrator may write anywhere, so read as nobody
with open_archive(Path(sys.argv[1])) as archive:
    print(list_sessions(archive).total)
"""


def test_an_archive_that_may_not_be_written_is_listed_all_the_same(record: Path) -> None:
    folder = Path("/tmp") / f"archive-{os.getpid()}"  # noqa: S108 - nobody may enter pytest's folder
    folder.mkdir()
    try:
        shutil.copyfile(record, folder / record.name)
        folder.chmod(0o555)
        run = subprocess.run(
            [sys.executable, "-c", LIST_IN_ARCHIVE, str(folder / record.name)],
            capture_output=True,
            text=True,
        )
        assert run.stdout == "5\n", run.stderr
        assert [entry.name for entry in folder.iterdir()] == [record.name]
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


def test_a_record_that_was_not_written_is_not_gone_through_again(
    record: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And every commit is noticed at once, whether the writer has it open still or not."""
    gone_through: list[Path] = []
    really = index._take_in_all
    monkeypatch.setattr(
        index, "_take_in_all", lambda i, r: (gone_through.append(r.path), really(i, r))[1]
    )
    monkeypatch.setattr(changes, "SETTLED_AFTER_S", -1.0)
    technicians(record, Filters())
    technicians(record, Filters())
    assert len(gone_through) == 1
    with open_record(record, FixedClock("2030-02-01T08:00:00.000Z")) as database:
        for count in range(6, 9):
            a_job(database, "Dee Hill")
            assert len(technicians(record, Filters())) == count
        looked = len(gone_through)
        assert len(technicians(record, Filters())) == 8
        assert len(gone_through) == looked
    assert len(technicians(record, Filters())) == 8


@pytest.mark.parametrize(
    "damage",
    [
        "body = CAST(CAST('{\"text\":\"sp' AS BLOB) || x'FF' || CAST('ot\"}' AS BLOB) AS TEXT)",
        "body = '{'",
        "kind = CAST(x'C328' AS TEXT)",
        "hash = CAST(x'FF' AS TEXT)",
        "previous_hash = 'another'",
    ],
)
@pytest.mark.parametrize("event", [2, 4])
def test_a_damaged_event_hides_neither_the_others_nor_itself(
    record: Path, damage: str, event: int
) -> None:
    with open_archive(record) as archive:
        session_id = list_sessions(archive).sessions[-1].session_id
    index_path(record).unlink()
    stranger = sqlite3.connect(record)
    stranger.execute("DROP TRIGGER event_is_never_changed")
    stranger.execute("PRAGMA ignore_check_constraints = ON")
    stranger.execute(
        f"UPDATE event SET {damage} WHERE session_id = ? AND seq = ?", (session_id, event)
    )
    stranger.commit()
    stranger.close()
    readable = damage.startswith("previous_hash")
    for _ in range(2):
        with open_archive(record) as archive:
            listed = list_sessions(archive).sessions
            assert len(listed) == 5
            assert listed[-1].unreadable == (0 if readable else 1)
            assert listed[-1].event_count == 4
            assert search(archive, "twelve left").sessions[0].session.session_id == session_id
            with open_summaries(archive) as kept:
                assert kept.execute("SELECT COUNT(*) FROM session").fetchone() == (5,)
            if not readable:
                with pytest.raises(RecordError, match=f"event {event} of session {session_id}"):
                    session_events(archive, session_id)


def test_a_number_said_in_spanish_is_found_by_its_figures_and_by_its_words() -> None:
    for typed in ("806", "ocho cero seis", "eight zero six"):
        assert '"ocho cero seis"' in fts_query(typed)
        assert '"eight zero six"' in fts_query(typed)
    assert '"cero coma dos"' in fts_query("0,2")
    assert '"cero punto dos"' in fts_query("0.2")


def test_an_answer_is_found_by_its_words_in_the_job_s_language_and_by_its_id(
    tmp_path: Path,
) -> None:
    path = tmp_path / "bay.record"
    with open_record(path, FixedClock()) as database:
        for language in ("es", "en", "xx"):
            log = SqliteLog(database, database.create_session())
            log.append([Entry("opened", {"technician": "Ana Field", "language": language})])
            answered = {"step_id": "side", "title": "Side", "choice": "side_left"}
            log.append([Entry("answered", answered)])

    def found(typed: str) -> list[str]:
        with open_archive(path) as archive:
            return [pieces_of(one) for one in search(archive, typed).sessions]

    assert len(found("side_left")) == 3
    (spanish,) = found("izquierda")
    assert "izquierda" in spanish
    assert len(found("the left")) == 0
    assert len(found("left")) == 3
    # What came later to a session is found as well: its opening was taken in before.
    with open_record(path, FixedClock()) as database:
        (first, *_) = (one.session_id for one in database.sessions())
        answered = {"step_id": "side", "title": "Side", "choice": "side_right"}
        SqliteLog(database, first).append([Entry("answered", answered)])
    (spanish,) = found("derecha")
    assert "derecha" in spanish


def pieces_of(one: SessionHits) -> str:
    return " ".join(piece for hit in one.hits for piece, _ in hit.snippet)

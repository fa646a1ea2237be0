"""Sound in the store: sent where it was agreed to, noted when it is heard, let go in time."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
import pytest
from click.testing import CliRunner
from psycopg import Connection
from starlette.testclient import TestClient

from companion.cli import main
from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.record.clips import ClipStore, clips_folder
from companion.record.retention import expire_clips
from companion.record.rfc3339 import format_rfc3339
from companion.store import keeping
from companion.store.connecting import StoreError
from companion.store.expiring import expire, keep_for
from companion.store.review.indexing import index_store
from companion.store.sound import ship_sound, sound_that_would_go
from companion.store.verifying import verify_store
from tests.store.chain import Chain, log_in
from tests.store.spoken_jobs import box_of, speak
from tests.store.yard import Box, Yard


@pytest.fixture
def box(yard: Yard) -> Box:
    return box_of(yard)


def _sent(box: Box) -> tuple[int, tuple[str, ...]]:
    done = ship_sound(box.record, box.store, box.password_file)
    return done.clips, done.told


def _kept(admin: Connection) -> set[str]:
    return {
        name
        for (name,) in admin.execute(
            "SELECT encode(sha256, 'hex') FROM store.sound WHERE content IS NOT NULL"
        )
    }


@contextmanager
def _pages(yard: Yard, box: Box) -> Iterator[tuple[Chain, TestClient]]:
    index_store(yard.admin)
    chain = Chain(yard, {"one": box}, *yard.login(keeping.add_pages(yard.admin)))
    chain.person("S. North", "supervisor", "North")
    chain.person("S. South", "supervisor", "South")
    chain.person("A. Example", "technician", "North")
    chain.person("B. Sample", "technician", "North")
    with chain.pages() as client:
        yield chain, client


def test_only_what_was_agreed_to_goes_and_only_once(yard: Yard, box: Box) -> None:
    agreed = speak(box.record, "job-1")
    speak(box.record, "job-2", goes=False)
    speak(box.record, "job-3", agrees=False)
    waiting = sound_that_would_go(box.record, box.store, box.password_file)
    assert waiting.clips == 2
    assert waiting.bytes > 2000
    # Before its events no sound goes.
    assert _sent(box) == (0, ())
    box.ship()
    assert _sent(box) == (2, ())
    assert _kept(yard.admin) == set(agreed)
    assert _sent(box) == (0, ())
    assert sound_that_would_go(box.record, box.store, box.password_file).clips == 0
    more = speak(box.record, "job-4")
    box.ship()
    assert _sent(box) == (2, ())
    assert _kept(yard.admin) == {*agreed, *more}
    assert yard.problems() == []


def test_it_goes_on_where_it_broke_off(
    yard: Yard, box: Box, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = speak(box.record, "job-1", clips=4)
    box.ship()
    real = ClipStore.read
    reads = 0

    def breaks(self: ClipStore, sha256: str) -> bytes:
        nonlocal reads
        reads += 1
        if reads == 3:
            raise ConnectionError("the cable was pulled")
        return real(self, sha256)

    monkeypatch.setattr(ClipStore, "read", breaks)
    with pytest.raises(ConnectionError):
        _sent(box)
    assert len(_kept(yard.admin)) == 2
    assert _sent(box) == (2, ())
    assert _kept(yard.admin) == set(names)


def test_a_clip_that_was_changed_is_refused_and_the_others_go(yard: Yard, box: Box) -> None:
    names = speak(box.record, "job-1", clips=3)
    box.ship()
    file = ClipStore(clips_folder(box.record)).get(names[1])
    whole = file.read_bytes()
    file.write_bytes(whole[:-1] + bytes([whole[-1] ^ 1]))
    clips, told = _sent(box)
    assert clips == 2
    assert "was changed" in told[0]
    assert any("was changed" in problem for problem in yard.problems())
    # It is told again until it is put right.
    assert _sent(box)[0] == 0
    assert len(_sent(box)[1]) == 1
    file.write_bytes(whole)
    assert _sent(box) == (1, ())
    assert _kept(yard.admin) == set(names)


def test_a_box_cannot_put_in_what_no_event_names(yard: Yard, box: Box) -> None:
    (name,) = speak(box.record, "job-1", clips=1)
    (secret,) = speak(box.record, "job-2", clips=1, goes=False)
    box.ship()
    clips = ClipStore(clips_folder(box.record))
    other = box_of(yard, "bay two")
    flac = clips.read(name)
    with box.connection() as mine, other.connection() as theirs:
        for connection, job, named, content, told in (
            (mine, "job-1", secret, clips.read(secret), "no event of job job-1 names"),
            (mine, "job-2", secret, clips.read(secret), "nobody agreed"),
            (mine, "job-9", name, flac, "did not come"),
            (mine, "job-1", "../../etc", flac, "no proper name"),
            (mine, "job-1", name, b"RIFF" + flac, "no sound"),
            (mine, "job-1", name, b"fLaC" + flac, "changed"),
            (mine, "job-1", name, b"", "no sound"),
            (theirs, "job-1", name, flac, "did not come"),
        ):
            row = connection.execute(
                "SELECT words FROM store.put_sound(%s, %s, %s)", (job, named, content)
            ).fetchone()
            assert row is not None
            assert told in row[0], row
        for statement in (
            "SELECT content FROM store.sound",
            "INSERT INTO store.sound DEFAULT VALUES",
            "SELECT store.listen(1, '')",
            "SELECT * FROM store.access",
        ):
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                mine.execute(statement.encode())
    assert _kept(yard.admin) == set()


def test_what_the_box_lets_go_and_what_is_taken_back_goes_here_too(yard: Yard, box: Box) -> None:
    speak(box.record, "job-1")
    speak(box.record, "job-2", at="2026-09-20T08:00:00.000Z")
    kept = speak(box.record, "job-3", at="2026-09-21T08:00:00.000Z")
    box.ship()
    assert _sent(box) == (6, ())
    with open_record(box.record, FixedClock("2026-10-01T08:00:00.000Z")) as database:
        gone = expire_clips(database, ClipStore(clips_folder(box.record)), 30, "agreed")
        assert [one.session_id for one in gone] == ["job-1"]
        SqliteLog(database, "job-2").append([Entry("consent", {"keep_sound": False})])
    box.ship()
    assert _kept(yard.admin) == set(kept)
    rows = yard.admin.execute("SELECT DISTINCT gone_why FROM store.sound ORDER BY 1").fetchall()
    assert rows == [("",), ("the agreement was taken back",), ("the box let it go",)]
    assert _sent(box) == (0, ())
    assert yard.problems() == []


def test_the_page_plays_it_and_notes_who_heard_it(yard: Yard, box: Box) -> None:
    names = speak(box.record, "job-1")
    speak(box.record, "job-2", technician="B. Sample", goes=False)
    box.ship()
    _sent(box)
    with _pages(yard, box) as (chain, client):
        log_in(client, "S. North")
        jobs = sorted(re.findall(r'name="session" value="([^"]+)"', client.get("/").text))
        assert "<audio" not in client.get("/session", params={"id": jobs[0]}).text
        page = client.get("/session/all", params={"id": jobs[0]}).text
        addresses = re.findall(r'<audio[^>]* src="([^"]+)"', page)
        assert len(addresses) == 2
        # Looking at the page is not listening.
        assert chain.yard.admin.execute("SELECT count(*) FROM store.access").fetchone() == (0,)
        assert (
            "was not sent to the store" in client.get("/session/all", params={"id": jobs[1]}).text
        )
        heard = client.get(addresses[0])
        assert heard.content == ClipStore(clips_folder(box.record)).read(names[0])
        assert heard.headers["content-type"] == "audio/flac"
        for wrong in ("0" * 64, "x", "..", names[0][:-1]):
            assert client.get(f"/session/clip/{jobs[0]}/{wrong}.flac").status_code == 404
        assert client.get(f"/session/clip/9:x/{names[0]}.flac").status_code == 404
        # A report saved with its sound is listened to, clip by clip.
        assert client.get("/session/file", params={"id": jobs[0]}).text.count("data:audio") == 2
        log_in(client, "S. South")
        assert client.get(addresses[0]).status_code == 404
        rows = chain.yard.admin.execute(
            "SELECT p.name, encode(a.sha256, 'hex') FROM store.access a "
            "JOIN store.person p USING (person) ORDER BY number"
        ).fetchall()
        assert rows[0] == ("S. North", names[0])
        assert sorted(rows[1:]) == sorted(("S. North", name) for name in names)
        client.cookies.clear()
        assert client.get(addresses[0]).status_code == 303

        log_in(client, "A. Example")
        for path in ("/", "/search?q=x", f"/session?id={jobs[0]}", addresses[0], "/fleet"):
            answer = client.get(path)
            assert (answer.status_code, answer.headers["location"]) == (303, "/listened"), path
        mine = client.get("/listened").text
        assert mine.count("S. North") == 3
        assert "3 times somebody listened" in mine
        log_in(client, "B. Sample")
        assert "Nobody listened" in client.get("/listened").text
        log_in(client, "S. North")
        assert "Nobody listened" in client.get("/listened").text
    assert yard.problems() == []


def test_nobody_hears_without_a_note_whatever_program_asks(yard: Yard, box: Box) -> None:
    (name,) = speak(box.record, "job-1", clips=1)
    box.ship()
    _sent(box)
    with yard.person("S. North", "supervisor", "North") as mine:
        for statement in ("SELECT content FROM store.sound", "SELECT * FROM store.sound"):
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                mine.execute(statement.encode())
        assert mine.execute("SELECT count(job) FROM store.sound").fetchone() == (1,)
        row = mine.execute(
            "SELECT octet_length(store.listen(job, %s)) FROM store.sound", (name,)
        ).fetchone()
        assert row is not None
        assert row[0] > 0
        mine.execute("SET default_transaction_read_only = on")
        with pytest.raises(psycopg.Error, match="read-only"):
            mine.execute("SELECT store.listen(job, %s) FROM store.sound", (name,))
    with yard.person("T. Other", "technician", "North") as other:
        assert other.execute("SELECT * FROM store.listened_to_me(10)").fetchall() == []
        for statement in (
            "SELECT store.listen(1, '')",
            "SELECT store.comment_on(1, 'x')",
            *(
                f"SELECT * FROM {table}"
                for table in ("store.job", "store.event", "store.access", "store.person")
            ),
            "SELECT * FROM reading.job",
            "SELECT * FROM store.pseudonym",
        ):
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                other.execute(statement.encode())
    assert yard.admin.execute("SELECT count(*) FROM store.access").fetchone() == (1,)
    for statement in (
        "DELETE FROM store.access",
        "UPDATE store.access SET person = NULL",
        "TRUNCATE store.access",
        "DELETE FROM store.sound",
        "UPDATE store.sound SET recorded = now()",
    ):
        with pytest.raises(psycopg.errors.InsufficientPrivilege, match="append-only"):
            yard.admin.execute(statement.encode())


def test_it_is_let_go_by_trusted_time(yard: Yard, box: Box) -> None:
    speak(box.record, "job-1", at="2026-03-02T08:00:00.000Z")
    undated = speak(box.record, "job-2", at="2026-03-03T08:00:00.000Z", trusted=False)
    box.ship()
    assert _sent(box) == (4, ())
    keep_for(yard.admin, "sound", 30)
    row = yard.admin.execute("SELECT now()").fetchone()
    assert row is not None
    now = row[0]
    for clock, told in (
        (FixedClock(format_rfc3339(now), trusted=False), "nothing vouches"),
        (FixedClock("2040-01-01T00:00:00.000Z"), "until they agree"),
    ):
        with pytest.raises(StoreError, match=told):
            expire(yard.admin, clock)
    assert len(_kept(yard.admin)) == 4
    done = expire(yard.admin, FixedClock(format_rfc3339(now)))
    # Of a job that nothing vouches for, the days count from its arrival.
    assert done.clips == 2
    assert _kept(yard.admin) == set(undated)
    # What was let go does not come again, and is shown as gone.
    assert _sent(box) == (0, ())
    with _pages(yard, box) as (_, client):
        log_in(client, "S. North")
        texts = [
            client.get("/session/all", params={"id": job}).text
            for job in re.findall(r'name="session" value="([^"]+)"', client.get("/").text)
        ]
        assert sum(text.count("the sound expired on") for text in texts) == 2
    keep_for(yard.admin, "sound", None)
    assert expire(yard.admin, FixedClock(format_rfc3339(now))).clips == 0
    assert yard.problems() == []


def test_the_command_tells_and_sends_it(
    yard: Yard, box: Box, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "no-settings"))
    names = speak(box.record, "job-1")

    def run(*words: object, code: int = 0) -> str:
        there = ("--record", box.record, "--store", box.store, "--password-file", box.password_file)
        done = CliRunner().invoke(main, list(map(str, ("ship", *words, *there))))
        assert done.exit_code == code, done.output
        return done.output

    assert "No sound would go" in run("--check")
    assert "2 clips of sound (0.0 MB) would go" in run("--check", "--sound")
    run()
    assert _kept(yard.admin) == set()
    shop = tmp_path / "shop.yaml"
    shop.write_text("kind: settings\nship_sound: true\n")
    assert "clips of sound" not in run("--settings", shop, "--no-sound")
    assert "2 clips of sound sent" in run("--settings", shop)
    assert _kept(yard.admin) == set(names)
    assert "0 clips of sound sent" in run("--sound")


def test_sound_that_was_taken_away_is_noticed(yard: Yard, box: Box) -> None:
    """The keeper of the store's tables takes the guards off: the check names it."""
    speak(box.record, "job-1")
    box.ship()
    _sent(box)
    yard.admin.execute("ALTER TABLE store.access DISABLE TRIGGER only_after_its_time")
    yard.admin.execute("ALTER TABLE store.event DISABLE TRIGGER lets_sound_go")
    told = [str(problem) for problem in verify_store(yard.admin).problems]
    assert any("only_after_its_time" in one for one in told)
    assert any("lets_sound_go" in one for one in told)

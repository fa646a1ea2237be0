"""Sound that no record knows of is named, and goes with the next expiry."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.errors import RecordError
from companion.record import ClipStore, Entry, FixedClock, SqliteLog, clips_folder, open_record
from companion.record.left_over import LeftOver, left_over
from companion.record.retention import expire_clips, remove_left_over


@pytest.fixture
def shop(record_path: Path) -> tuple[Path, ClipStore, str]:
    """A record with one clip that it names."""
    clips = ClipStore(clips_folder(record_path))
    with open_record(record_path, FixedClock()) as database:
        clip = clips.put(b"\x01\x00" * 4000)
        log = SqliteLog(database, database.create_session("s1"), clips)
        log.append([Entry("heard", {"words": "yes", "clip_sha256": clip})])
    return record_path, clips, clip


def test_clips_that_no_event_names_and_halves_are_found_and_go(
    shop: tuple[Path, ClipStore, str],
) -> None:
    path, clips, named = shop
    orphan = clips.put(b"\x02\x00" * 4000)
    halves = {".clip-abc123", f".{orphan}.flac.part"}
    for name in halves:
        (clips.folder / name).write_bytes(b"half a voice")
    (clips.folder / "holiday.jpg").write_bytes(b"not ours")
    told = LeftOver((orphan,), tuple(sorted(halves)), ("holiday.jpg",))
    assert left_over(path, clips) == told
    with open_record(path, FixedClock()) as database:
        assert remove_left_over(database, clips) == LeftOver((orphan,), tuple(sorted(halves)))
    assert {entry.name for entry in clips.folder.iterdir()} == {f"{named}.flac", "holiday.jpg"}


def test_while_a_job_is_recorded_only_what_is_old_is_named(
    shop: tuple[Path, ClipStore, str],
) -> None:
    path, clips, _ = shop
    orphan = clips.put(b"\x02\x00" * 4000)
    assert left_over(path, clips, at_work=True) == LeftOver()
    an_hour_ago = time.time() - 3600
    os.utime(clips.folder / f"{orphan}.flac", (an_hour_ago, an_hour_ago))
    assert left_over(path, clips, at_work=True) == LeftOver((orphan,))


def test_what_another_record_in_the_folder_names_is_left_alone(
    shop: tuple[Path, ClipStore, str],
) -> None:
    """Two records side by side have one folder of clips."""
    path, clips, clip = shop
    with open_record(path.with_name("other.record"), FixedClock("2031-01-01T00:00:00Z")) as other:
        log = SqliteLog(other, other.create_session("s2"), clips)
        own = clips.put(b"\x03\x00" * 4000)
        both = [Entry("heard", {"clip_sha256": one}) for one in (own, clip)]
        log.append(both)
    assert left_over(path, clips) == LeftOver()
    with open_record(path, FixedClock("2031-01-02T00:00:00Z")) as database:
        assert expire_clips(database, clips, 30, "x") == []
        assert remove_left_over(database, clips) == LeftOver()
    assert clips.holds(own)
    assert clips.holds(clip)


def test_verify_tells_of_it_without_calling_the_record_broken(
    shop: tuple[Path, ClipStore, str],
) -> None:
    path, clips, _ = shop
    clips.put(b"\x02\x00" * 4000)
    (clips.folder / ".clip-xyz").write_bytes(b"half")
    told = CliRunner().invoke(main, ["verify", "--record", str(path)])
    assert told.exit_code == 0, told.output
    assert "1 clip that no job keeps, 1 remnant of a half-written clip" in told.output


def test_sound_that_was_let_go_and_is_there_again_is_left_over(
    shop: tuple[Path, ClipStore, str],
) -> None:
    path, clips, clip = shop
    content = clips.read(clip)
    with open_record(path, FixedClock("2041-01-02T00:00:00Z")) as database:
        assert [one.clips for one in expire_clips(database, clips, 30, "x")] == [(clip,)]
    (clips.folder / f"{clip}.flac").write_bytes(content)
    assert left_over(path, clips).orphans == (clip,)
    with open_record(path, FixedClock("2041-01-02T00:00:00Z")) as database:
        expire_clips(database, clips, 30, "x")
    assert left_over(path, clips) == LeftOver()


def test_nothing_is_deleted_through_a_link(shop: tuple[Path, ClipStore, str]) -> None:
    path, clips, clip = shop
    away = clips.folder.rename(clips.folder.with_name("elsewhere"))
    clips.folder.symlink_to(away)
    with (
        open_record(path, FixedClock("2041-01-02T00:00:00Z")) as database,
        pytest.raises(RecordError, match="is a link to another place"),
    ):
        expire_clips(database, clips, 30, "x")
    assert (away / f"{clip}.flac").is_file()


def test_a_clip_that_goes_while_it_is_looked_at_is_not_named(
    shop: tuple[Path, ClipStore, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path, clips, _ = shop
    orphan = clips.put(b"\x02\x00" * 4000)
    lying = clips.lying()
    (clips.folder / f"{orphan}.flac").unlink()
    monkeypatch.setattr(ClipStore, "lying", lambda _: lying)
    assert left_over(path, clips, at_work=True) == LeftOver()


AS_NOBODY = """
import os, sys
from pathlib import Path
from companion.errors import RecordError
from companion.record import ClipStore, clips_folder
from companion.record.left_over import left_over
os.setgroups([])
os.setgid(65534)
os.setuid(65534)
record = Path(sys.argv[1])
try:
    print(left_over(record, ClipStore(clips_folder(record))).orphans)
except RecordError as error:
    print(error)
"""
VERIFY_AS_NOBODY = """
import os, sys
from click.testing import CliRunner
from companion.cli import main
# Settings, and what is imported on the way, may lie where nobody else may look.
os.environ["XDG_CONFIG_HOME"] = os.path.dirname(sys.argv[1])
asked = ["verify", "--record", sys.argv[1]]
assert CliRunner().invoke(main, asked).exit_code == 0
os.setgroups([])
os.setgid(65534)
os.setuid(65534)
told = CliRunner().invoke(main, asked)
assert isinstance(told.exception, SystemExit), told.exception
print(told.output)
"""


def as_nobody(record: Path, script: str = AS_NOBODY) -> str:
    run = subprocess.run(
        [sys.executable, "-c", script, str(record)], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr
    return run.stdout


@pytest.mark.skipif(os.geteuid() != 0, reason="wanted: root, to become somebody else")
def test_a_file_beside_that_may_not_be_read_may_be_a_record() -> None:
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        folder.chmod(0o755)
        path, other = folder / "bay.record", folder / "other.record"
        clips = ClipStore(clips_folder(path))
        for record in (path, other):
            with open_record(record, FixedClock()) as database:
                log = SqliteLog(database, database.create_session(), clips)
                sound = (record.name[0] * 8000).encode()
                log.append([Entry("heard", {"clip_sha256": clips.put(sound)})])
        clips.folder.chmod(0o755)
        path.chmod(0o644)
        other.chmod(0o600)
        assert f"{other}: may not be read" in as_nobody(path)
        other.chmod(0o644)
        # The keys are closed, and what is smaller than any database.
        assert (folder / "box.key").stat().st_mode & 0o077 == 0
        (folder / "note").write_text("mine")
        (folder / "note").chmod(0o600)
        assert as_nobody(path) == "()\n"


@pytest.mark.skipif(os.geteuid() != 0, reason="wanted: root, to become somebody else")
@pytest.mark.parametrize("closed", ["clips", "bay.record.cars"])
def test_verify_is_told_plainly_of_a_folder_that_is_closed(closed: str) -> None:
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        folder.chmod(0o755)
        path = folder / "bay.record"
        with open_record(path, FixedClock()) as database:
            database.create_session()
        path.chmod(0o644)
        (folder / closed).mkdir(mode=0o700)
        told = as_nobody(path, VERIFY_AS_NOBODY)
        assert f"{folder / closed}: cannot be looked through" in told
        assert "Broken" not in told


def test_a_file_in_the_place_of_the_clips_is_told_plainly(
    shop: tuple[Path, ClipStore, str],
) -> None:
    path, clips, _ = shop
    clips.folder.rename(clips.folder.with_name("elsewhere"))
    clips.folder.write_text("no folder")
    told = CliRunner().invoke(main, ["verify", "--record", str(path)])
    assert isinstance(told.exception, SystemExit), told.exception
    assert "cannot be looked through for clips (Not a directory)" in told.output

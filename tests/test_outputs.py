"""Outputs go where a person says, and never over a record or what is no such output."""

from __future__ import annotations

import os
import shutil
import threading
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.cli import main
from companion.record import ClipStore, Entry, FixedClock, SqliteLog, clips_folder, open_record


def companion(*arguments: str | Path, code: int = 0) -> Result:
    result = CliRunner().invoke(main, [str(a) for a in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == code, result.output
    return result


@pytest.fixture(scope="module")
def spoken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record of a job with three clips."""
    path = tmp_path_factory.mktemp("spoken") / "record.sqlite"
    clips = ClipStore(clips_folder(path))
    with open_record(path, FixedClock()) as database:
        log = SqliteLog(database, database.create_session("s1"), clips)
        for place in range(3):
            clip = clips.put(bytes([place + 1, 0]) * 4000)
            log.append([Entry("heard", {"words": "yes", "clip_sha256": clip})])
    return path


@pytest.fixture
def record(spoken: Path, tmp_path: Path) -> Path:
    shutil.copytree(spoken.parent, tmp_path / "shop")
    return tmp_path / "shop" / spoken.name


COMMANDS = [
    ("report", "--out"),
    ("review", "report", "--out"),
    ("export", "--out"),
    ("review", "export", "--form", "csv", "--out"),
    ("review", "export", "--form", "parquet", "--out"),
    ("rehearse", "--report"),
    ("rehearse", "--voice-file"),
]


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
@pytest.mark.parametrize("force", [(), ("--force",)], ids=["", "force"])
def test_a_record_is_never_overwritten(
    record: Path, command: tuple[str, ...], force: tuple[str, ...]
) -> None:
    own = () if command[0] == "rehearse" else ("--record", record)
    link = record.with_name("link.sqlite")
    link.symlink_to(record)
    for target in (record, link, record.with_name(record.name + ".lock")):
        before = target.read_bytes()
        told = companion(*command, target, *own, *force, code=1).output
        assert "none is ever overwritten" in told
        assert target.read_bytes() == before
    assert link.is_symlink()


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_what_is_no_such_output_is_left_alone(record: Path, command: tuple[str, ...]) -> None:
    precious = record.with_name("letter.txt")
    precious.write_text("Dear customer")
    own = () if command[0] == "rehearse" else ("--record", record)
    assert "give --force" in companion(*command, precious, *own, code=1).output
    assert precious.read_text() == "Dear customer"


@pytest.mark.parametrize("command", COMMANDS[:5], ids=" ".join)
def test_an_older_output_is_replaced_and_anything_else_when_one_insists(
    record: Path, command: tuple[str, ...]
) -> None:
    out = record.with_name("out")
    companion(*command, out, "--record", record)
    first = out.read_bytes()
    companion(*command, out, "--record", record)
    assert out.read_bytes() == first
    out.write_text("Dear customer")
    companion(*command, out, "--record", record, "--force")
    assert out.read_bytes() == first
    assert [path for path in out.parent.iterdir() if path.name.startswith(".part")] == []


def test_a_pipe_is_written_into(record: Path) -> None:
    pipe = record.with_name("pipe")
    os.mkfifo(pipe)
    read: list[bytes] = []
    reader = threading.Thread(target=lambda: read.append(pipe.read_bytes()))
    reader.start()
    companion("export", "--out", pipe, "--record", record)
    reader.join(20)
    assert read[0].startswith(b'{"at":')


def test_a_report_says_how_many_voices_it_carries_and_can_leave_them_out(record: Path) -> None:
    out = record.with_name("job.html")
    told = companion("report", "--out", out, "--record", record).output
    assert "It carries 3 clips of a recorded voice" in told
    page = out.read_text()
    assert page.count("data:audio/flac") == 3
    assert "This file carries 3 clips of a recorded voice" in page
    told = companion("report", "--without-sound", "--out", out, "--record", record).output
    assert "recorded voice" not in told
    page = out.read_text()
    assert "data:audio" not in page
    assert page.count("the sound is left out of this report") == 3
    assert "This file carries" not in page

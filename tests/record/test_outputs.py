"""Files that a command writes where a person says: whole or not at all."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from companion.errors import CompanionError
from companion.record import Database
from companion.record.outputs import write_output


def is_ours(first: bytes) -> bool:
    return first.startswith(b"ours")


def test_a_new_file_gets_its_name_only_when_it_is_whole(tmp_path: Path) -> None:
    out = tmp_path / "report.txt"

    def write(path: Path) -> int:
        assert path != out
        return path.write_bytes(b"ours, whole")

    assert write_output(out, write, is_ours) == 11
    assert [path.name for path in tmp_path.iterdir()] == ["report.txt"]
    assert out.read_bytes() == b"ours, whole"


def test_a_write_that_fails_leaves_the_older_file_and_no_half(tmp_path: Path) -> None:
    out = tmp_path / "report.txt"
    out.write_bytes(b"ours, older")

    def fail(path: Path) -> int:
        path.write_bytes(b"ours, ha")
        raise OSError(28, "No space left on device")

    with pytest.raises(CompanionError, match="No space left"):
        write_output(out, fail, is_ours)
    assert [path.name for path in tmp_path.iterdir()] == ["report.txt"]
    assert out.read_bytes() == b"ours, older"


def test_a_pipe_is_written_as_it_is(tmp_path: Path) -> None:
    out = tmp_path / "pipe"
    os.mkfifo(out)
    assert write_output(out, lambda path: path, is_ours) == out
    assert stat.S_ISFIFO(out.stat().st_mode)


def test_something_else_is_replaced_only_where_the_person_insists(tmp_path: Path) -> None:
    out = tmp_path / "holiday.jpg"
    out.write_bytes(b"somebody's picture")

    def write(path: Path) -> int:
        return path.write_bytes(b"ours, new")

    with pytest.raises(CompanionError, match="is something else"):
        write_output(out, write, is_ours)
    assert out.read_bytes() == b"somebody's picture"
    write_output(out, write, is_ours, force=True)
    assert out.read_bytes() == b"ours, new"


@pytest.mark.parametrize("there", [b"", b"ours, older"])
def test_an_empty_file_and_an_older_output_are_replaced(tmp_path: Path, there: bytes) -> None:
    out = tmp_path / "report.txt"
    out.write_bytes(there)
    write_output(out, lambda path: path.write_bytes(b"ours, new"), is_ours)
    assert out.read_bytes() == b"ours, new"


@pytest.mark.parametrize("force", [False, True])
@pytest.mark.parametrize("suffix", ["", "-wal", "-shm", "-journal", ".lock", ".index"])
def test_no_record_nor_what_belongs_to_one_is_ever_replaced(
    database: Database, suffix: str, force: bool
) -> None:
    out = database.path.with_name(database.path.name + suffix)
    before = out.read_bytes() if out.exists() else None
    with pytest.raises(CompanionError, match="none is ever overwritten"):
        write_output(out, lambda path: path.write_bytes(b"ours"), is_ours, force=force)
    assert (out.read_bytes() if out.exists() else None) == before


@pytest.mark.parametrize(("umask", "rights"), [(0o022, 0o640), (0o077, 0o600), (0o000, 0o640)])
def test_a_new_file_is_for_its_owner_and_group_less_the_umask(
    tmp_path: Path, umask: int, rights: int
) -> None:
    before = os.umask(umask)
    try:
        out = tmp_path / "report.txt"
        write_output(out, lambda path: path.write_bytes(b"ours"), is_ours)
    finally:
        os.umask(before)
    assert stat.S_IMODE(out.stat().st_mode) == rights


@pytest.mark.parametrize("rights", [0o600, 0o644, 0o444])
def test_a_file_that_is_replaced_keeps_its_rights(tmp_path: Path, rights: int) -> None:
    out = tmp_path / "report.txt"
    out.write_bytes(b"ours, older")
    out.chmod(rights)

    def write(path: Path) -> int:
        # Until it is whole it is for its owner alone.
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        return path.write_bytes(b"ours, new")

    write_output(out, write, is_ours)
    assert out.read_bytes() == b"ours, new"
    assert stat.S_IMODE(out.stat().st_mode) == rights

"""Whose rights are told: those of the file that lies there, never those of what a link leads to."""

from __future__ import annotations

from pathlib import Path

from companion.record import clips_folder
from companion.record.box import key_path
from companion.record.open_to_others import OpenFile, open_to_others


def test_a_key_that_others_read_and_a_record_that_others_change_are_told(record_path: Path) -> None:
    for path, rights in ((record_path, 0o666), (key_path(record_path), 0o640)):
        path.write_bytes(b"")
        path.chmod(rights)
    assert open_to_others(record_path) == [
        OpenFile(key_path(record_path), "read"),
        OpenFile(record_path, "change"),
    ]


def test_a_link_has_no_rights_of_its_own(record_path: Path, tmp_path: Path) -> None:
    everybodys = tmp_path / "everybodys"
    everybodys.mkdir()
    everybodys.chmod(0o777)
    for link in (key_path(record_path), clips_folder(record_path)):
        link.symlink_to(everybodys)
    assert open_to_others(record_path) == []

"""What the last check found is kept beside the record, and what is damaged there is no check."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from companion.record.last_check import LONGEST, LastCheck, keep, last_check

FOUND = LastCheck("2031-05-06T08:00:00.000Z", ("microphone",), ("noise", "disk"), "own", 0.31)


@pytest.mark.parametrize("found", [FOUND, LastCheck("2031-05-06T08:00:00.000Z")])
def test_what_was_kept_is_read_again(record_path: Path, found: LastCheck) -> None:
    assert last_check(record_path) is None
    keep(record_path, found)
    assert last_check(record_path) == found
    keep(record_path, LastCheck("2031-05-07T08:00:00.000Z"))
    assert last_check(record_path) == LastCheck("2031-05-07T08:00:00.000Z")


@pytest.mark.parametrize("name", ["at_utc", "wrong", "look", "ears", "ears_work"])
def test_without_one_of_its_parts_it_is_none(record_path: Path, name: str) -> None:
    keep(record_path, FOUND)
    [file] = record_path.parent.glob("*.check")
    told = json.loads(file.read_text("utf-8"))
    del told[name]
    file.write_text(json.dumps(told), "utf-8")
    assert last_check(record_path) is None


@pytest.mark.parametrize("text", ["", "[]", "{", '"text"', "7", " " * (LONGEST + 1)])
def test_what_is_no_check_is_none(record_path: Path, text: str) -> None:
    keep(record_path, FOUND)
    [file] = record_path.parent.glob("*.check")
    file.write_text(text, "utf-8")
    assert last_check(record_path) is None

"""Those who asked at the store wait beside the record, until a supervisor of the box answers."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record.asked import (
    LONGEST_FILE,
    Waiting,
    asked_path,
    find_asked,
    keep_waiting,
    waiting_at,
)
from tests.asking import asked

SOUTH = Waiting(number=1, asked=asked("S. South", "ab" * 32))
NORTH = Waiting(number=2, asked=asked("S. North", "ab" * 32))


def test_who_asked_is_kept_for_the_owner_and_found_by_name(record_path: Path) -> None:
    assert waiting_at(record_path) == ()
    keep_waiting(record_path, (SOUTH, NORTH))
    assert waiting_at(record_path) == (SOUTH, NORTH)
    assert find_asked(record_path, " s. NORTH ") == NORTH
    assert stat.S_IMODE(asked_path(record_path).stat().st_mode) == 0o600
    with pytest.raises(RecordError, match=r"'S\. West' did not ask"):
        find_asked(record_path, " S. West")


def test_who_was_declined_does_not_ask_any_more(record_path: Path) -> None:
    keep_waiting(record_path, (SOUTH, NORTH.model_copy(update={"declined": True})))
    with pytest.raises(RecordError, match="did not ask"):
        find_asked(record_path, "S. North")
    again = Waiting(number=3, asked=asked("S. North", "ab" * 32))
    keep_waiting(record_path, (NORTH.model_copy(update={"declined": True}), again))
    assert find_asked(record_path, "S. North") == again


def test_nobody_is_declined_where_nothing_says_so(record_path: Path) -> None:
    keep_waiting(record_path, (NORTH,))
    [told] = json.loads(asked_path(record_path).read_text("utf-8"))
    assert told.pop("declined") is False
    asked_path(record_path).write_text(json.dumps([told]), "utf-8")
    assert find_asked(record_path, "S. North") == NORTH


@pytest.mark.parametrize("text", ["", "[{}]", "{}", "nonsense", " " * (LONGEST_FILE + 1)])
def test_a_file_that_is_no_list_of_them_is_named(record_path: Path, text: str) -> None:
    asked_path(record_path).write_text(text, "utf-8")
    with pytest.raises(RecordError, match=r"\.asked: is not a list of who asked"):
        waiting_at(record_path)


def test_a_link_in_the_place_of_the_file_is_neither_followed_nor_taken_for_nobody(
    record_path: Path, tmp_path: Path
) -> None:
    keep_waiting(record_path, (NORTH,))
    asked_path(record_path).rename(tmp_path / "elsewhere")
    asked_path(record_path).symlink_to(tmp_path / "elsewhere")
    with pytest.raises(RecordError, match=r"\.asked: cannot be read"):
        waiting_at(record_path)
    with pytest.raises(RecordError, match="cannot be read"):
        find_asked(record_path, "S. North")


def test_where_it_cannot_be_kept_it_is_said(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="cannot be written"):
        keep_waiting(tmp_path / "no folder" / "bay.record", (NORTH,))


def test_only_the_key_itself_asks() -> None:
    assert NORTH.asked.is_signed
    for changed in (
        {"name": "S. South"},
        {"box_key": "cd" * 32},
        {"public_key": SOUTH.asked.public_key},
        {"own": SOUTH.asked.own},
    ):
        assert not NORTH.asked.model_copy(update=changed).is_signed, changed

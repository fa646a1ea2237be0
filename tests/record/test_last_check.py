"""What the last check found is kept beside the record, and what is damaged there is no check."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from companion.record import last_echo, store_word
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


@pytest.mark.parametrize("content", ["", "nonsense", "[]", "{}", "3", '{"at_utc": []}'])
def test_a_measurement_of_the_echo_or_a_word_of_the_store_that_is_none_counts_for_nothing(
    content: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    place = last_echo.place()
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text(content)
    assert last_echo.last_echo() is None
    record = tmp_path / "bay.record"
    store_word.state_path(record).write_text(content)
    assert store_word.last_word(record) is None


def test_a_word_of_the_store_of_before_its_reasons_were_kept_is_read(tmp_path: Path) -> None:
    record = tmp_path / "bay.record"
    for state, what in (({"refused": True}, "other"), ({"refused": False}, ""), ({}, "")):
        told = {"at": "2031-05-06T08:00:00.000Z", "told": "no", **state}
        store_word.state_path(record).write_text(json.dumps(told))
        word = store_word.last_word(record)
        assert word is not None
        assert (word.what, word.refused) == (what, bool(what))

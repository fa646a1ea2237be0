"""The store's last word is kept beside the record, and what is damaged there is none."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from companion.record.store_word import LONGEST, LastWord, keep, last_word, state_path

AT = "2031-05-06T08:00:00.000Z"
WORD = LastWord(AT, "the store does not answer", "other", "no such language", True)


@pytest.mark.parametrize("word", [WORD, LastWord(AT), LastWord(AT, "x", was_shown=True)])
def test_what_was_kept_is_read_again(record_path: Path, word: LastWord) -> None:
    assert last_word(record_path) is None
    keep(record_path, LastWord("2031-05-05T08:00:00.000Z", "older", "other"))
    keep(record_path, word)
    assert last_word(record_path) == word


def changed(record_path: Path, **parts: object) -> LastWord | None:
    """As it is read with these parts in place of its own; None takes one out."""
    keep(record_path, WORD)
    told = {**json.loads(state_path(record_path).read_text("utf-8")), **parts}
    left = {name: part for name, part in told.items() if part is not None}
    state_path(record_path).write_text(json.dumps(left), "utf-8")
    return last_word(record_path)


def test_before_kinds_of_reason_were_kept_it_was_only_said_that_it_was_refused(
    record_path: Path,
) -> None:
    for refused, wanted in ((True, "other"), (False, ""), (None, ""), ("yes", "")):
        word = changed(record_path, what=None, refused=refused)
        assert word is not None
        assert (word.what, word.refused) == (wanted, bool(wanted)), refused
    kept = changed(record_path, what="", refused=True)
    assert kept is not None
    assert not kept.refused


def test_an_older_word_has_no_files_and_was_shown_to_nobody(record_path: Path) -> None:
    older = changed(record_path, files_told=None, was_shown=None)
    assert older == LastWord(AT, WORD.told, WORD.what)
    for shown in ("true", 1, 0, []):
        word = changed(record_path, was_shown=shown)
        assert word is not None
        assert word.was_shown is False, shown


@pytest.mark.parametrize("name", ["at", "told"])
def test_without_when_and_why_it_is_none(record_path: Path, name: str) -> None:
    assert changed(record_path, **{name: None}) is None


@pytest.mark.parametrize("text", ["", "[]", "{", '"text"', "7", "null", " " * (LONGEST + 1)])
def test_what_is_no_word_is_none(record_path: Path, text: str) -> None:
    keep(record_path, WORD)
    state_path(record_path).write_text(text, "utf-8")
    assert last_word(record_path) is None


def test_a_link_or_a_folder_in_its_place_is_none(record_path: Path, tmp_path: Path) -> None:
    keep(record_path, WORD)
    place = state_path(record_path)
    place.rename(tmp_path / "elsewhere")
    place.symlink_to(tmp_path / "elsewhere")
    assert last_word(record_path) is None
    place.unlink()
    place.mkdir()
    assert last_word(record_path) is None


def test_whoever_was_told_the_one_is_told_the_other_only_where_it_says_more() -> None:
    for other in (
        LastWord("2031-05-07T08:00:00.000Z", "no route", "other", "no such language"),
        LastWord(AT, "no route", "other", "no such language", True),
    ):
        assert WORD.says_the_same(other)
    for other in (
        LastWord(AT, "", "other", "no such language"),
        LastWord(AT, "no route", "", "no such language"),
        LastWord(AT, "no route", "other", ""),
    ):
        assert not WORD.says_the_same(other)
        assert not other.says_the_same(WORD)

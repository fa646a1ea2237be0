"""Readers never stop a writer, and a second writer is turned away with a plain word."""

from __future__ import annotations

from pathlib import Path

from tests.survival.load import a_second_writer, readers_and_a_writer


def test_others_read_while_one_writes(tmp_path: Path) -> None:
    seen = readers_and_a_writer(tmp_path, 4, seconds=1.0, count=3)
    assert seen["rounds"] >= 3
    assert seen["promised"] > 30
    assert seen["lost"] == 0


def test_a_second_companion_is_turned_away(tmp_path: Path) -> None:
    said = a_second_writer(tmp_path, 4)
    assert "already open for writing" in said
    assert "another record file" in said

"""The document shows the settings as they are."""

from __future__ import annotations

from pathlib import Path

from companion.settings.describing import described, markdown_table

DOCUMENT = Path(__file__).parents[2] / "docs" / "settings.md"


def test_the_table_is_that_of_the_model() -> None:
    assert markdown_table() in DOCUMENT.read_text(encoding="utf-8")


def test_the_table_has_every_setting_on_a_line_of_its_own() -> None:
    lines = markdown_table().splitlines()
    assert len(lines) == len(described()) + 2
    assert all(line.count(" | ") == 3 for line in lines)

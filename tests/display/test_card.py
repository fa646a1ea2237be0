"""The card for the wall is made from the language folder and fits on one page."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.display.card import is_card, wall_card
from companion.facts.meanings import COMMAND_NAMES
from companion.language.loader import load_language

LANGUAGES = ("en", "es")


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_command_stands_there_as_it_is_heard_and_no_other(language: str) -> None:
    grammar = load_language(language).grammar
    rows = re.findall(r"<tr><th>(.*?)</th>", wall_card(language))
    answers = [", ".join(grammar.answer_phrases(name)) for name in ("yes", "no", "done")]
    commands = [grammar.command_phrase(name) for name in COMMAND_NAMES]
    assert [row.lower() for row in rows] == [*answers, *commands]
    assert "what can I say" in rows or language != "en"


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_figure_and_no_sign_stands_for_what_is_said(language: str) -> None:
    told = re.sub(r"<style>.*?</style>", "", wall_card(language), flags=re.S)
    assert not re.search(r"\d", re.sub(r"<[^>]*>|&#\d+;", "", told))


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_is_one_page(chromium: Any, language: str) -> None:
    page = chromium.new_page()
    page.set_content(wall_card(language))
    printed = page.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


def test_the_command_writes_it_and_over_nothing_else(tmp_path: Path) -> None:
    out = tmp_path / "card.html"
    run = CliRunner().invoke(main, ["card", "--language", "es", "--out", str(out)])
    assert run.exit_code == 0
    assert is_card(out.read_bytes())
    other = tmp_path / "other.html"
    other.write_text("<!DOCTYPE html>\n<p>mine</p>\n")
    assert CliRunner().invoke(main, ["card", "--out", str(other)]).exit_code != 0
    assert "mine" in other.read_text()

"""A report that was kept as a file, read on a phone: in columns that words fit into."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect

from companion.cli import main

PHONE = {"width": 380, "height": 800}
NARROWEST_PX = 250


@pytest.fixture(scope="module")
def report(tmp_path_factory: Any) -> Path:
    path = tmp_path_factory.mktemp("phone") / "report.html"
    arguments = ["rehearse", "--seed", "4", "--slips", "2", "--report", str(path)]
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 0, done.output
    return path


def test_what_was_said_and_heard_has_room_for_its_words(context: Any, report: Path) -> None:
    page = context.new_page()
    page.set_viewport_size(PHONE)
    page.goto(report.as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") == PHONE["width"]
    boxes = page.locator(".talk .what").evaluate_all(
        "them => them.map(it => it.getBoundingClientRect().width)"
    )
    assert len(boxes) > 100
    assert min(boxes) >= NARROWEST_PX


def test_the_answer_of_each_look_is_seen_without_scrolling_sideways(
    context: Any, report: Path
) -> None:
    page = context.new_page()
    page.set_viewport_size(PHONE)
    page.goto(report.as_uri())
    answers = page.locator(".looks .tag")
    expect(answers.last).to_have_text("inside")
    for box in (it.bounding_box() for it in answers.all()):
        assert box is not None
        assert box["x"] + box["width"] <= PHONE["width"]
    expect(page.locator(".looks tbody tr").last).to_contain_text("within 0.4°")

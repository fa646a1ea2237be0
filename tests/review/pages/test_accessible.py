"""No page breaks a rule of axe-core (which comes with axe-playwright-python)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from companion.archive.listing import list_sessions
from companion.archive.opening import open_archive
from companion.report.report import write_report


def problems(page: Page) -> list[str]:
    found = Axe().run(page)
    return [f"{v['id']}: {v['nodes'][0]['html'][:200]}" for v in found.response["violations"]]


def test_the_rules_themselves_find_a_picture_without_words(context: Any) -> None:
    page = context.new_page()
    page.set_content("<html lang=en><title>t</title><main><h1>a</h1><img src=x></main></html>")
    assert any(told.startswith("image-alt") for told in problems(page))


@pytest.mark.parametrize("width", [390, 820, 1180])
@pytest.mark.parametrize(
    "where",
    [
        *("/", "/search?q=chocked", "/statistics", "/statistics/repeats", "/compare", "/nowhere"),
        "/statistics/values?measure=floor_twist_mm",
    ],
)
def test_every_page_is_clean(context: Any, served_shop: Any, where: str, width: int) -> None:
    page = context.new_page()
    page.set_viewport_size({"width": width, "height": 860})
    page.goto(served_shop.address + where)
    for hidden in page.locator("details").all():
        hidden.evaluate("it => { it.open = true; }")
    assert problems(page) == []


@pytest.mark.parametrize("where", ["/", "/?car=ex-806", "/search?q=4712"])
def test_the_pages_that_tell_of_cars_are_clean(
    context: Any, shop_with_cars: Any, where: str
) -> None:
    page = context.new_page()
    page.goto(shop_with_cars.address + where)
    assert problems(page) == []


def test_session_and_comparison_are_clean(page: Page, served_shop: Any) -> None:
    with open_archive(served_shop.record) as archive:
        first, second = list_sessions(archive, limit=2).sessions
    page.goto(f"{served_shop.address}/session?id={first.session_id}")
    assert problems(page) == []
    page.goto(f"{served_shop.address}/session/all?id={first.session_id}")
    assert problems(page) == []
    for hidden in page.locator("details").all():
        hidden.evaluate("it => { it.open = true; }")
    assert problems(page) == []
    page.goto(
        f"{served_shop.address}/compare?session={first.session_id}&session={second.session_id}"
    )
    assert problems(page) == []


def test_the_report_with_clips_refusals_and_corrections_is_clean(
    context: Any, finished_job: Any, tmp_path: Any
) -> None:
    path = write_report(finished_job.path, finished_job.session_id, tmp_path / "report.html")
    page = context.new_page()
    page.goto(path.as_uri())
    assert page.locator("audio").count() > 10
    assert problems(page) == []


def test_a_session_in_which_nothing_was_measured_is_clean(
    context: Any, recorded: Callable[..., Any], tmp_path: Any
) -> None:
    job = recorded(lambda shop: shop.put("stopped", why="the lift was needed"))
    path = write_report(job.path, job.session_id, tmp_path / "report.html")
    page = context.new_page()
    page.goto(path.as_uri())
    assert problems(page) == []

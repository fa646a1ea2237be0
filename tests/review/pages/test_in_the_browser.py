"""What a supervisor does with the pages, in a real browser."""

from __future__ import annotations

import re
from typing import Any

from playwright.sync_api import Page, expect

from companion.record import open_record
from companion.review.archive import open_archive
from companion.review.index import index_path
from companion.review.listing import Filters, list_sessions


def newest_session(served: Any) -> Any:
    with open_archive(served.record) as archive:
        return list_sessions(archive, limit=1).sessions[0]


def test_the_list_shows_the_newest_session_first_and_leads_to_its_report(
    page: Page, served_shop: Any
) -> None:
    page.goto(served_shop.address)
    rows = page.locator("tbody tr")
    expect(rows).to_have_count(12)
    expect(rows.first).to_contain_text("2031-03-12")
    rows.first.get_by_role("link").click()
    session = newest_session(served_shop)
    expect(page.get_by_role("heading", level=1)).to_contain_text(session.session_id)
    expect(page.locator(".hash").first).to_have_text(
        " ".join(re.findall(".{8}", session.head_hash))
    )
    expect(page.locator(".sound-record")).to_contain_text(f"all {session.event_count} events")


def test_filters_keep_what_fits_and_stay_filled_in(page: Page, served_shop: Any) -> None:
    page.goto(served_shop.address)
    page.get_by_label("From").fill("2031-03-03")
    page.get_by_label("Until").fill("2031-03-05")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("tbody tr")).to_have_count(3)
    expect(page.get_by_label("From")).to_have_value("2031-03-03")
    page.get_by_role("link", name="Show all").click()
    expect(page.locator("tbody tr")).to_have_count(12)
    with open_archive(served_shop.record) as archive:
        inside = list_sessions(archive, Filters(result="inside")).total
    page.get_by_label("Result").select_option("inside")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("tbody tr")).to_have_count(inside or 0)


def test_a_search_marks_the_words_and_leads_to_the_moment(page: Page, served_shop: Any) -> None:
    page.goto(f"{served_shop.address}/search")
    page.get_by_label("Words").fill("chocked")
    page.get_by_role("button", name="Search").click()
    expect(page.locator("mark").first).to_have_text(re.compile("chocked", re.IGNORECASE))
    moment = page.locator(".find li a").first
    anchor = (moment.get_attribute("href") or "").partition("#")[2]
    moment.click()
    expect(page.locator(f"#{anchor}")).to_be_in_viewport()
    expect(page.locator(f"#{anchor}")).to_contain_text("chocked")


def test_two_sessions_are_compared_measure_by_measure(page: Page, served_shop: Any) -> None:
    page.goto(served_shop.address)
    for place in (0, 3):
        page.get_by_role("checkbox").nth(place).check()
    page.get_by_role("button", name="Compare").click()
    expect(page.locator(".compare thead th")).to_have_count(3)
    expect(page.get_by_role("row", name="Floor twist")).to_be_visible()
    expect(page.get_by_role("img", name="Floor twist, as found")).to_be_visible()
    expect(page.locator(".letter")).to_have_text(["A", "B"])


def test_one_alone_is_not_compared_and_the_page_says_what_is_wanted(
    page: Page, served_shop: Any
) -> None:
    page.goto(served_shop.address)
    page.get_by_role("checkbox").first.check()
    page.get_by_role("button", name="Compare").click()
    expect(page.locator(".message")).to_contain_text("Choose two to 6 sessions")


def test_statistics_answer_their_questions(page: Page, served_shop: Any) -> None:
    page.goto(f"{served_shop.address}/statistics")
    headings = page.get_by_role("heading", level=2)
    expect(headings).to_have_text(
        [
            "Is a floor or a stand drifting?",
            "One bay in detail",
            "Do readings repeat?",
            "How often is it misheard, and in how much noise?",
            "Where does the day go?",
        ]
    )
    expect(page.locator(".bays tbody tr")).to_have_count(1)
    expect(page.locator(".bays tbody tr")).to_contain_text("too few")
    charts = page.locator("figure svg[aria-labelledby^='drift-']")
    expect(charts).to_have_count(9)
    expect(page.get_by_role("img", name="Minutes by stage")).to_be_visible()


def test_a_point_of_a_chart_leads_to_its_job_by_mouse_and_by_keyboard(
    page: Page, served_shop: Any
) -> None:
    page.goto(f"{served_shop.address}/statistics")
    chart = page.locator("#drift-floor-twist-mm")
    chart.locator("svg a").last.click()
    session = newest_session(served_shop)
    expect(page.get_by_role("heading", level=1)).to_contain_text(session.session_id)
    page.go_back()
    chart.locator("summary").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    while page.evaluate("document.activeElement.matches('table')"):
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text(session.session_id)


def test_the_first_table_says_which_floor_changed_and_when(
    page: Page, drifting_shop: Any, serve: Any
) -> None:
    page.goto(f"{serve(drifting_shop).address}/statistics")
    first, second = page.locator(".bays tbody tr").all()
    expect(first).to_contain_text("Bay two")
    expect(first).to_contain_text("changed on 2031-04-2")
    expect(first).to_contain_text("Floor twist")
    expect(second).to_contain_text("steady")
    first.get_by_role("link").click()
    expect(page.locator("#drift-floor-twist-mm figcaption")).to_contain_text("Changed between")
    expect(page.locator("#drift-floor-twist-mm .flagged").first).to_be_visible()


def test_the_report_can_be_kept_as_a_file_that_opens_by_itself(
    page: Page, served_shop: Any, tmp_path: Any
) -> None:
    session = newest_session(served_shop)
    page.goto(f"{served_shop.address}/session?id={session.session_id}")
    with page.expect_download() as waiting:
        page.get_by_role("link", name="Keep this report as a file").click()
    kept = tmp_path / waiting.value.suggested_filename
    waiting.value.save_as(kept)
    page.goto(kept.as_uri())
    expect(page.get_by_role("heading", level=1)).to_contain_text(session.session_id)
    colour = page.locator(".appendix-title").evaluate("e => getComputedStyle(e).backgroundColor")
    assert colour == "rgb(31, 43, 48)"


def test_the_pages_can_be_used_with_the_keyboard_alone(page: Page, served_shop: Any) -> None:
    page.goto(served_shop.address)
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Search")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Words")).to_be_visible()


def test_on_a_narrow_screen_nothing_but_tables_scrolls_sideways(
    page: Page, served_shop: Any
) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    session = newest_session(served_shop)
    for where in ("/", "/search?q=yes", "/statistics", f"/session?id={session.session_id}"):
        page.goto(served_shop.address + where)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, where


def test_on_a_narrow_screen_the_words_of_the_list_stay_whole(page: Page, served_shop: Any) -> None:
    page.set_viewport_size({"width": 390, "height": 800})
    page.goto(served_shop.address)
    heading = page.get_by_role("columnheader", name="Technician")
    lines = heading.evaluate("it => it.clientHeight / parseFloat(getComputedStyle(it).lineHeight)")
    assert lines < 2


def test_a_session_that_is_not_there_is_said_to_be_so(context: Any, served_shop: Any) -> None:
    page = context.new_page()
    answer = page.goto(f"{served_shop.address}/session?id=nobody")
    assert answer.status == 404
    expect(page.locator(".message")).to_contain_text("holds no session")


def test_what_is_recorded_while_the_pages_are_open_is_there_at_the_next_look(
    page: Page, recorded: Any, serve: Any
) -> None:
    job = recorded(lambda shop: shop.put("stopped", why="the lift was needed"))
    address = serve(job.path).address
    page.goto(address)
    expect(page.locator("tbody tr")).to_have_count(1)
    with open_record(job.path) as database:
        database.create_session()
    page.reload()
    expect(page.locator("tbody tr")).to_have_count(2)
    index_path(job.path).unlink()
    page.reload()
    expect(page.locator("tbody tr")).to_have_count(2)

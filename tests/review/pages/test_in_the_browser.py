"""What a supervisor does with the pages, in a real browser."""

from __future__ import annotations

import re
import time
from datetime import timedelta
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from companion.archive.index import index_path
from companion.archive.listing import Filters, list_sessions
from companion.archive.opening import open_archive
from companion.record import Entry, SqliteLog, open_record
from companion.record.rfc3339 import parse_rfc3339


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
    page.locator("select[name=result]").select_option("inside")
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
    marked, other = (
        page.locator(told).first.evaluate("e => getComputedStyle(e).outlineStyle")
        for told in (f"#{anchor}", f"details[open] .talk li:not(#{anchor})")
    )
    assert (marked, other) == ("solid", "none")


def test_a_car_is_found_by_its_plate_or_order_from_every_page(
    page: Page, shop_with_cars: Any
) -> None:
    page.goto(f"{shop_with_cars.address}/statistics")
    page.get_by_label("Words to search for").fill("ex-806")
    page.get_by_label("Words to search for").press("Enter")
    cars = page.get_by_role("region", name="One visit's car fits")
    expect(cars).to_contain_text("4712, EX 806")
    cars.get_by_role("link").click()
    expect(page.locator("tbody tr")).to_have_count(2)
    expect(page.get_by_text("one car on one order")).to_be_visible()
    expect(page.locator("tbody tr").first).to_contain_text("4712, EX 806")


def test_the_list_is_narrowed_to_a_car_and_says_which_car_a_job_was_on(
    page: Page, shop_with_cars: Any
) -> None:
    page.goto(shop_with_cars.address)
    expect(page.locator("tbody tr")).to_have_count(4)
    expect(page.locator("tbody tr").first).to_contain_text("visit 20310301-3")
    page.get_by_label("Order, plate or VIN").fill("ex 123")
    page.get_by_role("button", name="Show").click()
    expect(page.locator("tbody tr")).to_have_count(1)
    expect(page.get_by_label("Order, plate or VIN")).to_have_value("ex 123")
    expect(page.locator("tbody tr").first).to_contain_text("4711, EX 123")


def test_a_car_that_was_changed_hides_no_job(page: Page, shop_with_cars: Any) -> None:
    folder = shop_with_cars.record.with_name("shop.record.cars")
    file = next(path for path in folder.iterdir() if b"EX 123" in path.read_bytes())
    kept = file.read_bytes()
    file.write_bytes(kept.replace(b"EX 123", b"EX 999"))
    try:
        page.goto(f"{shop_with_cars.address}/search?q=EX+999")
        expect(page.get_by_text("Nothing was found")).to_be_visible()
        page.goto(shop_with_cars.address)
        expect(page.locator("tbody tr")).to_have_count(4)
        expect(page.locator("tbody tr").last).to_contain_text("visit 20310301-1")
    finally:
        file.write_bytes(kept)


def test_two_sessions_are_compared_measure_by_measure(page: Page, served_shop: Any) -> None:
    page.goto(served_shop.address)
    for place in (0, 3):
        page.get_by_role("checkbox").nth(place).check()
    page.get_by_role("button", name="Compare").click()
    expect(page.locator(".compare thead th")).to_have_count(3)
    expect(page.get_by_role("row", name="Floor twist")).to_be_visible()
    expect(page.get_by_role("img", name="Floor twist, as found")).to_be_visible()
    expect(page.locator("thead .letter")).to_have_text(["A", "B"])


def test_what_differs_is_marked_with_a_sign_and_a_word(page: Page, served_shop: Any) -> None:
    with open_archive(served_shop.record) as archive:
        first, second = list_sessions(archive, limit=2).sessions
    pair = f"session={first.session_id}&session={second.session_id}"
    page.goto(f"{served_shop.address}/compare?{pair}")
    differing = page.locator("tr.differs")
    assert 0 < differing.count() < page.locator("tbody tr").count()
    expect(differing.first.locator(".unseen")).to_have_text("differs: ")
    page.goto(f"{served_shop.address}/compare?session={first.session_id}&{pair}")
    for row in page.locator("tr.differs").all():
        values = row.locator("td").all_inner_texts()
        assert len(set(values)) > 1


def test_the_same_measured_twice_is_no_difference(page: Page, recorded: Any, serve: Any) -> None:
    def jobs(shop: Any) -> None:
        shop.compute(
            "floor", "f", {}, floor_twist_mm=(0.5, 0.2, "mm"), plate_level_deg=(0.1, 0.01, "deg")
        )

    first = recorded(jobs)
    with open_record(first.path) as database:
        log = SqliteLog(database, database.create_session())
        values = {"floor_twist_mm": (0.7, 0.2, "mm"), "plate_level_deg": (0.2, 0.01, "deg")}
        outputs = {
            name: {"value": value, "u": u, "unit": unit}
            for name, (value, u, unit) in values.items()
        }
        log.append([Entry("computed", {"step_id": "floor", "outputs": outputs, "inputs": {}})])
        second = log.session_id
    page.goto(f"{serve(first.path).address}/compare?session={first.session_id}&session={second}")
    assert page.get_by_role("row", name="Floor twist").get_attribute("class") is None
    expect(page.get_by_role("row", name="Plate level")).to_have_class("differs")


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
        ]
    )
    expect(page.locator(".bays tbody tr")).to_have_count(1)
    expect(page.locator(".bays tbody tr")).to_contain_text("too few")
    charts = page.locator("figure svg[aria-labelledby^='drift-']")
    expect(charts).to_have_count(9)
    page.get_by_role("link", name="Readings, hearing and time").click()
    expect(headings).to_have_text(
        [
            "Do readings repeat?",
            "How often are answers misheard, and in how much noise?",
            "Where does the day go?",
        ]
    )
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
    page.get_by_role("link", name="Values and jobs of Floor twist").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Values and jobs of Floor twist")
    page.locator(".values tbody a").first.focus()
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
    one = session.session_id
    for where in (
        *("/", "/search?q=yes", "/statistics", "/statistics/repeats"),
        *("/statistics/values?measure=floor_twist_mm", f"/session?id={one}"),
        f"/session/all?id={one}",
    ):
        page.goto(served_shop.address + where)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, where


@pytest.mark.parametrize("width", [390, 820, 1280])
def test_no_column_of_the_list_lies_beyond_the_edge(
    page: Page, served_shop: Any, width: int
) -> None:
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(served_shop.address)
    cells = page.locator(".sessions tbody tr:first-child > *").all()
    edges = [box["x"] + box["width"] for cell in cells if (box := cell.bounding_box())]
    assert len(edges) >= 6
    assert max(edges) <= width
    row = page.locator(".sessions tbody tr").first
    expect(row).to_contain_text("Bay one")
    shown = row.locator("td[data-label=Bay]").evaluate(
        "e => getComputedStyle(e, '::before').content"
    )
    assert shown == ('"Bay"' if width == 390 else "none")


def test_every_page_has_the_bar_with_its_search(page: Page, served_shop: Any, context: Any) -> None:
    session = newest_session(served_shop)
    for where in ("/", f"/session?id={session.session_id}", "/compare", "/statistics"):
        page.goto(served_shop.address + where)
        expect(page.get_by_role("navigation", name="Pages", exact=True)).to_be_visible()
        page.get_by_label("Words to search for").fill("chocked")
        page.keyboard.press("Enter")
        expect(page.locator("mark").first).to_be_visible()
    missing = context.new_page()
    missing.goto(f"{served_shop.address}/nowhere")
    expect(missing.get_by_label("Words to search for")).to_be_visible()


def test_a_session_with_many_sounds_has_few_tab_stops_and_ways_past_them(
    page: Page, finished_job: Any, serve: Any
) -> None:
    address = serve(finished_job.path).address
    page.goto(f"{address}/session/all?id={finished_job.session_id}")
    assert page.locator("audio").count() > 40
    stops = []
    for _ in range(200):
        page.keyboard.press("Tab")
        told = page.evaluate("document.activeElement.outerHTML.slice(0, 60)")
        if told.startswith("<body") or (stops and told == stops[0]):
            break
        stops.append(told)
    assert len(stops) < 70, len(stops)
    page.goto(f"{address}/session?id={finished_job.session_id}")
    assert page.locator("audio").count() == 0
    page.get_by_role("link", name="Said and heard", exact=True).click()
    # A click is over before what it leads to has come: reloaded at once, one page ends the other.
    page.wait_for_url("**/session/all?**")
    page.reload()
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to what was said and heard")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.matches('.talk-stage summary')")
    page.keyboard.press("Enter")
    expect(page.locator("details[open] .talk li").first).to_be_visible()


def test_times_are_this_places_with_utc_beside_them(
    page: Page, recorded: Any, job_opening: Any, serve: Any, monkeypatch: Any
) -> None:
    monkeypatch.setenv("TZ", "Etc/GMT-11")
    time.tzset()
    try:
        job = recorded(lambda shop: shop.put("opened", **job_opening()))
        with open_archive(job.path) as archive:
            opened_utc = list_sessions(archive).sessions[0].opened_utc
        here = parse_rfc3339(opened_utc) + timedelta(hours=11)
        address = serve(job.path).address
        page.goto(address)
        row = page.locator("tbody tr").first
        expect(row.get_by_role("link")).to_have_text(f"{here:%Y-%m-%d %H:%M}")
        expect(row.locator("th .also")).to_have_text(re.compile("UTC$"))
        expect(page.locator("#list")).to_contain_text("UTC+11:00")
        row.get_by_role("link").click()
        expect(page.locator(".top .meta").first).to_contain_text(f"{opened_utc[11:19]} UTC")
        page.goto(f"{address}/?since={here:%Y-%m-%d}&until={here:%Y-%m-%d}")
        expect(page.locator("tbody tr")).to_have_count(1)
        later = here + timedelta(days=1)
        page.goto(f"{address}/?since={later:%Y-%m-%d}")
        expect(page.locator("tbody tr")).to_have_count(0)
    finally:
        monkeypatch.undo()
        time.tzset()


def test_a_recognisers_own_scores_stay_out_of_the_page(
    page: Page, recorded: Any, serve: Any
) -> None:
    raw = "log probability -5.21, -1.30 over the next meaning; both heads -4.10"

    def job(shop: Any) -> None:
        shop.put("refused", prompt_id="p", reason="unsure", words="six", detail=raw, ears="own")
        shop.put(
            "refused",
            prompt_id="p",
            reason="unsure",
            words="six",
            detail=raw,
            ears="own",
            speech_dbfs=-20.0,
            background_dbfs=-41.4,
        )

    made = recorded(job)
    page.goto(f"{serve(made.path).address}/session/all?id={made.session_id}")
    told = page.locator("body").text_content() or ""
    assert "probability -" not in told
    assert "both heads" not in told
    assert "speech −20 dBFS, background −41 dBFS" in told


def test_long_lists_come_in_pages_that_say_how_many_there_are(
    page: Page, drifting_shop: Any, serve: Any
) -> None:
    address = serve(drifting_shop).address
    page.goto(f"{address}/?sort=oldest&bay=Bay+one")
    turning = page.get_by_role("navigation", name="Pages of the list")
    expect(turning).to_contain_text("Page 1 of 2")
    turning.get_by_role("link", name="Page 2").click()
    expect(page.locator("tbody tr")).to_have_count(15)
    expect(page.locator("tbody tr").last).to_contain_text("2031-05-10")
    expect(page.get_by_label("Sorted by")).to_have_value("oldest")
    page.goto(f"{address}/search?q=example")
    page.get_by_role("link", name="Page 2").click()
    expect(page.locator(".find")).to_have_count(10)


def test_a_session_that_is_not_there_is_said_to_be_so(context: Any, served_shop: Any) -> None:
    page = context.new_page()
    answer = page.goto(f"{served_shop.address}/session?id=nobody")
    assert answer.status == 404
    expect(page.locator(".message")).to_have_text("There is no session “nobody” here.")


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


@pytest.mark.parametrize("width", [390, 820, 1280])
def test_a_found_moment_of_a_session_with_sounds_is_in_view(
    page: Page, finished_job: Any, serve: Any, width: int
) -> None:
    page.set_viewport_size({"width": width, "height": 850})
    page.goto(f"{serve(finished_job.path).address}/search?q=seven+eleven")
    page.locator(".find li a").first.click()
    expect(page.locator("li:target")).to_be_in_viewport()
    expect(page.locator("li:target")).to_contain_text("seven eleven")
    # With a part laid out later, one visit in twenty stayed at the top on a busy machine.
    laid_out = (
        "[...document.querySelectorAll('main *')].map(e => getComputedStyle(e).contentVisibility)"
    )
    assert "auto" not in page.evaluate(laid_out)
    assert page.evaluate("document.documentElement.scrollWidth") <= width

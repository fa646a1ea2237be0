"""A real browser at the pages over many boxes, on this machine without a proxy."""

from __future__ import annotations

import threading

from playwright.sync_api import Browser, expect
from psycopg import Connection

from companion.store import keeping
from companion.store.review.app import make_store_app
from companion.store.review.people import set_password
from companion.store.review.pool import Pool
from companion.store.review.serving import keep_indexed
from companion.web.serving import make_server
from tests.browsers import serving_on_free_port
from tests.store.chain import PASSWORD
from tests.store.yard import Yard


def test_log_in_look_write_log_out(yard: Yard, admin: Connection, chromium: Browser) -> None:
    box = yard.box("bay one", "North", jobs=2)
    keeping.add_person(admin, "S. North", "s.north", "supervisor", ("North",))
    set_password(admin, "s.north", PASSWORD)
    store, file = yard.login(keeping.add_pages(admin))
    pool, over = Pool(store, file), threading.Event()
    pool.open()
    indexing = threading.Thread(target=keep_indexed, args=(store, file, over), daemon=True)
    indexing.start()
    try:
        with (
            serving_on_free_port(make_server(make_store_app(pool))) as address,
            chromium.new_context() as context,
        ):
            box.ship()
            page = context.new_page()
            page.goto(f"{address}/fleet")
            expect(page).to_have_url(f"{address}/login")
            page.get_by_label("Login").fill("S.North")
            page.get_by_label("Password").fill("wrong password")
            page.get_by_role("button", name="Log in").click()
            expect(page.get_by_role("alert")).to_contain_text("wrong")
            page.get_by_label("Login").fill("S.North")
            page.get_by_label("Password").fill(PASSWORD)
            page.get_by_role("button", name="Log in").click()
            expect(page).to_have_url(f"{address}/")
            (cookie,) = page.context.cookies()
            assert (cookie["httpOnly"], cookie["secure"], cookie["sameSite"]) == (
                *(True, True, "Strict"),
            )
            for _ in range(40):
                page.goto(f"{address}/")
                if page.locator("tbody tr").count() == 2:
                    break
                page.wait_for_timeout(250)
            page.locator("tbody a").first.click()
            page.get_by_role("link", name="Sign, correct, comment").click()
            form = page.locator("form[action='/session/comment']")
            form.get_by_label("Comment").fill("Ask again")
            form.get_by_role("button").click()
            expect(page.locator("blockquote")).to_contain_text("Ask again")
            # Scripts of a page see no cookie, and there are none.
            assert page.evaluate("document.cookie") == ""
            page.get_by_role("button", name="Log out").click()
            expect(page).to_have_url(f"{address}/login")
            page.goto(f"{address}/")
            expect(page).to_have_url(f"{address}/login")
            # A page from elsewhere sends a form with whatever cookies there are.
            page.context.add_cookies([cookie])
            stranger = page.context.new_page()
            stranger.route(
                "http://stranger.example/",
                lambda route: route.fulfill(
                    content_type="text/html",
                    body=f"<form method=post action='{address}/session/comment'>"
                    "<input name=id value=x><button>Go</button></form>",
                ),
            )
            stranger.goto("http://stranger.example/")
            stranger.get_by_role("button").click()
            expect(stranger.locator("body")).to_contain_text("another place")
    finally:
        over.set()
        pool.close()

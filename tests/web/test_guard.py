"""Both servers let reading through and nothing else, and only by names that are their own."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar

import httpx
import pytest
from starlette.applications import Starlette

from companion.browse.app import make_app as review_app
from companion.display.server import make_app as display_app
from companion.record import Entry, SqliteLog, open_record
from companion.web.guard import Guard
from companion.web.hosts import host_name, is_loopback, is_own_name

APPS: dict[str, Callable[..., Starlette]] = {"review": review_app, "display": display_app}
Answer = TypeVar("Answer")
READING = ("GET", "HEAD")
OURS = "a-good-token"
METHODS = ("POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "ANYTHING")


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "record.sqlite"
    with open_record(path) as database:
        SqliteLog(database, database.create_session()).append([Entry("said", {"text": "x"})])
    return path


def run(work: Coroutine[Any, Any, Answer]) -> Answer:
    """In a thread of its own: where a browser was used before, this one's loop is taken."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()


def ask(app: Any, method: str, path: str = "/", host: str = "127.0.0.1") -> httpx.Response:
    async def asked() -> httpx.Response:
        transport = httpx.ASGITransport(app=app)
        async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client:
            return await client.request(method, path, headers={"host": host})

    return run(asked())


class Reached(Exception):
    """What is behind the guard was asked."""


async def behind(scope: Any, receive: Any, send: Any) -> None:
    raise Reached


@pytest.mark.parametrize("token", [None, OURS])
@pytest.mark.parametrize("method", METHODS)
def test_the_guard_itself_lets_no_other_method_through(method: str, token: str | None) -> None:
    """Whatever stands behind it: pages that only know GET would hide a guard that is open."""
    guard = Guard(behind, {"x-frame-options": "DENY"}, token=token)
    answer = ask(guard, method, f"/?token={OURS}")
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD"
    assert answer.headers["x-frame-options"] == "DENY"


@pytest.mark.parametrize("method", READING)
def test_the_guard_lets_reading_through(method: str) -> None:
    with pytest.raises(Reached):
        ask(Guard(behind, {}), method)


@pytest.mark.parametrize("path", ["/", "//elsewhere.example/x", "/\\elsewhere.example", "/a/b"])
def test_the_token_leads_to_this_machine_alone_and_into_a_cookie_no_script_reads(path: str) -> None:
    guard = Guard(behind, {}, token=OURS)
    answer = ask(guard, "GET", f"http://127.0.0.1{path}?token={OURS}")
    assert answer.status_code == 303
    location = answer.headers["location"]
    assert location.startswith("/")
    assert location[1:2] not in ("/", "\\")
    assert "token" not in location
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


@pytest.mark.parametrize("query", ["", "?token=", "?token=another", "?token=a-good-toke"])
def test_without_the_token_nothing_is_answered(query: str) -> None:
    answer = ask(Guard(behind, {"x-frame-options": "DENY"}, token=OURS), "GET", f"/{query}")
    assert answer.status_code == 403
    assert answer.headers["x-frame-options"] == "DENY"
    assert "set-cookie" not in answer.headers


def test_the_guard_refuses_what_is_no_request_of_http() -> None:
    sent: list[dict[str, Any]] = []

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "http.request"}

    guard = Guard(behind, {})
    scope = {"type": "websocket", "headers": [(b"host", b"127.0.0.1")], "path": "/", "method": ""}
    run(guard(scope, receive, send))
    assert "Reached" not in str(sent)


@pytest.mark.parametrize("pages", APPS)
@pytest.mark.parametrize("method", METHODS)
def test_nothing_can_be_sent_to_any_page(record: Path, pages: str, method: str) -> None:
    app = APPS[pages](record)
    for path in ("/", "/search", "/events", "/nowhere"):
        assert ask(app, method, path).status_code == 405


@pytest.mark.parametrize("pages", APPS)
@pytest.mark.parametrize(
    ("listening_on", "called", "status"),
    [
        ("127.0.0.1", "127.0.0.1:8460", 200),
        ("127.0.0.1", "LOCALHOST", 200),
        ("127.0.0.2", "127.0.0.2:8460", 200),
        ("::1", "[::1]:8460", 200),
        ("localhost", "localhost:1", 200),
        ("127.0.0.1", "elsewhere.example", 421),
        ("127.0.0.1", "127.0.0.1.elsewhere.example", 421),
        ("127.0.0.1", "localhost.elsewhere.example", 421),
        ("127.0.0.1", "192.168.10.5", 421),
        ("::1", "[2001:db8::1]", 421),
        ("127.0.0.1", "", 421),
        ("192.168.10.5", "192.168.10.5:8170", 200),
        ("192.168.10.5", "elsewhere.example", 421),
        ("0.0.0.0", "192.168.10.5:8170", 200),  # noqa: S104
        ("0.0.0.0", "elsewhere.example", 421),  # noqa: S104
        ("::", "[2001:db8::1]:8170", 200),
    ],
)
def test_each_server_answers_by_its_own_names(
    record: Path, pages: str, listening_on: str, called: str, status: int
) -> None:
    app = APPS[pages](record, listening_on=listening_on)
    assert ask(app, "GET", host=called).status_code == status


@pytest.mark.parametrize(
    ("header", "name"),
    [
        ("127.0.0.1:80", "127.0.0.1"),
        ("[::1]:80", "::1"),
        ("[::1]", "::1"),
        ("Box.example:8170", "box.example"),
        ("", ""),
        ("[", ""),
        (":80", ""),
    ],
)
def test_the_name_in_a_host_header(header: str, name: str) -> None:
    assert host_name(header) == name


@pytest.mark.parametrize(
    ("host", "alone"),
    [
        ("127.0.0.1", True),
        ("127.0.0.2", True),
        ("::1", True),
        ("localhost", True),
        ("0.0.0.0", False),  # noqa: S104
        ("192.168.10.5", False),
        ("shop.example", False),
        ("127.0.0.1.shop.example", False),
    ],
)
def test_what_only_this_machine_reaches(host: str, alone: bool) -> None:
    assert is_loopback(host) is alone


def test_a_name_given_to_listen_on_is_its_own() -> None:
    assert is_own_name("box.example", "Box.example")
    assert not is_own_name("other.example", "box.example")

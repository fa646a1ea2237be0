"""The guard alone, before an application that would answer anything."""

from __future__ import annotations

import asyncio

import httpx
import pytest
from starlette.responses import PlainTextResponse
from starlette.types import Receive, Scope, Send

from companion.review.pages.guard import Guard


class AnswersAnything:
    """An application that does whatever it is asked, so that only the guard can refuse."""

    def __init__(self) -> None:
        self.asked: list[str] = []

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        self.asked.append(scope["method"])
        await PlainTextResponse("done")(scope, receive, send)


def ask(guard: Guard, method: str, **headers: str) -> httpx.Response:
    async def asked() -> httpx.Response:
        wire = httpx.ASGITransport(app=guard)
        async with httpx.AsyncClient(transport=wire, base_url="http://127.0.0.1") as client:
            return await client.request(method, "/", headers=headers)

    return asyncio.run(asked())


@pytest.mark.parametrize("token", [None, "a-good-token"])
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "BREW"])
def test_nothing_but_reading_comes_through_even_with_the_token(
    method: str, token: str | None
) -> None:
    app = AnswersAnything()
    answer = ask(Guard(app, token), method, cookie=f"companion_review={token}")
    assert app.asked == []
    assert (answer.status_code, answer.headers["allow"]) == (405, "GET, HEAD")
    assert answer.headers["x-frame-options"] == "DENY"


@pytest.mark.parametrize("token", [None, "a-good-token"])
@pytest.mark.parametrize("method", ["GET", "HEAD"])
def test_reading_does(method: str, token: str | None) -> None:
    app = AnswersAnything()
    answer = ask(Guard(app, token), method, cookie=f"companion_review={token}")
    assert app.asked == [method]
    assert answer.status_code == 200


@pytest.mark.parametrize(
    "name", ["127.0.0.1", "127.0.0.1:8000", "localhost", "LOCALHOST", "[::1]:8"]
)
def test_without_a_token_this_machines_own_names_are_answered(name: str) -> None:
    assert ask(Guard(AnswersAnything()), "GET", host=name).status_code == 200


@pytest.mark.parametrize(
    "name", ["shop.example", "127.0.0.1.example", "[::2]", "localhost.example"]
)
def test_without_a_token_no_other_name_is(name: str) -> None:
    app = AnswersAnything()
    assert ask(Guard(app), "GET", host=name).status_code == 421
    assert app.asked == []

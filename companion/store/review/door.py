"""What stands before every page of the store: by which name, by whom, with which form."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs, urlsplit

from anyio import to_thread
from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from companion.browse.app import SECURITY_HEADERS
from companion.store.connecting import StoreError
from companion.store.review.people import Visitor
from companion.web.headers import STYLE, put_on
from companion.web.hosts import host_name, is_loopback

OPEN = STYLE | {"/login"}
"""What somebody sees who has not logged in."""
OF_EVERYBODY = frozenset({"/listened"})
"""What a technician sees, who looks after no jobs."""
# A form is to say from where it was sent, which with "no-referrer" no browser does.
HEADERS = {**SECURITY_HEADERS, "referrer-policy": "same-origin"}
MOST_FORM_BYTES = 40_000
FORM_WITHIN_S = 10.0
READING = ("GET", "HEAD")


class Door:
    """Lets in those who have a session, and of forms those that were made for it.

    `public` is the address by which browsers reach the pages, such as https://review.example; ""
    where they are looked at on this machine alone. `whose` looks a session up; it may block.
    """

    def __init__(
        self,
        app: ASGIApp,
        public: str,
        writes: frozenset[str],
        whose: Callable[[str], Visitor | None],
    ) -> None:
        self._app = app
        self._public = public.rstrip("/")
        self._name = (urlsplit(public).hostname or "").lower()
        self._writes = writes | {"/login"}
        self._whose = whose

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                put_on(message, scope, HEADERS)
            await send(message)

        answer = await self._refusal(scope, receive)
        await (answer or self._app)(scope, receive, send_guarded)

    async def _refusal(self, scope: Scope, receive: Receive) -> Response | None:
        headers = Headers(scope=scope)
        name = host_name(headers.get("host", ""))
        if not (name == self._name if self._name else is_loopback(name)):
            return PlainTextResponse("Wanted: the address that these pages are known by.", 421)
        path = scope["path"]
        if scope["method"] not in READING and (
            scope["method"] != "POST" or path not in self._writes
        ):
            return PlainTextResponse("This page is for reading only.", 405)
        try:
            token = "" if path in STYLE else cookie_in(headers, self._public)
            visitor = await to_thread.run_sync(self._whose, token) if token else None
        except StoreError as error:
            return PlainTextResponse(f"The store cannot be reached: {error}", 503)
        scope["visitor"] = visitor
        if scope["method"] == "POST":
            return await self._wrong_form(scope, receive, headers, visitor)
        if visitor is None and path not in OPEN:
            return RedirectResponse("/login", 303)
        if visitor is not None and not visitor.may_look and path not in OPEN | OF_EVERYBODY:
            return RedirectResponse("/listened", 303)
        return None

    async def _wrong_form(
        self, scope: Scope, receive: Receive, headers: Headers, visitor: Visitor | None
    ) -> Response | None:
        own = self._public or f"http://{headers.get('host', '')}"
        if headers.get("origin", own) != own or headers.get(
            "sec-fetch-site", "same-origin"
        ) not in (
            "same-origin",
            "none",
        ):
            return PlainTextResponse("This form was sent from another place.", 403)
        try:
            body = await asyncio.wait_for(_body(receive), FORM_WITHIN_S)
            fields = parse_qs(body.decode("utf-8"), keep_blank_values=True, max_num_fields=20)
        except (TimeoutError, ValueError):
            return PlainTextResponse("This is no form of these pages.", 400)
        form = {field: values[-1] for field, values in fields.items()}
        scope["form"] = form
        if scope["path"] == "/login":
            return None
        if visitor is None:
            return PlainTextResponse("Your session is over; log in again.", 403)
        if not visitor.sent(form.get("form_token", "")):
            return PlainTextResponse(
                "This form was not made for your session; open the page again.", 403
            )
        return None


async def _body(receive: Receive) -> bytes:
    body = b""
    while True:
        message = await receive()
        if message["type"] != "http.request":
            raise ValueError("the browser is gone")
        body += bytes(message.get("body", b""))
        if len(body) > MOST_FORM_BYTES:
            raise ValueError("too long")
        if not message.get("more_body", False):
            return body


def cookie_name(public: str) -> str:
    """With the prefix a browser takes it over an encrypted line from this very name alone."""
    return "__Host-companion" if public.startswith("https://") else "companion_session"


def cookie_in(headers: Headers, public: str) -> str:
    """The session's token; "" where there is none."""
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(cookie_name(public))
    except CookieError:
        return ""
    return found.value if found is not None else ""

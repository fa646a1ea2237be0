"""What stands before every page: who may ask, for what, and what a browser may do with it."""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from http.cookies import CookieError, SimpleCookie
from urllib.parse import parse_qs

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from companion.web.headers import put_on
from companion.web.hosts import host_name, is_own_name

COOKIE = "companion_review"
LOOPBACK = "127.0.0.1"


class Guard:
    """Lets only reading through, only by names that are this server's own, or with the token.

    `listening_on` is the address that the server listens on. With a token, it is given once as
    `?token=`, then kept in a cookie that scripts and other sites cannot use; anyone who has it may
    call the server by any name. `headers` are put on every answer, refusals too.
    """

    def __init__(
        self,
        app: ASGIApp,
        headers: Mapping[str, str],
        listening_on: str = LOOPBACK,
        token: str | None = None,
    ) -> None:
        self._app = app
        self._headers = dict(headers)
        self._listening_on = listening_on
        self._token = token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        refusal = self._refusal(scope)

        async def send_guarded(message: Message) -> None:
            if message["type"] == "http.response.start":
                put_on(message, scope, self._headers)
            await send(message)

        await (refusal or self._app)(scope, receive, send_guarded)

    def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        if scope["type"] != "http" or scope["method"] not in ("GET", "HEAD"):
            return PlainTextResponse(
                "This page is for reading only.", 405, headers={"allow": "GET, HEAD"}
            )
        if self._token is None:
            if is_own_name(host_name(headers.get("host", "")), self._listening_on):
                return None
            return PlainTextResponse("Wanted: this machine's own name, such as 127.0.0.1.", 421)
        return self._token_refusal(scope, headers, self._token)

    def _token_refusal(self, scope: Scope, headers: Headers, token: str) -> Response | None:
        given = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if given and _same(given, token):
            # One slash: two would name another machine.
            answer = RedirectResponse("/" + scope["path"].lstrip("/\\"), 303)
            answer.set_cookie(COOKIE, token, httponly=True, samesite="strict", path="/")
            return answer
        if _same(_cookie(headers.get("cookie", "")), token):
            return None
        return PlainTextResponse(
            "Wanted: the address with the token that 'companion review serve' printed.", 403
        )


def _same(given: str, token: str) -> bool:
    return hmac.compare_digest(given.encode("utf-8", "replace"), token.encode())


def _cookie(header: str) -> str:
    try:
        found = SimpleCookie(header).get(COOKIE)
    except CookieError:
        return ""
    return found.value if found is not None else ""

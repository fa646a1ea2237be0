"""The page in the bay: read-only, on this machine only unless told otherwise, live.

Built on Starlette; uvicorn serves it. There is nothing to send to it: only GET, no cookies, no
forms, no scripts but its own.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import uvicorn
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import (
    FileResponse,
    HTMLResponse,
    PlainTextResponse,
    Response,
    StreamingResponse,
)
from starlette.routing import Route

from companion.display import page
from companion.display.moment import Instruction, Moment
from companion.display.watching import LOOK_EVERY_S, Watching
from companion.facts.shown import NO_SHOWS, Shows
from companion.web import serving
from companion.web.guard import LOOPBACK, Guard
from companion.web.headers import security_headers

BEAT_EVERY_S = 2.0
SCREENS_AT_MOST = 16
SECURITY_HEADERS = security_headers(
    style_src="'self'", script_src="'self'", connect_src="'self'", img_src="data:"
)


class Screens:
    """The open pages: each gets every moment, or the newest where it was too slow for all."""

    def __init__(self) -> None:
        self.moment = Moment("no_job", Instruction("No job is running."))
        self._waiting: set[asyncio.Queue[Moment]] = set()

    def show(self, moment: Moment) -> None:
        """Call it in the server's own thread."""
        self.moment = moment
        for queue in self._waiting:
            while queue.full():
                queue.get_nowait()
            queue.put_nowait(moment)

    @property
    def full(self) -> bool:
        return len(self._waiting) >= SCREENS_AT_MOST

    async def stream(self) -> AsyncIterator[str]:
        """The moments as server-sent events, and a beat while nothing changes."""
        queue: asyncio.Queue[Moment] = asyncio.Queue(maxsize=8)
        self._waiting.add(queue)
        try:
            yield "retry: 1000\n\n" + _event(self.moment)
            while True:
                try:
                    yield _event(await asyncio.wait_for(queue.get(), BEAT_EVERY_S))
                except TimeoutError:
                    yield "event: beat\ndata:\n\n"
        finally:
            self._waiting.discard(queue)


def _event(moment: Moment) -> str:
    return f"event: view\ndata: {json.dumps(page.view(moment))}\n\n"


def make_app(
    record: Path,
    listening_on: str = LOOPBACK,
    look_every_s: float = LOOK_EVERY_S,
    shows: Shows = NO_SHOWS,
) -> Starlette:
    """The application that shows the newest job of this record, for a server at that address."""
    screens = Screens()

    @asynccontextmanager
    async def following(app: Starlette) -> AsyncIterator[None]:
        loop = asyncio.get_running_loop()

        def changed(moment: Moment) -> None:
            loop.call_soon_threadsafe(screens.show, moment)

        watching = Watching(record, changed, look_every_s, shows)
        watching.start()
        try:
            yield
        finally:
            await asyncio.to_thread(watching.stop)

    async def index(request: Request) -> Response:
        return HTMLResponse(page.shell(screens.moment))

    async def events(request: Request) -> Response:
        if screens.full:
            return PlainTextResponse("Too many screens are open.", 503)
        return StreamingResponse(screens.stream(), media_type="text/event-stream")

    async def style(request: Request) -> Response:
        return FileResponse(page.TEMPLATES / "display.css", media_type="text/css")

    async def script(request: Request) -> Response:
        return FileResponse(page.TEMPLATES / "display.js", media_type="text/javascript")

    return Starlette(
        routes=[
            Route("/", index),
            Route("/events", events),
            Route("/display.css", style),
            Route("/display.js", script),
        ],
        middleware=[Middleware(Guard, headers=SECURITY_HEADERS, listening_on=listening_on)],
        lifespan=following,
    )


def make_server(record: Path, host: str = LOOPBACK, shows: Shows = NO_SHOWS) -> uvicorn.Server:
    """A server that is ready to run, with a socket that listens at that address."""
    return serving.make_server(make_app(record, host, shows=shows), has_lifespan=True)

"""A real browser, and servers that run while a test or a benchmark reads their pages."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Iterator

import uvicorn
from playwright.sync_api import Browser, expect, sync_playwright

from companion.web.guard import LOOPBACK
from companion.web.serving import listen, url

CHROMIUM = "/usr/bin/chromium"
FLAGS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage"),
]
WAITED_S = 60


@contextlib.contextmanager
def running_browser() -> Iterator[Browser]:
    """Debian's own Chromium, without a window."""
    expect.set_options(timeout=20_000)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@contextlib.contextmanager
def serving_on_free_port(server: uvicorn.Server, host: str = LOOPBACK) -> Iterator[str]:
    """The address of this server, running in a thread of its own on this machine."""
    started = threading.Event()
    startup = server.startup

    async def startup_and_tell(sockets: list[socket.socket] | None = None) -> None:
        await startup(sockets=sockets)
        started.set()

    server.startup = startup_and_tell  # type: ignore[method-assign]
    with listen(host, 0) as listening:
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
        thread.start()
        try:
            assert started.wait(WAITED_S)
            yield url(host, listening.getsockname()[1]).rstrip("/")
        finally:
            server.should_exit = True
            thread.join(WAITED_S)

"""Serving the pages: on this machine alone, unless told otherwise."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from companion.archive.opening import open_archive
from companion.browse.app import make_app
from companion.facts.shown import NO_SHOWS, Shows
from companion.statistics.figures_check import open_summaries
from companion.web.guard import LOOPBACK
from companion.web.hosts import is_loopback
from companion.web.serving import listen, make_server, url

__all__ = ["LOOPBACK", "Opened", "page_server", "prepare", "serve"]


@dataclass(frozen=True)
class Opened:
    """Where the pages can be read; `address` holds the token where one is needed."""

    host: str
    port: int
    token: str | None

    @property
    def address(self) -> str:
        """What to type into a browser."""
        return url(self.host, self.port, f"?token={self.token}" if self.token else "")


def serve(
    record_path: Path,
    host: str,
    port: int,
    tell: Callable[[Opened], None] | None = None,
    shows: Shows = NO_SHOWS,
) -> None:
    """Serve the pages until interrupted; port 0 takes a free one, which `tell` is told.

    Beyond loopback a fresh token is made and wanted from everybody. Raises `CompanionError` when
    the address cannot listen there.
    """
    token = None if is_loopback(host) else secrets.token_urlsafe(24)
    listening = listen(host, port)
    opened = Opened(host, listening.getsockname()[1], token)
    server = page_server(record_path, token, host, shows)
    with listening:
        if tell is not None:
            tell(opened)
        server.run(sockets=[listening])


def page_server(
    record_path: Path,
    token: str | None = None,
    host: str = LOOPBACK,
    shows: Shows = NO_SHOWS,
) -> uvicorn.Server:
    """The server of the pages, not yet running; with a token nobody without it gets an answer."""
    return make_server(make_app(record_path, token, host, shows))


def prepare(record_path: Path) -> None:
    """Bring what lists and statistics are quick by up to date, so that no page has to wait for it.

    Raises `RecordError` when the record cannot be read through.
    """
    with open_archive(record_path) as archive, open_summaries(archive):
        pass

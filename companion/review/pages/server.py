"""Serving the pages: on this machine alone, unless told otherwise."""

from __future__ import annotations

import ipaddress
import secrets
import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from companion.errors import CompanionError
from companion.page_protocol import PageProtocol
from companion.review.archive import open_archive
from companion.review.pages.app import make_app
from companion.review.statistics.store import open_summaries

LOOPBACK = "127.0.0.1"


@dataclass(frozen=True)
class Opened:
    """Where the pages can be read; `address` holds the token where one is needed."""

    host: str
    port: int
    token: str | None

    @property
    def address(self) -> str:
        """What to type into a browser."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        token = f"?token={self.token}" if self.token else ""
        return f"http://{host}:{self.port}/{token}"


def serve(
    record_path: Path, host: str, port: int, tell: Callable[[Opened], None] | None = None
) -> None:
    """Serve the pages until interrupted; port 0 takes a free one, which `tell` is told.

    Beyond loopback a fresh token is made and wanted from everybody. Raises `CompanionError` when
    the address cannot be listened on.
    """
    token = None if is_loopback(host) else secrets.token_urlsafe(24)
    listening = _listen(host, port)
    opened = Opened(host, listening.getsockname()[1], token)
    server = page_server(record_path, token)
    with listening:
        if tell is not None:
            tell(opened)
        server.run(sockets=[listening])


def page_server(record_path: Path, token: str | None = None) -> uvicorn.Server:
    """The server of the pages, not yet running; with a token nobody without it gets an answer."""
    return uvicorn.Server(
        uvicorn.Config(
            make_app(record_path, token),
            log_level="error",
            access_log=False,
            http=PageProtocol,
            server_header=False,
            lifespan="off",
        )
    )


def prepare(record_path: Path) -> None:
    """Bring what lists and statistics are quick by up to date, so that no page has to wait for it.

    Raises `RecordError` when the record cannot be read through.
    """
    with open_archive(record_path) as archive, open_summaries(archive):
        pass


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach that address."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _listen(host: str, port: int) -> socket.socket:
    listening: socket.socket | None = None
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM
        )[0]
        listening = socket.socket(family, kind, protocol)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(address)
        listening.listen()
    except OSError as error:
        if listening is not None:
            listening.close()
        raise CompanionError(
            f"{host}:{port}: cannot listen there ({error.strerror}); "
            "wanted: an address of this machine and a free port (0 takes any)"
        ) from error
    return listening

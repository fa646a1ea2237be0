"""Listening and serving, the same for all pages."""

from __future__ import annotations

import errno
import socket

import uvicorn
from starlette.types import ASGIApp

from companion.errors import CompanionError
from companion.web.protocol import PageProtocol
from companion.web.quiet_log import keep_logs_short

ACCEPTED_AT_ONCE = 64
"""Connections taken in one round of the loop, before any of them can be closed again."""
WAITING_TO_BE_ACCEPTED = 4096


class PageServer(uvicorn.Server):
    """A server of pages: those who knock wait in the system's queue, not in this process."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to serve."""
        # uvicorn has set its loggers up by now.
        keep_logs_short()
        await super().startup(sockets=sockets)
        for server in self.servers:
            for listening in server.sockets:
                with socket.socket(fileno=socket.dup(listening.fileno())) as same:
                    same.listen(WAITING_TO_BE_ACCEPTED)


def make_server(app: ASGIApp, *, has_lifespan: bool = False) -> PageServer:
    """The server of these pages, not yet running; give it a socket of `listen` to run with."""
    return PageServer(
        uvicorn.Config(
            app,
            log_level="warning",
            access_log=False,
            http=PageProtocol,
            ws="none",
            server_header=False,
            lifespan="on" if has_lifespan else "off",
            timeout_graceful_shutdown=1,
            backlog=ACCEPTED_AT_ONCE,
        )
    )


def listen(host: str, port: int) -> socket.socket:
    """A socket that listens there; port 0 takes a free one.

    Raises `CompanionError` that says why it cannot and what to do.
    """
    listening: socket.socket | None = None
    try:
        family, kind, protocol, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM
        )[0]
        listening = socket.socket(family, kind, protocol)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(address)
        listening.listen(ACCEPTED_AT_ONCE)
    except (OSError, UnicodeError) as error:
        if listening is not None:
            listening.close()
        raise CompanionError(_why_not(host, port, error)) from error
    return listening


def url(host: str, port: int, query: str = "") -> str:
    """What to type into a browser."""
    shown = f"[{host}]" if ":" in host else host
    return f"http://{shown}:{port}/{query}"


def _why_not(host: str, port: int, error: OSError | UnicodeError) -> str:
    reason = error.errno if isinstance(error, OSError) else None
    if reason == errno.EADDRINUSE:
        return (
            f"port {port} of {host} is in use, by another program or by these pages already open; "
            "choose another with --port (0 takes a free one)"
        )
    if reason == errno.EADDRNOTAVAIL:
        return f"{host} is not an address of this machine; choose one that is with --host"
    if reason == errno.EACCES:
        return (
            f"port {port} may not be used by this account; choose one from 1024 on with --port "
            "(0 takes a free one)"
        )
    told = error.strerror if isinstance(error, OSError) else "that is not the name of a machine"
    return (
        f"{host}, port {port}: cannot listen there ({told}); wanted: an address of this machine "
        "and a free port (0 takes any)"
    )

"""Listening and serving, the same for all pages."""

from __future__ import annotations

import errno
import socket

import uvicorn
from starlette.types import ASGIApp

from companion.errors import CompanionError
from companion.web.door import WAITING_TO_BE_ACCEPTED, Door
from companion.web.protocol import PageProtocol, most_connections
from companion.web.quiet_log import keep_logs_short


class PageServer(uvicorn.Server):
    """A server of pages; it runs with sockets of `listen`, at each of which stands a `Door`."""

    _doors: tuple[Door, ...] = ()

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin to serve."""
        # uvicorn has set its loggers up by now.
        keep_logs_short()
        await super().startup(sockets=[])
        self._doors = tuple(
            Door(listening, self._connection, most_connections()) for listening in sockets or ()
        )
        for door in self._doors:
            door.open()

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """Take no more connections and end those there are."""
        for door in self._doors:
            door.close()
        await super().shutdown(sockets=sockets)

    def _connection(self, said: bytes) -> PageProtocol:
        return PageProtocol(self.config, self.server_state, self.lifespan.state, said_already=said)


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
        )
    )


def listen(host: str, port: int, option: str = "--port") -> socket.socket:
    """A socket that listens there; port 0 takes a free one. `option`: what the port is given by.

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
        listening.listen(WAITING_TO_BE_ACCEPTED)
    except (OSError, UnicodeError) as error:
        if listening is not None:
            listening.close()
        raise CompanionError(_why_not(host, port, option, error)) from error
    return listening


def url(host: str, port: int, query: str = "") -> str:
    """What to type into a browser."""
    shown = f"[{host}]" if ":" in host else host
    return f"http://{shown}:{port}/{query}"


def _why_not(host: str, port: int, option: str, error: OSError | UnicodeError) -> str:
    reason = error.errno if isinstance(error, OSError) else None
    if reason == errno.EADDRINUSE:
        return (
            f"port {port} of {host} is in use, by another program or by these pages already open; "
            f"choose another with {option} (0 takes a free one)"
        )
    if reason == errno.EADDRNOTAVAIL:
        return f"{host} is not an address of this machine; choose one that is with --host"
    if reason == errno.EACCES:
        return (
            f"port {port} may not be used by this account; choose one from 1024 on with {option} "
            "(0 takes a free one)"
        )
    told = error.strerror if isinstance(error, OSError) else "that is not the name of a machine"
    return (
        f"{host}, port {port}: cannot listen there ({told}); wanted: an address of this machine "
        "and a free port (0 takes any)"
    )

"""Serving the store's pages, and keeping what they are quick by up to date meanwhile."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from pathlib import Path

from companion.errors import CompanionError
from companion.facts.shown import NO_SHOWS, Shows
from companion.language.loader import REFERENCE
from companion.store.connecting import StoreError, connected
from companion.store.review.app import make_store_app
from companion.store.review.indexing import index_store
from companion.store.review.pool import Pool
from companion.web.hosts import is_loopback
from companion.web.serving import listen, make_server, url

LOOKED_EVERY_S = 60.0
AGAIN_AFTER_S = 5.0
_log = logging.getLogger("uvicorn.error")


def serve_store(
    store: str,
    password_file: Path | None,
    host: str,
    port: int,
    public: str,
    tell: Callable[[str], None],
    shows: Shows = NO_SHOWS,
    language: str = REFERENCE,
) -> None:
    """Serve the pages until interrupted; port 0 takes a free one, which `tell` is told.

    On this machine alone: beyond it passwords go over an encrypted line, which a reverse proxy
    gives and is named by `public`. Raises `CompanionError` for another address.
    """
    if not is_loopback(host):
        raise CompanionError(
            "the pages of a store listen on this machine alone, such as 127.0.0.1: put a reverse "
            "proxy with TLS before them and name its address by --public (docs/store.md)"
        )
    if public and not public.startswith("https://"):
        raise CompanionError("--public wants an address that begins with https://")
    pool = Pool(store, password_file)
    pool.open()
    over = threading.Event()
    indexing = threading.Thread(target=keep_indexed, args=(store, password_file, over), daemon=True)
    try:
        with listen(host, port) as listening:
            indexing.start()
            tell(public or url(host, listening.getsockname()[1]))
            make_server(make_store_app(pool, public, shows, language)).run(sockets=[listening])
    finally:
        over.set()
        pool.close()


def keep_indexed(store: str, password_file: Path | None, over: threading.Event) -> None:
    """Take in what boxes send, as soon as they sent it, until it is `over`."""
    while not over.is_set():
        try:
            with connected(store, password_file) as connection:
                connection.execute("LISTEN companion_store")
                while not over.is_set():
                    index_store(connection)
                    for _ in connection.notifies(timeout=LOOKED_EVERY_S, stop_after=1):
                        pass
        except StoreError as error:
            _log.warning("The index of the store waits: %s", error)
            over.wait(AGAIN_AFTER_S)

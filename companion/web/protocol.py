"""HTTP of the local pages: uvicorn's own, and what it lacks against those who mean no good.

A body that breaks off being HTTP: uvicorn hands a request on as soon as its head was read. Where
the body then turns out malformed it answers 400 itself, and the application's own answer meets a
connection that is already over, which ends in a traceback in the log. Nothing that these pages
answer has a body, so the refusal is the last word.

Connections come from the `Door` with their first request. Those that are then left: the next head
has to be there in time, an answer has to be taken, and there are only so many connections. One more
takes the place of the one that has waited longest without a whole request, so that somebody who
does ask is answered however many do not.
"""

from __future__ import annotations

import asyncio
import logging
import resource
from time import monotonic
from typing import Any

import h11
from uvicorn.config import Config
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.server import ServerState

from companion.web import door

ANSWER_TAKEN_WITHIN_S = 30.0
MOST_CONNECTIONS = 256
DESCRIPTORS_EACH = 4
"""Of the descriptors a process may have, the pages' connections take one in so many, and as many
those who wait at the door."""

_log = logging.getLogger("uvicorn.error")


def most_connections() -> int:
    """How many connections there may be at once, files and sockets of other use left room for."""
    soft, _hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if soft == resource.RLIM_INFINITY:
        return MOST_CONNECTIONS
    return max(1, min(MOST_CONNECTIONS, soft // DESCRIPTORS_EACH))


class PageProtocol(H11Protocol):
    """One connection to a page."""

    _waits_since_s = 0.0
    _head_timer: asyncio.TimerHandle | None = None
    _taking_timer: asyncio.TimerHandle | None = None

    def __init__(
        self,
        config: Config,
        server_state: ServerState,
        app_state: dict[str, Any],
        said_already: bytes = b"",
    ) -> None:
        super().__init__(config, server_state, app_state)
        self._said_already = said_already

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take the connection, in the place of an idle one where there are too many."""
        super().connection_made(transport)
        if self._said_already:
            self.data_received(self._said_already)
            self._said_already = b""
        self._wait_for_a_head()
        if len(self.connections) > most_connections():
            self._make_room()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nothing is waited for any more."""
        self._unset_timers()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Read on; what has begun has to become a whole head in time."""
        super().data_received(data)
        self._wait_for_a_head()

    def pause_writing(self) -> None:
        """The other side is slow to take its answer: it has some time for it."""
        super().pause_writing()
        if self._taking_timer is None:
            self._taking_timer = self.loop.call_later(ANSWER_TAKEN_WITHIN_S, self.transport.abort)

    def resume_writing(self) -> None:
        """It took some of it."""
        if self._taking_timer is not None:
            self._taking_timer.cancel()
            self._taking_timer = None
        super().resume_writing()

    def send_400_response(self, msg: str) -> None:
        """Refuse in plain words; what the application still says goes nowhere."""
        if self.conn.our_state in (h11.IDLE, h11.SEND_RESPONSE):
            super().send_400_response(msg)
        else:
            # The answer is under way or given: there is only the connection left to end.
            self.transport.close()
        if self.cycle is not None:
            self.cycle.disconnected = True
            self.cycle.message_event.set()

    @property
    def _is_answering(self) -> bool:
        return self.cycle is not None and not self.cycle.response_complete

    def _wait_for_a_head(self) -> None:
        if self._is_answering or self.transport.is_closing():
            self._unset_head_timer()
        elif self._head_timer is None:
            self._waits_since_s = monotonic()
            self._head_timer = self.loop.call_later(door.HEAD_WITHIN_S, self._no_head_came)

    def _no_head_came(self) -> None:
        self._head_timer = None
        if not self._is_answering:
            self.transport.abort()

    def _make_room(self) -> None:
        _log.warning(
            "More than %d connections: those that wait longest without asking anything are closed.",
            most_connections(),
        )
        waiting = [
            other
            for other in self.connections
            if isinstance(other, PageProtocol) and other is not self and not other._is_answering
        ]
        leaving = min(waiting, key=lambda other: other._waits_since_s, default=self)
        # It counts no more from here on: its end is only told in the loop's next round.
        self.connections.discard(leaving)
        leaving.transport.abort()

    def _unset_head_timer(self) -> None:
        if self._head_timer is not None:
            self._head_timer.cancel()
            self._head_timer = None

    def _unset_timers(self) -> None:
        self._unset_head_timer()
        if self._taking_timer is not None:
            self._taking_timer.cancel()
            self._taking_timer = None

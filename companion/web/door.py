"""Those who knock: each is kept waiting here, at next to no cost, until a whole head of a request
is there, and only then becomes a connection of the server's.

Connections that are opened and left cost their opener more than they cost here. So they are all
taken out of the system's queue as fast as they come, and somebody who does ask does not stand
behind them. There are only so many places to wait in: one more takes the place of the one that
waited longest.
"""

from __future__ import annotations

import asyncio
import errno
import logging
import re
import socket
from collections.abc import Callable
from dataclasses import dataclass, field

HEAD_WITHIN_S = 10.0
LONGEST_HEAD = 64 * 1024
"""Bytes; what is longer is let in, to be refused in plain words."""
ACCEPTED_AT_ONCE = 64
"""Connections taken in one round of the loop."""
WAITING_TO_BE_ACCEPTED = 4096
TRIED_AGAIN_AFTER_S = 1.0
_NO_ROOM = frozenset({errno.EMFILE, errno.ENFILE, errno.ENOBUFS, errno.ENOMEM})
_END_OF_HEAD = re.compile(rb"\n\r?\n")
_FIRST_SIGN = 0x21
"""No request begins with a sign below this one: such a line is let in at once, to be refused."""

_log = logging.getLogger("uvicorn.error")


@dataclass
class _Waiting:
    """Somebody at the door, since when, and what they have said so far."""

    since_s: float
    said: bytearray = field(default_factory=bytearray)

    @property
    def has_asked(self) -> bool:
        said = self.said
        return said[0] < _FIRST_SIGN or len(said) >= LONGEST_HEAD or bool(_END_OF_HEAD.search(said))


class Door:
    """One listening socket; `make` gives the protocol of a connection by what it said already."""

    def __init__(
        self,
        listening: socket.socket,
        make: Callable[[bytes], asyncio.Protocol],
        most_waiting: int,
    ) -> None:
        self._loop = asyncio.get_running_loop()
        self._listening = listening
        self._make = make
        self._most_waiting = most_waiting
        # In the order of their coming.
        self._waiting: dict[socket.socket, _Waiting] = {}
        self._let_in: set[asyncio.Task[None]] = set()
        self._timer: asyncio.TimerHandle | None = None
        self._is_crowded = False

    def open(self) -> None:
        """Begin to take connections."""
        self._listening.setblocking(False)
        self._listening.listen(WAITING_TO_BE_ACCEPTED)
        self._loop.add_reader(self._listening, self._somebody_knocks)

    def close(self) -> None:
        """Take no more, and send away all who wait."""
        self._loop.remove_reader(self._listening)
        if self._timer is not None:
            self._timer.cancel()
        for client in tuple(self._waiting):
            self._send_away(client)

    def _somebody_knocks(self) -> None:
        for _ in range(ACCEPTED_AT_ONCE):
            try:
                client, _ = self._listening.accept()
            except (BlockingIOError, InterruptedError, ConnectionAbortedError):
                return
            except OSError as error:
                if error.errno not in _NO_ROOM:
                    raise
                self._wait_for_room(error)
                return
            client.setblocking(False)
            self._take(client)

    def _take(self, client: socket.socket) -> None:
        if len(self._waiting) >= self._most_waiting:
            self._make_room()
        elif len(self._waiting) <= self._most_waiting // 2:
            self._is_crowded = False
        self._waiting[client] = _Waiting(self._loop.time())
        self._loop.add_reader(client, self._listen_to, client)
        if self._timer is None:
            self._timer = self._loop.call_later(HEAD_WITHIN_S, self._end_of_patience)
        # Most have asked by now.
        self._listen_to(client)

    def _listen_to(self, client: socket.socket) -> None:
        waiting = self._waiting[client]
        try:
            heard = client.recv(LONGEST_HEAD)
        except (BlockingIOError, InterruptedError):
            return
        except OSError:
            heard = b""
        if not heard:
            self._send_away(client)
            return
        waiting.said += heard
        if waiting.has_asked:
            self._forget(client)
            letting = self._loop.create_task(self._let(client, bytes(waiting.said)))
            self._let_in.add(letting)
            letting.add_done_callback(self._let_in.discard)

    async def _let(self, client: socket.socket, said: bytes) -> None:
        try:
            await self._loop.connect_accepted_socket(lambda: self._make(said), client)
        except OSError:
            client.close()

    def _make_room(self) -> None:
        if not self._is_crowded:
            self._is_crowded = True
            _log.warning(
                "More than %d connections: those that wait longest without asking anything are "
                "closed.",
                self._most_waiting,
            )
        self._send_away(next(iter(self._waiting)))

    def _wait_for_room(self, error: OSError) -> None:
        """No descriptor is left: one of those who wait gives its own, else it is tried again."""
        _log.warning("No connection can be taken now: %s.", error.strerror)
        if self._waiting:
            self._send_away(next(iter(self._waiting)))
            return
        self._loop.remove_reader(self._listening)
        self._loop.call_later(TRIED_AGAIN_AFTER_S, self._open_again)

    def _open_again(self) -> None:
        if self._listening.fileno() >= 0:
            self._loop.add_reader(self._listening, self._somebody_knocks)

    def _end_of_patience(self) -> None:
        self._timer = None
        latest_s = self._loop.time() - HEAD_WITHIN_S
        for client, waiting in tuple(self._waiting.items()):
            if waiting.since_s > latest_s:
                next_s = waiting.since_s + HEAD_WITHIN_S
                self._timer = self._loop.call_at(next_s, self._end_of_patience)
                return
            self._send_away(client)

    def _send_away(self, client: socket.socket) -> None:
        self._forget(client)
        client.close()

    def _forget(self, client: socket.socket) -> None:
        del self._waiting[client]
        self._loop.remove_reader(client)

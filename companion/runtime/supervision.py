"""Tells a service manager how it goes: ready, alive, at which stage.

The protocol is a datagram of `NAME=value` lines to the socket that the manager names in
NOTIFY_SOCKET (sd_notify(3)). Without that variable nothing is sent, so the same program runs in a
terminal.
"""

from __future__ import annotations

import os
import socket
from collections.abc import Mapping
from dataclasses import dataclass

from companion.facts.kinds import Fact
from companion.facts.opening import Stage
from companion.facts.watching import Watcher


@dataclass(frozen=True)
class Manager:
    """The service manager's socket; empty where there is none.

    `watchdog_s` is the time within which it wants a sign of life, or None.
    """

    address: str = ""
    watchdog_s: float | None = None

    def ready(self) -> None:
        """The work can begin."""
        self._tell("READY=1")

    def alive(self) -> None:
        """A sign of life, for the watchdog."""
        self._tell("WATCHDOG=1")

    def status(self, line: str) -> None:
        """One line that `systemctl status` shows."""
        self._tell(f"STATUS={' '.join(line.split())}")

    def _tell(self, message: str) -> None:
        if not self.address:
            return
        # A leading @ names a socket in the abstract namespace.
        address = f"\0{self.address[1:]}" if self.address.startswith("@") else self.address
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM | socket.SOCK_CLOEXEC) as sender:
            try:
                sender.connect(address)
                sender.send(message.encode("utf-8"))
            except OSError:
                # A manager that does not listen must not stop a job; its watchdog will see to it.
                return


def service_manager(environment: Mapping[str, str] | None = None) -> Manager:
    """The manager that started this process, or one that is told nothing."""
    given = os.environ if environment is None else environment
    address = given.get("NOTIFY_SOCKET", "")
    if not address.startswith(("/", "@")):
        return Manager()
    meant_for = given.get("WATCHDOG_PID")
    microseconds = given.get("WATCHDOG_USEC", "")
    watched = microseconds.isdigit() and meant_for in (None, str(os.getpid()))
    return Manager(address, int(microseconds) / 1e6 if watched else None)


class Heartbeat:
    """A watcher that gives a sign of life for each fact kept, and passes the fact on.

    It beats only while the job really goes on: a loop that hangs keeps no facts, and a waiting one
    keeps a silence at the end of each prompt's time.
    """

    def __init__(self, watcher: Watcher, manager: Manager) -> None:
        self._watcher = watcher
        self._manager = manager

    def fact(self, fact: Fact) -> None:
        self._manager.alive()
        if isinstance(fact, Stage):
            self._manager.status(f"Stage {fact.number}: {fact.title}")
        self._watcher.fact(fact)

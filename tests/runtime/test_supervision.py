"""Signs of life to a service manager, over a real socket."""

from __future__ import annotations

import contextlib
import os
import socket
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.facts.kinds import Fact, kind_of
from companion.facts.opening import Stage
from companion.facts.talking import Silent
from companion.record import open_for_reading
from companion.runtime.supervision import Heartbeat, Manager, service_manager
from tests.runtime.running import Companion


class Seen:
    def __init__(self) -> None:
        self.kinds: list[str] = []

    def fact(self, fact: Fact) -> None:
        self.kinds.append(kind_of(fact))


@pytest.fixture
def listening(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as receiver:
        receiver.bind(str(tmp_path / "notify"))
        receiver.settimeout(20)
        yield receiver


def manager_at(receiver: socket.socket, **more: str) -> Manager:
    return service_manager({"NOTIFY_SOCKET": receiver.getsockname(), **more})


def test_ready_alive_and_the_stage_arrive_word_for_word(listening: socket.socket) -> None:
    manager = manager_at(listening)
    manager.ready()
    manager.alive()
    manager.status("Stage 3:\nFloor check")
    got = [listening.recv(200).decode() for _ in range(3)]
    assert got == ["READY=1", "WATCHDOG=1", "STATUS=Stage 3: Floor check"]


def test_a_socket_in_the_abstract_namespace_is_reached() -> None:
    name = f"bay-companion-test-{os.getpid()}"
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as receiver:
        receiver.bind(f"\0{name}")
        receiver.settimeout(20)
        service_manager({"NOTIFY_SOCKET": f"@{name}"}).ready()
        assert receiver.recv(200) == b"READY=1"


def test_without_a_manager_nothing_happens() -> None:
    service_manager({}).ready()
    service_manager({"NOTIFY_SOCKET": "nonsense"}).alive()


def test_a_manager_that_is_gone_stops_nothing(tmp_path: Path) -> None:
    service_manager({"NOTIFY_SOCKET": str(tmp_path / "nobody")}).alive()


def test_the_watchdog_time_counts_for_the_process_it_is_meant_for(
    listening: socket.socket,
) -> None:
    own, other = str(os.getpid()), str(os.getpid() + 1)
    assert manager_at(listening, WATCHDOG_USEC="30000000").watchdog_s == 30
    assert manager_at(listening, WATCHDOG_USEC="30000000", WATCHDOG_PID=own).watchdog_s == 30
    assert manager_at(listening, WATCHDOG_USEC="30000000", WATCHDOG_PID=other).watchdog_s is None
    assert manager_at(listening, WATCHDOG_USEC="soon").watchdog_s is None


def drain(receiver: socket.socket) -> None:
    with contextlib.suppress(OSError):
        while True:
            receiver.recv(200)


def test_a_typed_job_that_waits_for_its_technician_is_not_taken_for_dead(
    listening: socket.socket, tmp_path: Path
) -> None:
    """The whole program, which nobody answers for several times the watchdog's patience."""
    companion = Companion(
        ["start", "--record", str(tmp_path / "record.sqlite")],
        {"NOTIFY_SOCKET": listening.getsockname(), "WATCHDOG_USEC": "400000"},
        tmp_path,
    )
    listening.settimeout(60)
    try:
        # Read at once, as a manager does: what stands unread makes the sender wait.
        while not listening.recv(200).startswith(b"STATUS=Stage 1"):
            pass
        companion.next_line("words only", within_s=60)
        printed = len(companion.lines)
        signs = [listening.recv(200) for _ in range(30)]
        assert set(signs) == {b"WATCHDOG=1"}
        assert len(companion.lines) == printed, "it spoke again, though nobody answered"
        threading.Thread(target=drain, args=(listening,), daemon=True).start()
        companion.type("")
        companion.type("words only")
        assert companion.next_line("hears  words only", within_s=60)
    finally:
        assert companion.end(60) == 8
    with open_for_reading(tmp_path / "record.sqlite") as database:
        (session,) = database.sessions()
        kinds = [event.kind for event in database.events(session.session_id)]
    assert "heard" in kinds
    assert "silent" not in kinds


def test_each_fact_kept_is_a_sign_of_life_and_is_passed_on(listening: socket.socket) -> None:
    seen = Seen()
    heartbeat = Heartbeat(seen, manager_at(listening))
    heartbeat.fact(Silent("p1", 30.0))
    heartbeat.fact(Stage("floor", "Floor check", 3, 14))
    got = [listening.recv(200).decode() for _ in range(3)]
    assert got == ["WATCHDOG=1", "WATCHDOG=1", "STATUS=Stage 3: Floor check"]
    assert seen.kinds == ["silent", "stage"]

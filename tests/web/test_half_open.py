"""Connections that are opened and left: an honest request is answered all the same."""

from __future__ import annotations

import contextlib
import resource
import select
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from http.client import HTTPConnection
from pathlib import Path

import httpx
import pytest

from companion.record import Entry, SqliteLog, open_record
from companion.web import protocol

DESCRIPTORS, HALF_OPEN = 1024, 2000
ANSWERED_WITHIN_S = 1.0
MOST_LOGGED_BYTES = 100_000
WAITED_S = 60
SERVERS = {"review": ["review", "serve"], "display": ["display", "serve"]}
HEAD = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n"


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "record.sqlite"
    with open_record(path) as database:
        SqliteLog(database, database.create_session()).append([Entry("said", {"text": "x"})])
    return path


@pytest.fixture(autouse=True)
def many_descriptors() -> Iterator[None]:
    """This process opens the other ends."""
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 3 * HALF_OPEN
    if hard != resource.RLIM_INFINITY and hard < wanted:
        pytest.skip(f"only {hard} descriptors may be open here")
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, wanted), hard))
    yield
    resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))


@contextlib.contextmanager
def running(record: Path, command: list[str]) -> Iterator[tuple[int, Path]]:
    """The port of the real command with few descriptors, and the file that it logs to."""
    log = record.with_suffix(".log")
    program = [sys.executable, "-c", "from companion.cli import main; main()", *command]
    program += ["--record", str(record), "--port", "0"]
    limited = ["sh", "-c", f'ulimit -n {DESCRIPTORS}; exec "$@"', "sh", *program]
    with (
        log.open("wb") as out,
        subprocess.Popen(limited, stdout=subprocess.PIPE, stderr=out, text=True) as server,
    ):
        try:
            assert server.stdout is not None
            address = server.stdout.readline().split()[1]
            port = int(address.rstrip("/").rpartition(":")[2])
            _until_it_answers(port)
            yield port, log
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(WAITED_S)


def _until_it_answers(port: int) -> None:
    until_s = time.monotonic() + WAITED_S
    while time.monotonic() < until_s:
        with contextlib.suppress(httpx.HTTPError):
            if httpx.get(f"http://127.0.0.1:{port}/", timeout=5).status_code == 200:
                return
        time.sleep(0.05)
    raise AssertionError("the server never answered")


def asked_s(port: int) -> float:
    """How long an answer takes, of a client that needs no time of its own."""
    asking = HTTPConnection("127.0.0.1", port, timeout=WAITED_S)
    began_s = time.monotonic()
    with contextlib.closing(asking):
        asking.request("GET", "/")
        answer = asking.getresponse()
        answer.read()
        assert answer.status == 200
        return time.monotonic() - began_s


@pytest.mark.parametrize("pages", SERVERS)
@pytest.mark.parametrize("sent", [b"", HEAD], ids=["silent", "half a head"])
def test_two_thousand_half_open_connections_keep_nobody_out(
    record: Path, pages: str, sent: bytes
) -> None:
    with running(record, SERVERS[pages]) as (port, log):
        opened = []
        try:
            for number in range(HALF_OPEN):
                client = socket.create_connection(("127.0.0.1", port), timeout=WAITED_S)
                opened.append(client)
                with contextlib.suppress(ConnectionError):
                    client.sendall(sent)
                if number % 500 == 499:
                    assert asked_s(port) < ANSWERED_WITHIN_S
            for _ in range(5):
                assert asked_s(port) < ANSWERED_WITHIN_S
        finally:
            for client in opened:
                client.close()
        assert asked_s(port) < ANSWERED_WITHIN_S
    assert log.stat().st_size < MOST_LOGGED_BYTES
    assert b"Traceback" not in log.read_bytes()


def test_malformed_requests_do_not_fill_the_log(record: Path) -> None:
    with running(record, SERVERS["display"]) as (port, log):
        for request in (
            b"\x16\x03\x01\r\n\r\n",
            HEAD + b"Upgrade: x\r\nConnection: upgrade\r\n\r\n",
        ):
            for _ in range(500):
                with socket.create_connection(("127.0.0.1", port), timeout=WAITED_S) as client:
                    client.sendall(request)
                    client.recv(100)
        assert asked_s(port) < ANSWERED_WITHIN_S
    assert log.stat().st_size < 2000


def test_a_head_that_does_not_come_in_time_ends_the_connection(
    record: Path, tmp_path: Path
) -> None:
    """Byte by byte, too: what counts is the whole head."""
    program = (
        "import sys\nfrom pathlib import Path\nfrom companion.web import door\n"
        "door.HEAD_WITHIN_S = 0.5\n"
        "from companion.web.serving import listen\n"
        "from companion.display.server import make_server\n"
        "with listen('127.0.0.1', 0) as listening:\n"
        "    print(listening.getsockname()[1], flush=True)\n"
        "    make_server(Path(sys.argv[1])).run(sockets=[listening])\n"
    )
    command = [sys.executable, "-c", program, str(record)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout is not None
            port = int(server.stdout.readline())
            _until_it_answers(port)
            with socket.create_connection(("127.0.0.1", port), timeout=WAITED_S) as client:
                began_s = time.monotonic()
                while not select.select([client], [], [], 0.05)[0]:
                    assert time.monotonic() - began_s < WAITED_S
                    client.sendall(b"G")
                ended_s = time.monotonic() - began_s
            assert 0.3 < ended_s < 5
        finally:
            server.send_signal(signal.SIGINT)
            server.wait(WAITED_S)


def test_there_are_fewer_connections_than_descriptors() -> None:
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    try:
        resource.setrlimit(resource.RLIMIT_NOFILE, (400, hard))
        assert protocol.most_connections() == 100
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
    assert protocol.most_connections() == protocol.MOST_CONNECTIONS

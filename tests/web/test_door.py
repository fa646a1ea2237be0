"""At the door: those who have asked are let in with all that they said, and nobody else is."""

from __future__ import annotations

import contextlib
import socket
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.browse.server import page_server
from companion.record import Entry, SqliteLog, open_record
from companion.web.door import LONGEST_HEAD
from companion.web.protocol import MOST_CONNECTIONS
from tests.browsers import serving_on_free_port

REQUEST = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
WAITED_S = 30


@pytest.fixture
def port(tmp_path: Path) -> Iterator[int]:
    record = tmp_path / "record.sqlite"
    with open_record(record) as database:
        SqliteLog(database, database.create_session()).append([Entry("said", {"text": "x"})])
    with serving_on_free_port(page_server(record)) as address:
        yield int(address.rpartition(":")[2])


def knocking(port: int) -> socket.socket:
    return socket.create_connection(("127.0.0.1", port), timeout=WAITED_S)


def answered(client: socket.socket, times: int = 1) -> bytes:
    heard = b""
    while heard.count(b"</html>") < times:
        some = client.recv(65536)
        assert some, heard[:200]
        heard += some
    return heard


def test_a_head_in_pieces_is_answered_once_it_is_whole(port: int) -> None:
    with knocking(port) as client:
        for at in range(0, len(REQUEST), 5):
            client.sendall(REQUEST[at : at + 5])
            time.sleep(0.01)
        assert answered(client).startswith(b"HTTP/1.1 200")


def test_what_was_said_behind_the_first_head_is_answered_too(port: int) -> None:
    """Two requests in one breath, and the end of the second later."""
    with knocking(port) as client:
        client.sendall(REQUEST + REQUEST[:-4])
        answered(client)
        client.sendall(REQUEST[-4:])
        answered(client)
        client.sendall(REQUEST * 2)
        assert answered(client, 2).count(b"HTTP/1.1 200") == 2


@pytest.mark.parametrize(
    "said",
    [b"\x16\x03\x01\x02\x00", b"GET /" + b"x" * LONGEST_HEAD, b"nothing of the kind\n\n"],
    ids=["another protocol", "a head without end", "no request"],
)
def test_what_is_no_request_is_refused_at_once(port: int, said: bytes) -> None:
    with knocking(port) as client:
        began_s = time.monotonic()
        with contextlib.suppress(ConnectionError):
            client.sendall(said)
        heard = b""
        with contextlib.suppress(ConnectionError):
            heard = client.recv(1000)
        assert heard == b"" or heard.startswith(b"HTTP/1.1 4")
        assert time.monotonic() - began_s < 5


def test_whoever_leaves_the_door_is_forgotten(port: int) -> None:
    for _ in range(3 * MOST_CONNECTIONS):
        with knocking(port) as client:
            client.sendall(b"GET")
    with knocking(port) as client:
        client.sendall(REQUEST)
        answered(client)


def test_those_who_asked_once_and_stay_keep_nobody_out(port: int) -> None:
    with contextlib.ExitStack() as staying:
        for _ in range(MOST_CONNECTIONS + 40):
            client = staying.enter_context(knocking(port))
            client.sendall(REQUEST.replace(b"GET", b"HEAD"))
            assert client.recv(12) == b"HTTP/1.1 200"
        with knocking(port) as client:
            client.sendall(REQUEST)
            answered(client)

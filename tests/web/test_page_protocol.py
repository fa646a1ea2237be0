"""A request that breaks off being HTTP gets a plain refusal, and leaves nothing in the log."""

from __future__ import annotations

import socket
from collections.abc import Callable
from pathlib import Path

import httpx
import pytest
import uvicorn

from companion.browse.server import page_server
from companion.display.server import make_server
from companion.record import Entry, SqliteLog, open_record
from tests.browsers import serving_on_free_port

LIMIT_S = 20
HEAD = b" / HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\n"
NO_CHUNK = b"ZZ\r\nabc\r\n0\r\n\r\n"
SERVERS: dict[str, Callable[[Path], uvicorn.Server]] = {
    "review": page_server,
    "display": make_server,
}


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "record.sqlite"
    with open_record(path) as database:
        SqliteLog(database, database.create_session()).append([Entry("said", {"text": "x"})])
    return path


def answer_to(port: int, *pieces: bytes) -> bytes:
    """All that comes back; each further piece is sent once something came back for the last."""
    got = b""
    with socket.create_connection(("127.0.0.1", port), timeout=LIMIT_S) as client:
        for number, piece in enumerate(pieces):
            if number:
                got += client.recv(65_536)
            client.sendall(piece)
        while more := client.recv(65_536):
            got += more
    return got


@pytest.mark.parametrize("pages", SERVERS)
@pytest.mark.parametrize("method", [b"POST", b"GET"])
def test_a_malformed_body_is_refused_in_plain_words(
    record: Path,
    pages: str,
    method: bytes,
    capsys: pytest.CaptureFixture[str],
    caplog: pytest.LogCaptureFixture,
) -> None:
    with serving_on_free_port(SERVERS[pages](record)) as address:
        port = int(address.rpartition(":")[2])
        at_once = answer_to(port, method + HEAD + NO_CHUNK)
        assert at_once.startswith(b"HTTP/1.1 400 ")
        assert at_once.count(b"HTTP/1.1 ") == 1
        late = answer_to(port, method + HEAD, NO_CHUNK)
        assert late.startswith((b"HTTP/1.1 200 ", b"HTTP/1.1 405 "))
        assert late.count(b"HTTP/1.1 ") == 1
        assert httpx.get(address, timeout=LIMIT_S).status_code == 200
    logged = "".join(capsys.readouterr()) + caplog.text
    assert "Traceback" not in logged
    assert "Error" not in logged

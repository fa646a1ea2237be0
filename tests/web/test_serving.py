"""Where a server cannot listen, it says so in a sentence that says what to do."""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import httpx
import pytest
from click.testing import CliRunner

from companion.browse.server import page_server
from companion.cli import main
from companion.errors import CompanionError
from companion.record import Entry, SqliteLog, open_record
from companion.web.serving import listen, url
from tests.browsers import serving_on_free_port


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "record.sqlite"
    with open_record(path) as database:
        SqliteLog(database, database.create_session()).append([Entry("said", {"text": "x"})])
    return path


@pytest.mark.parametrize("pages", ["review", "display"])
def test_a_port_in_use_is_a_plain_sentence(record: Path, pages: str) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        command = [pages, "serve", "--record", str(record), "--port", str(port)]
        ended = CliRunner().invoke(main, command)
        with pytest.raises(CompanionError, match="choose another with --screen"):
            listen("127.0.0.1", port, "--screen")
    assert ended.exit_code != 0
    told = " ".join(ended.output.split())
    assert f"port {port} of 127.0.0.1 is in use" in told
    assert "choose another with --port" in told
    assert "Errno" not in told
    assert "Traceback" not in told


def test_another_machines_address_is_named() -> None:
    with pytest.raises(CompanionError, match="is not an address of this machine"):
        listen("192.0.2.1", 0)


def test_a_name_that_is_none_is_named() -> None:
    for name in ("no such machine", "x" * 80, "a..b"):
        with pytest.raises(CompanionError, match="cannot listen there"):
            listen(name, 0)


@pytest.mark.skipif(sys.platform != "linux", reason="127.0.0.2 is this machine's own on Linux")
@pytest.mark.parametrize("host", ["127.0.0.2", "::1"])
def test_other_loopback_addresses_are_served(record: Path, host: str) -> None:
    try:
        listening = listen(host, 0)
    except CompanionError:
        pytest.skip(f"no {host} here")
    listening.close()
    server = page_server(record, host=host)
    with serving_on_free_port(server, host) as address:
        assert address == url(host, int(address.rstrip("/").rpartition(":")[2])).rstrip("/")
        assert httpx.get(address, timeout=20).status_code == 200

"""Who gets an answer, what a browser may do with it, and that nothing said runs."""

from __future__ import annotations

import signal
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest

from companion.browse.server import serve
from companion.errors import CompanionError

LIMIT_S = 60.0

HOSTILE = (
    "</td></table></style></svg><script>document.title='run'</script>\"'"
    "><img src=x onerror=\"document.title='run'\">{{7*7}}\u202eevil\u2066 \u0000"
)
PATHS = ("/", "/search", "/statistics", "/compare", "/page.css", "/report.css", "/mark.svg", "/x")


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_forbids_scripts_frames_sniffing_and_telling_where_one_came_from(
    served_shop: Any, path: str
) -> None:
    headers = httpx.get(served_shop.address + path, timeout=LIMIT_S).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src" not in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert "base-uri 'none'" in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cache-control"] == "no-store"
    assert "server" not in headers


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS"])
def test_there_is_nothing_to_do_but_read(served_shop: Any, method: str) -> None:
    answer = httpx.request(method, served_shop.address, timeout=LIMIT_S)
    assert answer.status_code == 405
    assert answer.headers["allow"] == "GET, HEAD"


def test_a_foreign_name_for_this_machine_gets_nothing(served_shop: Any) -> None:
    answer = httpx.get(served_shop.address, headers={"host": "shop.example"}, timeout=LIMIT_S)
    assert answer.status_code == 421
    assert "Example hatchback" not in answer.text


def test_beyond_this_machine_nobody_reads_without_the_token(
    serve: Callable[..., Any], shop_record: Path
) -> None:
    address = serve(shop_record, "a-good-token").address
    for query in ("", "?token=", "?token=a-good-tokem", "?token=%FF%FE"):
        assert httpx.get(f"{address}/{query}", timeout=LIMIT_S).status_code == 403
    assert (
        httpx.get(address, cookies={"companion_review": "wrong"}, timeout=LIMIT_S).status_code
        == 403
    )
    with httpx.Client(follow_redirects=True, timeout=LIMIT_S) as client:
        answer = client.get(f"{address}/?token=a-good-token")
        assert answer.status_code == 200
        assert "token" not in str(answer.url)
        assert "Example hatchback" in client.get(f"{address}/").text
    elsewhere = httpx.get(f"{address}//elsewhere.example/?token=a-good-token", timeout=LIMIT_S)
    assert elsewhere.headers["location"] == "/elsewhere.example/"


def test_the_tokens_cookie_is_kept_from_scripts_and_other_sites(
    serve: Callable[..., Any], shop_record: Path
) -> None:
    address = serve(shop_record, "a-good-token").address
    cookie = (
        httpx.get(f"{address}/?token=a-good-token", timeout=LIMIT_S).headers["set-cookie"].lower()
    )
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


def hostile_job(shop: Any, job_opening: Callable[..., dict[str, Any]]) -> None:
    named = {"name": HOSTILE, "shop": HOSTILE}
    shop.put("opened", **job_opening(technician=HOSTILE, vehicle=named, bay=named))
    shop.put("stage", title=HOSTILE, number=1, of=1)
    shop.put("said", prompt_id="p", step_id="x", purpose="ask", text=f"needle {HOSTILE}")
    shop.put("heard", prompt_id="p", words=HOSTILE, meaning={"kind": HOSTILE}, ears=HOSTILE)
    shop.put("noted", words=f"needle {HOSTILE} {'long ' * 20_000}")
    for name in ("floor_twist_mm", "aim_yaw_deg"):
        outputs = {name: {"value": 1.0, "u": 0.1, "unit": HOSTILE}}
        shop.put("computed", step_id=HOSTILE, formula=HOSTILE, inputs={}, outputs=outputs)
    shop.put("finished", result=HOSTILE)


def test_hostile_names_and_notes_are_shown_as_text_in_every_page(
    recorded: Callable[..., Any],
    job_opening: Callable[..., dict[str, Any]],
    serve: Callable[..., Any],
    page: Any,
) -> None:
    job = recorded(lambda shop: [hostile_job(shop, job_opening) for _ in range(2)])
    served = serve(job.path)
    for where in (
        "/",
        "/?technician=%3Cscript%3E&bay=%22%3E%3Cimg%20src=x%3E",
        "/search?q=needle",
        "/search?q=%3C%2Finput%3E%3Cscript%3Ealert(1)%3C%2Fscript%3E",
        f"/session?id={job.session_id}",
        f"/session/all?id={job.session_id}",
        "/statistics/repeats",
        "/session?id=%3Cscript%3E",
        f"/compare?session={job.session_id}&session={job.session_id}x",
        f"/statistics?bay={'x' * 5000}",
    ):
        told = httpx.get(served.address + where, timeout=LIMIT_S).text
        assert "<script" not in told
        assert "<img" not in told
        assert 'onerror="' not in told
    for where in ("/", "/search?q=needle", f"/session?id={job.session_id}", "/statistics"):
        page.goto(served.address + where)
        assert page.title() != "run"
        assert "<script>document.title" in page.locator("body").inner_text()


def test_marks_that_turn_the_direction_of_writing_stay_within_the_name(
    recorded: Callable[..., Any], job_opening: Callable[..., dict[str, Any]], serve: Any, page: Any
) -> None:
    job = recorded(lambda shop: shop.put("opened", **job_opening(technician="A\u202eelpmaxE")))
    page.goto(serve(job.path).address)
    names = page.locator("tbody td bdi").first
    assert names.evaluate("e => getComputedStyle(e).unicodeBidi") == "isolate"


@pytest.mark.parametrize(
    "query",
    [
        "/?since=yesterday",
        "/?until=2031-99-99%00",
        "/?page=-1",
        "/?page=99999999999999999999",
        "/?page=%C2%B2",
        "/search?q=%22unclosed",
        "/search?q=%FF%FE%00&place=nowhere",
        "/search?q=" + "(" * 3000,
        "/session",
        "/session?id=%FF%FE%ED%A0%80",
        "/session/all?id=%FF%FE%ED%A0%80",
        "/statistics/values?bay=%FF&measure=nothing",
        "/statistics/repeats?bay=%FF&technician=%00",
        "/session/file?id=%0D%0Aset-cookie:%20a=b",
        "/compare?session=a&session=b",
        "/statistics?bay=%FF&technician=%00",
        "/clip/" + "0" * 64 + ".flac",
        "/clip/..%2F..%2Fetc%2Fpasswd.flac",
    ],
)
def test_odd_questions_get_a_plain_answer_and_never_an_error_of_the_server(
    served_shop: Any, query: str
) -> None:
    answer = httpx.get(served_shop.address + query, timeout=LIMIT_S)
    assert answer.status_code in (200, 400, 404)
    assert "set-cookie" not in answer.headers
    assert "Traceback" not in answer.text


def test_broken_text_in_the_record_is_named_and_shown_as_nothing_else(
    finished_job: Any, serve: Callable[..., Any]
) -> None:
    stranger = sqlite3.connect(finished_job.path)
    stranger.execute("DROP TRIGGER event_is_never_changed")
    stranger.execute("UPDATE event SET body = CAST(x'7BFF7D' AS TEXT) WHERE seq = 5")
    stranger.commit()
    stranger.close()
    address = serve(finished_job.path).address
    answer = httpx.get(f"{address}/session?id={finished_job.session_id}", timeout=LIMIT_S)
    assert answer.status_code == 404
    assert f"session {finished_job.session_id}, event 5" in answer.text
    for path in ("/", "/search?q=yes", "/statistics"):
        assert "Traceback" not in httpx.get(address + path, timeout=LIMIT_S).text


def test_a_clip_is_played_only_while_it_is_what_its_name_says(
    finished_job: Any, serve: Callable[..., Any]
) -> None:
    address = serve(finished_job.path).address
    whole, changed = sorted(finished_job.clips.folder.glob("*.flac"))[:2]
    changed.write_bytes(changed.read_bytes() + b"x")
    assert httpx.get(f"{address}/clip/{whole.name}", timeout=LIMIT_S).content == whole.read_bytes()
    assert httpx.get(f"{address}/clip/{changed.name}", timeout=LIMIT_S).status_code == 404


def test_reading_the_pages_changes_nothing_in_the_record(
    finished_job: Any, serve: Callable[..., Any]
) -> None:
    before = finished_job.path.read_bytes()
    address = serve(finished_job.path).address
    for path in ("/", "/search?q=yes", "/statistics", f"/session?id={finished_job.session_id}"):
        assert httpx.get(address + path, timeout=LIMIT_S).status_code == 200
    assert finished_job.path.read_bytes() == before


def test_a_port_that_is_taken_is_told_plainly(shop_record: Path) -> None:
    with (
        socket.create_server(("127.0.0.1", 0)) as taken,
        pytest.raises(CompanionError, match=r"port \d+ of 127.0.0.1 is in use"),
    ):
        serve(shop_record, "127.0.0.1", taken.getsockname()[1])


@pytest.mark.parametrize(("host", "with_token"), [("127.0.0.1", False), ("0.0.0.0", True)])  # noqa: S104
def test_the_command_serves_until_it_is_interrupted(
    shop_record: Path, host: str, with_token: bool
) -> None:
    command = [sys.executable, "-c", "from companion.cli import main; main()", "review", "serve"]
    command += ["--record", str(shop_record), "--port", "0", "--host", host]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        try:
            assert running.stdout is not None
            address = running.stdout.readline().split()[1].replace("0.0.0.0", "127.0.0.1")  # noqa: S104
            assert ("token=" in address) is with_token
            answer = httpx.get(address, follow_redirects=False, timeout=LIMIT_S)
            assert answer.status_code == (303 if with_token else 200)
        finally:
            running.send_signal(signal.SIGINT)
        assert running.wait(timeout=LIMIT_S) is not None


MALFORMED = (
    b"GET /" + b"A" * 100_000 + b" HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: " + b"y" * 200_000 + b"\r\n\r\n",
    b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nHost: elsewhere.example\r\n\r\n",
    b"GET / HTTP/1.1\r\n\r\n",
    b"\x16\x03\x01\x02\x00\r\n\r\n",
    b"GET http://elsewhere.example/ HTTP/1.1\r\nHost: elsewhere.example\r\n\r\n",
    b"GET /../../etc/passwd HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
    b"GET /clip/..%2f..%2fetc%2fpasswd.flac HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
    b"GET /session/file?id=%0d%0aX-Injected:1 HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
    b"POST / HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 99999999\r\n\r\nabc",
    b'GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nCookie: a="; companion_review="\\\r\n\r\n',
)


def test_malformed_requests_and_half_open_ones_leave_the_pages_standing(served_shop: Any) -> None:
    port = int(served_shop.address.rpartition(":")[2])
    for request in MALFORMED:
        with socket.create_connection(("127.0.0.1", port), timeout=LIMIT_S) as client:
            client.sendall(request)
            answer = client.recv(4096)
        assert answer.startswith((b"HTTP/1.1 200", b"HTTP/1.1 4")), request[:60]
        assert b"X-Injected" not in answer
        assert b"root:" not in answer
    half_open = [socket.create_connection(("127.0.0.1", port)) for _ in range(100)]
    for client in half_open:
        client.sendall(b"GET / HTTP/1.1\r\nHost: 127")
    assert httpx.get(served_shop.address, timeout=LIMIT_S).status_code == 200
    for client in half_open:
        client.close()

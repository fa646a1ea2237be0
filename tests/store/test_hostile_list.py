"""Hostile people and boxes, each attack by its name: the list that docs/store.md shows.

Boxes that send what is not right stand in `test_hostile_boxes`, publications in `test_publishing`.
Here are those who have a login, a session or a stolen cookie.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import psycopg
import pytest
from psycopg import Connection, sql
from starlette.testclient import TestClient

from companion.store import keeping
from companion.store.review.indexing import index_store
from tests.store.chain import PASSWORD, Chain, log_in
from tests.store.hostile_table import BEGIN, END, PAGE, attacks, table
from tests.store.yard import Yard

DENIED = "42501"


@dataclass
class Scene:
    """Three sites with a box each; S. North sees North alone. `job`: one of each site."""

    chain: Chain
    client: TestClient
    job: dict[str, str]

    @property
    def admin(self) -> Connection:
        return self.chain.yard.admin

    def token(self) -> str:
        return self.client.get("/").text.split('name="form_token" value="')[1][:64]

    def comment(self, site: str, token: str, **headers: str) -> int:
        data = {"id": self.job[site], "comment": "x", "form_token": token}
        return self.client.post("/session/comment", data=data, headers=headers).status_code

    @contextmanager
    def acting(self, name: str) -> Iterator[Connection]:
        """A connection of the pages, set to somebody's role as they do it."""
        chain = self.chain
        where = f"{chain.store} passfile={chain.password_file}"
        (role,) = self.admin.execute(
            "SELECT role FROM store.person WHERE name = %s", (name,)
        ).fetchone() or ("",)
        with psycopg.connect(where, autocommit=True) as pages:
            pages.execute(sql.SQL("SET ROLE {}").format(sql.Identifier(role)))
            yield pages

    def refused(self, name: str, statement: str) -> None:
        """By the engine, whatever a program asks."""
        with self.acting(name) as pages, pytest.raises(psycopg.Error) as error:
            pages.execute(statement.encode())
        assert error.value.sqlstate == DENIED, error.value

    def box_refused(self, statement: str) -> None:
        with self.chain.boxes["North"].connection() as box:
            with pytest.raises(psycopg.Error) as error:
                box.execute(statement.encode())
            assert error.value.sqlstate == DENIED, error.value

    def number(self, site: str) -> int:
        (found,) = self.admin.execute(
            "SELECT job FROM reading.job WHERE session_id = %s", (self.job[site],)
        ).fetchone() or (0,)
        return int(found)


def _stolen_cookie(scene: Scene) -> None:
    log_in(scene.client, "S. North")
    assert scene.comment("North", "") == 403


def _from_elsewhere(scene: Scene) -> None:
    log_in(scene.client, "S. North")
    assert scene.comment("North", scene.token(), origin="https://elsewhere.example") == 403


def _stolen_after_logout(scene: Scene) -> None:
    log_in(scene.client, "S. North")
    stolen = dict(scene.client.cookies)
    scene.client.post("/logout", data={"form_token": scene.token()})
    scene.client.cookies.clear()
    for name, value in stolen.items():
        scene.client.cookies.set(name, value)
    assert scene.client.get("/fleet").headers["location"] == "/login"


def _stolen_table(scene: Scene) -> None:
    """Somebody who reads the table of sessions has hashes, and gets no further."""
    log_in(scene.client, "S. North")
    (kept,) = scene.admin.execute(
        "SELECT encode(token_sha256, 'hex') FROM store.page_session ORDER BY began DESC LIMIT 1"
    ).fetchone() or ("",)
    name = next(iter(scene.client.cookies.keys()))
    scene.client.cookies.clear()
    scene.client.cookies.set(name, str(kept))
    assert scene.client.get("/fleet").headers["location"] == "/login"


def _expired(scene: Scene) -> None:
    log_in(scene.client, "S. North")
    scene.admin.execute("UPDATE store.page_session SET last_used = now() - interval '31 minutes'")
    assert scene.client.get("/fleet").headers["location"] == "/login"


def _too_old(scene: Scene) -> None:
    log_in(scene.client, "S. North")
    scene.admin.execute("UPDATE store.page_session SET began = now() - interval '11 hours'")
    assert scene.client.get("/fleet").headers["location"] == "/login"


def _anothers_token(scene: Scene) -> None:
    log_in(scene.client, "S. Two")
    token = scene.token()
    log_in(scene.client, "S. North")
    assert scene.comment("North", token) == 403


def _another_site(scene: Scene) -> None:
    log_in(scene.client, "S. North")
    assert scene.client.get("/session", params={"id": scene.job["South"]}).status_code == 404
    assert scene.comment("South", scene.token()) == 404


def _another_name(scene: Scene) -> None:
    log_in(scene.client, "S. North")
    answer = scene.client.get("/", headers={"host": "rebound.example"})
    assert answer.status_code == 421


def _removed(scene: Scene) -> None:
    log_in(scene.client, "S. Gone")
    assert scene.client.get("/fleet").status_code == 200
    keeping.remove_person(scene.admin, "S. Gone")
    assert scene.client.get("/fleet").headers["location"] == "/login"


def _guessing(scene: Scene) -> None:
    for number in range(6):
        data = {"login": "S. Slow", "password": f"wrong {number}"}
        scene.client.post("/login", data=data)
    answer = scene.client.post("/login", data={"login": "S. Slow", "password": PASSWORD})
    assert "too many wrong passwords" in answer.text


def _nul(scene: Scene) -> None:
    log_in(scene.client, "S. North")
    token = scene.token()
    for data in (
        {"id": scene.job["North"], "comment": "a\0b", "form_token": token},
        {"id": "1:x\0", "comment": "a", "form_token": token},
    ):
        assert scene.client.post("/session/comment", data=data).is_client_error
    for path in ("/", "/search", "/statistics", "/statistics/repeats", "/statistics/values"):
        names = ("q", "bay", "technician", "vehicle", "only", "since", "measure")
        answer = scene.client.get(path, params=dict.fromkeys(names, "a\0b"))
        assert answer.status_code in (200, 400, 404), path
    assert scene.client.post("/login", data={"login": "\0", "password": PASSWORD}).is_client_error


def _sql_in_every_field(scene: Scene) -> None:
    text = "'; DROP TABLE store.event; --"
    log_in(scene.client, "S. North")
    token = scene.token()
    for path, names in (
        ("/", ("technician", "bay", "vehicle", "result", "only", "sort", "since", "until", "page")),
        ("/search", ("q", "in", "page", "only")),
        ("/statistics", ("bay", "page")),
        ("/statistics/repeats", ("bay", "technician")),
        ("/statistics/values", ("bay", "measure")),
        ("/session", ("id",)),
        ("/session/all", ("id",)),
        ("/compare", ("session",)),
        ("/session/write", ("id",)),
    ):
        for name in names:
            assert scene.client.get(path, params={name: text}).status_code in (200, 400, 404), path
    for path, names in (
        ("/session/sign", ("id", "remark", "password")),
        ("/session/correct", ("id", "event", "now", "why", "password")),
        ("/session/comment", ("id",)),
    ):
        for name in names:
            data = {"id": scene.job["North"], "form_token": token, name: text}
            assert scene.client.post(path, data=data).is_client_error, (path, name)
    assert scene.client.post("/login", data={"login": text, "password": text}).status_code == 403


def _by(name: str, statement: str) -> Callable[[Scene], None]:
    return lambda scene: scene.refused(name, statement)


def _job_of_south(statement: str) -> Callable[[Scene], None]:
    return lambda scene: scene.refused("S. North", statement.format(scene.number("South")))


def _box(statement: str) -> Callable[[Scene], None]:
    return lambda scene: scene.box_refused(statement)


def _answers_for_another(scene: Scene) -> None:
    """It may call the function; nothing of another box is answered by it."""
    admin = scene.admin
    key = "SELECT number FROM store.outgoing"
    admin.execute(
        "INSERT INTO store.outgoing (site, box, job, job_id, person, what, body, head) "
        "SELECT j.site, j.box, j.job, j.id, 1, 'signed_off', '{}', '' FROM store.job j "
        "WHERE j.job = %s",
        (scene.number("South"),),
    )
    (number,) = admin.execute(f"{key} ORDER BY number DESC LIMIT 1".encode()).fetchone() or (0,)
    with scene.chain.boxes["North"].connection() as box:
        box.execute("SELECT store.answer(%s, true, 'x')", (number,))
        assert box.execute("SELECT count(*) FROM store.for_my_box()").fetchone() == (0,)
    answered = admin.execute(
        "SELECT answered FROM store.outgoing WHERE number = %s", (number,)
    ).fetchone()
    assert answered == (None,)


def _reads_another_box(scene: Scene) -> None:
    with scene.chain.boxes["North"].connection() as box:
        for table in ("event", "job", "mark", "box", "refusal", "box_key"):
            rows = box.execute(
                f"SELECT count(*) FROM store.{table} WHERE box <> store.my_box()".encode()
            ).fetchone()
            assert rows == (0,), table


LIST: dict[str, tuple[str, Callable[[Scene], None]]] = {
    "a stolen cookie sends a form without its token": ("refused (403)", _stolen_cookie),
    "a page of another web site sends the form": ("refused (403)", _from_elsewhere),
    "another person's form token": ("refused (403)", _anothers_token),
    "a stolen cookie, after its owner logged out": ("no session", _stolen_after_logout),
    "a hash from the table of sessions as a cookie": ("no session", _stolen_table),
    "a session idle for half an hour": ("no session", _expired),
    "a session eleven hours old": ("no session", _too_old),
    "somebody who was removed carries on": ("no session", _removed),
    "one password after another is tried": ("has to wait", _guessing),
    "a job of another site is read and commented on": ("there is no such job", _another_site),
    "the pages under another name": ("refused (421)", _another_name),
    "NUL in every field": ("refused, or nothing found", _nul),
    "SQL in every field": ("only text", _sql_in_every_field),
    "a supervisor becomes the owner": ("denied", _by("S. North", "SET ROLE companion_owner")),
    "a supervisor becomes a keeper": (
        "denied",
        _by("S. North", "UPDATE store.person SET kind = 'keeper'"),
    ),
    "a supervisor adds a site to their own": (
        "denied",
        _by("S. North", "INSERT INTO store.person_site VALUES (1, 2)"),
    ),
    "a supervisor reads everybody's passwords": (
        "denied",
        _by("S. North", "SELECT * FROM store.page_login"),
    ),
    "a supervisor begins another's session": (
        "denied",
        _by("S. North", "SELECT store.page_begin(1, sha256('x'))"),
    ),
    "a supervisor signs for a job of another site": (
        "there is no such job",
        _job_of_south("SELECT store.send_to_box({}, 'signed_off', '{{}}', '')"),
    ),
    "an auditor signs": (
        "denied",
        _by("A. Auditor", "SELECT store.send_to_box(1, 'signed_off', '{}', '')"),
    ),
    "a supervisor excuses a clock": ("denied", _by("S. North", "SELECT store.excuse('x', 'y')")),
    "a supervisor answers for a box": (
        "denied",
        _by("S. North", "SELECT store.answer_published(1, true, '')"),
    ),
    "a box reads another box's rows": ("none are there", _reads_another_box),
    "a box answers for another box": ("nothing happens", _answers_for_another),
    "a box writes an event past the store's own function": (
        "denied",
        _box("INSERT INTO store.event SELECT * FROM store.event"),
    ),
    "a box gives itself a key": (
        "denied",
        _box("INSERT INTO store.box_key (box, public_key) SELECT box, sha256('x') FROM store.box"),
    ),
    "a box moves to another site": ("denied", _box("UPDATE store.box SET site = 2")),
    "a box excuses its own clock": ("denied", _box("SELECT store.excuse('North', 'x')")),
    "a box deletes the note that it was refused": ("denied", _box("DELETE FROM store.refusal")),
    "a box becomes the pages": ("denied", _box("SET ROLE companion_pages")),
}
"""What is tried, and what comes of it."""


@pytest.fixture(scope="module")
def scene(
    cluster_store: tuple[Yard, Path],
) -> Iterator[Scene]:
    yard, _ = cluster_store
    boxes = {}
    for site in ("North", "South", "West"):
        boxes[site] = yard.box(f"box of {site}", site)
        boxes[site].ship()
    index_store(yard.admin)
    chain = Chain(yard, boxes, *yard.login(keeping.add_pages(yard.admin)))
    for name, sites in (
        ("S. North", ("North",)),
        ("S. Two", ("South", "West")),
        ("S. Gone", ("North",)),
        ("S. Slow", ("North",)),
    ):
        chain.person(name, "supervisor", *sites)
    chain.person("A. Auditor", "auditor")
    jobs = dict(
        yard.admin.execute(
            "SELECT s.name, min(j.session_id) FROM reading.job j JOIN store.site s USING (site) "
            "GROUP BY 1"
        ).fetchall()
    )
    with chain.pages() as client:
        yield Scene(chain, client, jobs)


@pytest.mark.parametrize("attack", LIST)
def test_each_of_the_list_is_refused(scene: Scene, attack: str) -> None:
    before = _everything(scene.admin)
    scene.client.cookies.clear()
    LIST[attack][1](scene)
    after = _everything(scene.admin)
    assert after == before


def _everything(admin: Connection) -> list[tuple[object, ...]]:
    found: list[tuple[object, ...]] = []
    for table_name in ("event", "job", "mark", "box_key", "refusal", "comment", "person_site"):
        query = f"SELECT '{table_name}', t::text FROM store.{table_name} t ORDER BY 2"
        found += admin.execute(query.encode()).fetchall()
    return found


def test_the_document_shows_the_list_as_it_is() -> None:
    told = PAGE.read_text(encoding="utf-8")
    assert told.partition(BEGIN)[2].partition(END)[0] == table()
    assert len(attacks()) >= 40

"""Somebody who means no good at the pages: each attempt is refused, and told why."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import psycopg
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from psycopg import Connection, sql

from companion.archive.listing import Filters
from companion.store import keeping
from companion.store.review.door import cookie_name
from companion.store.review.indexing import index_store
from companion.store.review.looking_after import changed_parts, fleet, worklist
from companion.store.review.people import LEAST_PASSWORD, NotLetIn, let_in, set_password
from companion.store.review.reading import ORDERS, StoreReading
from tests.store.chain import PASSWORD, PUBLIC, Chain, log_in
from tests.store.yard import Yard

SITES = ("North", "South", "West")
COOKIE = cookie_name(PUBLIC)


@pytest.fixture
def chain(yard: Yard) -> Chain:
    """Three boxes of small jobs, one a site; S. North sees one site, S. Two two."""
    boxes = {}
    for site in SITES:
        boxes[site] = yard.box(f"box of {site}", site, jobs=2)
        boxes[site].ship()
    index_store(yard.admin)
    made = Chain(yard, boxes, *yard.login(keeping.add_pages(yard.admin)))
    made.person("S. North", "supervisor", "North")
    made.person("S. Two", "supervisor", "South", "West")
    made.person("S. None", "supervisor")
    made.person("A. Auditor", "auditor")
    return made


def _job(chain: Chain, site: str) -> str:
    row = chain.yard.admin.execute(
        "SELECT j.session_id FROM reading.job j JOIN store.site s USING (site) WHERE s.name = %s "
        "ORDER BY 1 LIMIT 1",
        (site,),
    ).fetchone()
    assert row is not None
    return str(row[0])


def test_without_a_session_there_is_nothing(chain: Chain) -> None:
    job = _job(chain, "North")
    with chain.pages() as client:
        for path in (
            *("/", "/search?q=x", "/fleet", "/worklist", "/statistics", "/nothing"),
            *("/statistics/repeats", "/statistics/values?measure=floor_twist_mm"),
        ):
            answer = client.get(path)
            assert (answer.status_code, answer.headers.get("location")) == (303, "/login"), path
        for path in (
            *(f"/session?id={job}", f"/session/all?id={job}", f"/session/file?id={job}"),
            "/clip/" + "0" * 64,
        ):
            assert client.get(path).status_code == 303
        for path in ("/session/sign", "/session/correct", "/session/comment", "/logout"):
            assert client.post(path, data={"id": job}).status_code == 403, path
        for path in ("/", "/fleet", "/session"):
            assert client.post(path).status_code == 405
        assert client.delete("/session/comment").status_code == 405


def test_a_cookie_alone_writes_nothing(chain: Chain) -> None:
    """A stolen cookie, or another site's form that a browser sends it with."""
    job = _job(chain, "North")
    with chain.pages() as client:
        log_in(client, "S. North")
        mine = client.get("/").text.split('name="form_token" value="')[1][:64]
        for token in ("", "0" * 64, mine[:-1], mine.upper(), "é" * 64):
            answer = client.post(
                "/session/comment", data={"id": job, "comment": "x", "form_token": token}
            )
            assert answer.status_code == 403, token
            assert "not made for your session" in answer.text
        good = {"id": job, "comment": "x", "form_token": mine}
        for headers in (
            {"origin": "https://elsewhere.example"},
            {"origin": "null"},
            {"origin": "http://review.example"},
            {"sec-fetch-site": "cross-site"},
            {"sec-fetch-site": "same-site"},
        ):
            answer = client.post("/session/comment", data=good, headers=headers)
            assert (answer.status_code, "another place" in answer.text) == (403, True), headers
        assert client.post("/session/comment", content=b"x" * 50_000).status_code == 400
        assert client.post("/session/comment", content=b"\xff=1").status_code == 400
        assert client.get("/", headers={"host": "rebound.example"}).status_code == 421
        # Another person's form token does not go with one's own session.
        log_in(client, "S. Two")
        assert client.post("/session/comment", data=good).status_code == 403
        count = chain.yard.admin.execute("SELECT count(*) FROM store.comment").fetchone()
        assert count == (0,)


def test_a_session_that_is_over_is_over(chain: Chain) -> None:
    ends: dict[str, Callable[[Connection], object]] = {
        "half an hour": lambda admin: admin.execute(
            "UPDATE store.page_session SET last_used = now() - interval '31 minutes'"
        ),
        "ten hours": lambda admin: admin.execute(
            "UPDATE store.page_session SET began = now() - interval '11 hours'"
        ),
        "logged out": lambda admin: admin.execute("UPDATE store.page_session SET ended = now()"),
        "another password": lambda admin: set_password(admin, "s. north", PASSWORD),
        "removed": lambda admin: keeping.remove_person(admin, "s. north"),
    }
    with chain.pages() as client:
        for why, end in ends.items():
            log_in(client, "S. North")
            assert client.get("/fleet").status_code == 200
            end(chain.yard.admin)
            assert client.get("/fleet").status_code == 303, why
        assert client.post("/login", data={"login": "S. North", "password": PASSWORD}).is_error
        for made_up in ("", "x", "../", "é", "0" * 4000):
            client.cookies.clear()
            answer = client.get("/fleet", headers={"cookie": f"{COOKIE}={made_up}".encode()})
            assert answer.status_code == 303


def test_passwords_are_not_tried_one_after_the_other(chain: Chain) -> None:
    with chain.pages() as client:
        for number in range(7):
            answer = client.post(
                "/login", data={"login": "S. North", "password": f"wrong {number}"}
            )
            assert answer.status_code == 403
        # The right one has to wait, too.
        answer = client.post("/login", data={"login": "S. North", "password": PASSWORD})
        assert "too many wrong passwords" in answer.text
        nobody = client.post("/login", data={"login": "nobody", "password": PASSWORD})
        assert "login or password is wrong" in nobody.text
        for login in ("' OR 1=1 --", "s. north'; DROP TABLE store.person; --", "\x00", "%"):
            answer = client.post("/login", data={"login": login, "password": PASSWORD})
            assert answer.status_code in (400, 403), login
        assert client.post("/login", data={"login": "S. Two", "password": "x" * 300}).is_error
    with pytest.raises(Exception, match=f"{LEAST_PASSWORD} to"):
        set_password(chain.yard.admin, "s. two", "short")


def test_no_role_becomes_more_than_it_is(chain: Chain) -> None:
    north, south = _job(chain, "North"), _job(chain, "South")
    admin = chain.yard.admin
    number = admin.execute("SELECT job FROM reading.job WHERE session_id = %s", (south,)).fetchone()
    assert number is not None
    attempts = (
        ("S. North", "SELECT store.send_to_box(%s, 'signed_off', '{}', '')", "no such job"),
        ("S. North", "SELECT store.comment_on(%s, 'x')", "no such job"),
        ("S. Two", "SELECT store.send_to_box(%s, 'signed_off', '{}', '')", "not signed by"),
        (
            "S. Two",
            """SELECT store.send_to_box(%s, 'signed_off', '{"by": "S. North"}', '')""",
            "by",
        ),
        ("A. Auditor", "SELECT store.comment_on(%s, 'x')", "only a supervisor"),
        ("A. Auditor", "SELECT store.send_to_box(%s, 'signed_off', '{}', '')", "only a supervisor"),
        (
            "S. Two",
            "INSERT INTO store.comment (site, job, person, name, told) VALUES (1, %s, 1, 'x', 'x')",
            "denied",
        ),
        ("S. Two", "UPDATE store.outgoing SET taken = true WHERE job = %s", "denied"),
        ("S. Two", "SELECT * FROM store.page_login WHERE person = %s", "denied"),
        ("S. Two", "SELECT * FROM store.page_session WHERE person = %s", "denied"),
        ("S. Two", "SELECT store.page_begin(1, sha256('x')) WHERE 1 = %s", "denied"),
        ("S. Two", "SELECT store.page_person('s. north') WHERE 1 = %s", "denied"),
        ("S. Two", "SELECT store.answer(%s, true, '')", "denied"),
        ("S. Two", "DELETE FROM reading.job WHERE job = %s", "denied"),
        ("S. Two", "UPDATE reading.part SET state = 'steady' WHERE site = %s", "denied"),
        ("S. Two", "SELECT * FROM store.job_of_mine(%s)", "denied"),
    )
    with psycopg.connect(f"{chain.store} passfile={chain.password_file}", autocommit=True) as pages:
        for login, statement, told in attempts:
            role = admin.execute(
                "SELECT role FROM store.person WHERE name = %s", (login,)
            ).fetchone()
            assert role is not None
            pages.execute(sql.SQL("SET ROLE {}").format(sql.Identifier(role[0])))
            with pytest.raises(psycopg.Error, match=told):
                pages.execute(statement.encode(), number)
            pages.execute("RESET ROLE")
        # The pages themselves see nothing and write nothing until somebody is let in.
        for statement in (
            "SELECT * FROM store.job",
            "SELECT * FROM reading.job",
            "SELECT * FROM store.person",
            "SELECT store.page_person('s. north')",
            "SET ROLE companion_owner",
            "SET ROLE store_admin",
        ):
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                pages.execute(statement.encode())
    with chain.pages() as client:
        log_in(client, "S. North")
        token = client.get("/").text.split('name="form_token" value="')[1][:64]
        for path in ("/session/sign", "/session/correct", "/session/comment"):
            answer = client.post(
                path,
                data={"id": south, "form_token": token, "password": PASSWORD, "comment": "x"},
            )
            assert answer.status_code >= 400
            assert "shows you no job" in answer.text
        for job in (f"{north}'", "1:", ":", "x", "1:x\x00", "9" * 30 + ":x", "-1:x"):
            assert client.get("/session", params={"id": job}).status_code == 404, job


def test_everything_typed_is_only_text(chain: Chain) -> None:
    with chain.pages() as client:
        log_in(client, "A. Auditor")
        for typed in (
            *("'", "''", "\\", "%", "_", "a' | 'b", "!x", "a & b", "(", ":*", "'x':*", "<->", "*"),
            *(
                '"',
                '"a',
                "x" * 200,
                "a:b",
                "\u202e",
                "😀",
                "' OR true --",
                "NULL",
                "$1",
                "%s",
                "{}",
            ),
        ):
            for path in ("/search", "/"):
                names = ("q",) if path == "/search" else ("technician", "bay", "result", "only")
                answer = client.get(path, params=dict.fromkeys(names, typed))
                assert answer.status_code == 200, (path, typed, answer.text)
        for day in ("x", "2031-02-30", "0001-01-01", "9999-12-31", "2031-05-06T00:00:00.000Z"):
            assert client.get("/", params={"since": day, "until": day}).status_code in (200, 400)


_TEXT = st.text(max_size=12) | st.sampled_from(
    ["said", "bring it up", "yes", "North", "South", "*"]
)


def test_what_a_supervisor_sees_is_never_more_than_their_sites(chain: Chain) -> None:
    admin = chain.yard.admin
    site_of = dict(
        admin.execute(
            "SELECT j.session_id, s.name FROM reading.job j JOIN store.site s USING (site)"
        ).fetchall()
    )
    sees = {
        "S. North": {"North"},
        "S. Two": {"South", "West"},
        "S. None": set(),
        "A. Auditor": set(SITES),
    }
    pages = psycopg.connect(f"{chain.store} passfile={chain.password_file}", autocommit=True)

    @settings(
        max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
    )
    @given(
        st.sampled_from(sorted(sees)),
        st.builds(
            Filters,
            technician=_TEXT,
            bay=_TEXT,
            vehicle=_TEXT,
            result=st.sampled_from(["", "broken_off", "inside"]),
            only=st.sampled_from(["", "unsigned", "signed", "rehearsal", "no_rehearsal", "x"]),
        )
        | st.just(Filters()),
        st.sampled_from(sorted(ORDERS)),
        _TEXT,
        st.sampled_from(["anywhere", "said", "heard", "noted"]),
    )
    def look(who: str, filters: Filters, order: str, typed: str, place: str) -> None:
        role = admin.execute("SELECT role FROM store.person WHERE name = %s", (who,)).fetchone()
        assert role is not None
        with pages.transaction():
            pages.execute(sql.SQL("SET LOCAL ROLE {}").format(sql.Identifier(role[0])))
            reading = StoreReading(pages)
            listed = reading.listed(filters, limit=50, offset=0, order=order)
            found = reading.found(typed, filters, place=place, limit=50, offset=0)  # type: ignore[arg-type]
            seen = {one.session_id for one in listed.sessions}
            seen |= {one.session.session_id for one in found.sessions}
            seen |= {job.session_id for part in worklist(pages) for job in part.jobs}
            assert {site_of[one] for one in seen} <= sees[who]
            if filters == Filters():
                assert {site_of[one] for one in seen} == sees[who]
            told = reading.steadiness(typed, skip=0, most=100)
            reading.together(typed, "")
            places = {bay.split(" · ")[0] for bay in (*reading.choices().bays, *told.bays)}
            places |= {part.bay.split(" · ")[0] for part in (*told.parts, *changed_parts(pages))}
            places |= {box.site for box in fleet(pages)}
            assert places <= sees[who]
            for one, site in site_of.items():
                if site not in sees[who]:
                    with pytest.raises(Exception, match="no job"):
                        reading.kept(one)
            for table in ("job", "words", "summary", "part", "chart", "name"):
                query = (
                    f"SELECT DISTINCT s.name FROM reading.{table} JOIN store.site s USING (site)"
                )
                rows = pages.execute(query.encode()).fetchall()
                assert {row[0] for row in rows} <= sees[who]

    for sign in ("\0", "x\0", "\0*"):
        nothing = Filters(technician=sign, bay=sign, vehicle=sign)
        look = example("S. North", nothing, "newest", sign, "anywhere")(look)
    look()
    pages.close()


def test_nobody_is_let_in_by_nobody(chain: Chain) -> None:
    with psycopg.connect(f"{chain.store} passfile={chain.password_file}", autocommit=True) as pages:
        pages.execute("SET ROLE companion_pages")
        for login, password in (
            ("", ""),
            ("s. north", ""),
            ("", PASSWORD),
            ("store_admin", PASSWORD),
        ):
            with pytest.raises(NotLetIn):
                let_in(pages, login, password)


def test_a_role_of_the_store_is_no_password_of_the_pages(chain: Chain, tmp_path: Path) -> None:
    """Somebody with a box's login finds nothing to let anybody in by."""
    del tmp_path
    with chain.boxes["North"].connection() as box:
        for statement in (
            "SELECT * FROM store.page_person('s. north')",
            "SELECT store.page_begin(1, sha256('x'))",
            "SELECT * FROM store.page_login",
            "SELECT store.my_key()",
            "SELECT store.jobs_with('a', 'a', 'infinity', 1, 1)",
            "SELECT * FROM reading.job",
            "SET ROLE companion_pages",
            "UPDATE store.outgoing SET answered = now()",
        ):
            with pytest.raises(psycopg.Error) as refused:
                box.execute(statement.encode())
            assert refused.value.sqlstate == "42501", statement

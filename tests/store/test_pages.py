"""The pages over many boxes: those of one record's review, for people who log in."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from psycopg import Connection
from starlette.testclient import TestClient

from companion.record import open_for_reading
from companion.record.audit.verify import examine
from companion.store.incoming import take_what_waits
from companion.store.review.indexing import index_anew, index_store
from tests.store.chain import PASSWORD, Chain, log_in, make_chain
from tests.store.cluster import Cluster
from tests.store.yard import Box


@pytest.fixture
def chain(cluster: Cluster, admin: Connection, tmp_path: Path) -> Chain:
    made = make_chain(cluster, admin, tmp_path)
    made.person("S. North", "supervisor", "North")
    made.person("A. Auditor", "auditor")
    return made


def _jobs(client: TestClient, address: str = "/") -> list[str]:
    found = re.findall(r'name="session" value="([^"]+)"', client.get(address).text)
    return [unescape(one) for one in found]


def _form_token(client: TestClient, address: str) -> str:
    found = re.search(r'name="form_token" value="([0-9a-f]{64})"', client.get(address).text)
    assert found is not None
    return found[1]


def _box_of(chain: Chain, job: str) -> Box:
    """The box that a job of the store came from."""
    number = int(job.split(":")[0])
    named = chain.yard.admin.execute("SELECT name FROM store.box WHERE box = %s", (number,))
    (name,) = named.fetchone() or ("",)
    return chain.boxes[name]


def _reading(chain: Chain, job: str) -> str:
    """The number of the job's first reading, one of the floor."""
    with open_for_reading(_box_of(chain, job).record) as record:
        events = record.events(job.split(":", 1)[1])
        return str(next(event.seq for event in events if event.kind == "accepted"))


def test_the_pages_show_each_person_their_sites(chain: Chain) -> None:
    with chain.pages() as client:
        log_in(client, "a. auditor")
        everything = set(_jobs(client)) | set(_jobs(client, "/?page=2"))
        assert len(everything) == 36
        log_in(client, "S. North")
        mine = set(_jobs(client))
        assert len(mine) == 12
        for page in (
            *("/", "/search?q=stand", "/statistics", "/statistics/repeats", "/worklist", "/fleet"),
            "/statistics/values?measure=floor_twist_mm",
        ):
            told = client.get(page)
            assert told.status_code == 200, (page, told.text)
            assert "North" in told.text, page
            assert "South" not in told.text, page
        other = sorted(everything - mine)[0]
        assert client.get("/session", params={"id": other}).status_code == 404
        assert client.get("/session/all", params={"id": other}).status_code == 404
        assert client.get("/session/file", params={"id": other}).status_code == 404
        shown = client.get("/session", params={"id": sorted(mine)[0]})
        assert shown.status_code == 200
        assert "North one." in re.sub("<[^>]+>", "", shown.text)
        compared = client.get("/compare", params={"session": sorted(mine)[:2]})
        assert compared.status_code == 200


def test_a_search_finds_what_one_record_finds(chain: Chain) -> None:
    from companion.archive.opening import open_archive
    from companion.archive.search import search

    with chain.pages() as client:
        log_in(client, "A. Auditor")
        for typed in ("left arm", '"left arm"', "stan*", "12", "one two", "806 mm", "zebra", "yes"):
            wanted = set()
            for box in chain.boxes.values():
                with open_archive(box.record) as archive:
                    found = search(archive, typed, limit=1000)
                wanted |= {one.session.session_id for one in found.sessions}
            ids: set[str] = set()
            for page in range(1, 6):
                text = client.get("/search", params={"q": typed, "page": page}).text
                ids |= set(re.findall(r'<h2><a href="/session\?id=\d+%3A([^"]+)"', text))
            assert ids == wanted, typed


def test_the_index_made_anew_is_the_same(chain: Chain) -> None:
    def everything() -> list[tuple[object, ...]]:
        return [
            row
            for table in ("job", "words", "summary", "part", "chart", "name")
            for row in chain.yard.admin.execute(
                f"SELECT '{table}', t::text FROM reading.{table} t ORDER BY 2".encode()
            ).fetchall()
        ]

    before = everything()
    assert index_store(chain.yard.admin) == 0
    assert index_anew(chain.yard.admin) == 36
    assert everything() == before


def test_a_sign_off_reaches_the_box_as_an_event_of_its_own(chain: Chain) -> None:
    box = chain.boxes["North one"]
    with chain.pages() as client:
        log_in(client, "S. North")
        job = _jobs(client, "/?only=unsigned&bay=North")[-1]
        page = f"/session/write?id={job}"
        form = {"id": job, "form_token": _form_token(client, page), "remark": "Seen"}
        wrong = client.post("/session/sign", data={**form, "password": "not that one at all"})
        assert wrong.status_code == 400
        assert "password is wrong" in wrong.text
        done = client.post("/session/sign", data={**form, "password": PASSWORD})
        assert done.status_code == 303, done.text
        shown = client.get(done.headers["location"]).text
        assert "on its way to the box" in shown
        twice = client.post("/session/sign", data={**form, "password": PASSWORD})
        assert "on its way to the box; wait" in unescape(twice.text)
        number, job_id = job.split(":")
        box = next(
            one
            for name, one in chain.boxes.items()
            if chain.yard.admin.execute(
                "SELECT box FROM store.box WHERE name = %s", (name,)
            ).fetchone()
            == (int(number),)
        )
        (answer,) = take_what_waits(box.record, box.store, box.password_file)
        assert answer.taken, answer
        assert take_what_waits(box.record, box.store, box.password_file) == ()
        with open_for_reading(box.record) as record:
            *_, last = record.events(job_id)
        assert (last.kind, last.body["by"], last.body["remark"]) == (
            *("signed_off", "S. North", "Seen"),
        )
        examined = examine(box.record)
        assert examined.findings == ()
        assert any(
            one.told is not None and one.told.id == "worth-unknown-key" for one in examined.signings
        )
        assert box.ship().events == 1
        assert index_store(chain.yard.admin) == 1
        assert job not in _jobs(client, "/?only=unsigned")
        shown = client.get(done.headers["location"]).text
        assert "in the box&#39;s record" in shown or "in the box's record" in shown
    assert chain.yard.problems() == []


def test_a_correction_and_a_comment(chain: Chain) -> None:
    with chain.pages() as client:
        log_in(client, "S. North")
        job = _jobs(client, "/?only=unsigned")[0]
        token = _form_token(client, f"/session/write?id={job}")
        form = {"id": job, "form_token": token}
        said = client.post("/session/comment", data={**form, "comment": "Ask <b>them</b> again"})
        assert said.status_code == 303, said.text
        assert "Ask &lt;b&gt;them&lt;/b&gt; again" in client.get(said.headers["location"]).text
        written = {**form, "why": "misread", "password": PASSWORD}
        for event, now, told in (
            ("5", "775", "is nothing that a person read"),
            (_reading(chain, job), "nonsense", "could have said"),
            (_reading(chain, job), "99999", "could have said"),
            (_reading(chain, job), " ", "one of them is missing"),
        ):
            refused = client.post("/session/correct", data={**written, "event": event, "now": now})
            assert refused.status_code == 400
            assert told in refused.text
        corrected = client.post(
            "/session/correct", data={**written, "event": _reading(chain, job), "now": "419"}
        )
        assert corrected.status_code == 303, corrected.text
        box = _box_of(chain, job)
        (answer,) = take_what_waits(box.record, box.store, box.password_file)
        assert answer.taken, answer
        box.ship()
        log_in(client, "A. Auditor")
        assert "Ask &lt;b&gt;" in client.get(f"/session?id={job}").text
        refused = client.post(
            "/session/comment",
            data={"id": job, "comment": "x", "form_token": _form_token(client, "/")},
        )
        assert refused.status_code == 400
        assert "only a supervisor" in refused.text


def test_what_was_changed_on_its_way_is_not_appended(chain: Chain) -> None:
    """The keeper of the store, who may write anything there, signs in nobody's name at a box."""
    with chain.pages() as client:
        log_in(client, "S. North")
        job = _jobs(client, "/?only=unsigned")[0]
        token = _form_token(client, f"/session/write?id={job}")
        form = {"id": job, "form_token": token, "password": PASSWORD}
        assert client.post("/session/sign", data=form).status_code == 303
    admin = chain.yard.admin
    admin.execute("ALTER TABLE store.outgoing DISABLE TRIGGER ALL")
    box_name = admin.execute(
        "SELECT b.name FROM store.outgoing JOIN store.box b USING (box)"
    ).fetchone()
    assert box_name is not None
    box = chain.boxes[box_name[0]]
    admin.execute("CREATE TABLE as_signed AS SELECT body FROM store.outgoing")
    for change, told in (
        ('"by": "X"', "signature"),
        ('"how": "pin"', "PIN"),
        ('"events": 1', "another state"),
        ('"rank": 1', "form"),
        ('"role": "technician"', "signature"),
    ):
        admin.execute(
            "UPDATE store.outgoing SET answered = NULL, told = '', "
            "body = (SELECT body FROM as_signed) || %s::jsonb",
            (f"{{{change}}}",),
        )
        (answer,) = take_what_waits(box.record, box.store, box.password_file)
        assert not answer.taken
        assert told in answer.told, answer
        with open_for_reading(box.record) as record:
            assert all(event.kind != "signed_off" for event in record.events(answer.job_id))

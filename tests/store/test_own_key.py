"""The whole way: a supervisor's key of the store is known at a box, and what it signs is proven."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from psycopg import Connection
from starlette.testclient import TestClient

from companion.cli import main
from companion.errors import RecordError
from companion.facts.afterwards import Signature
from companion.language.words import Words
from companion.record import FixedClock, open_for_reading, open_record
from companion.record.asked import Asked, asked_path, waiting_at
from companion.record.audit.keys import public_hex
from companion.record.audit.verify import examine
from companion.record.enrolling import Office, read_roll
from companion.record.roll import asking_statement
from companion.store import keeping
from companion.store.asking import fetch_askings
from companion.store.incoming import take_what_waits
from companion.store.review.indexing import index_store
from companion.store.review.people import set_password
from tests.store.chain import PASSWORD, Chain, log_in
from tests.store.spoken_jobs import box_of, speak
from tests.store.yard import Box, Yard

AFTER = "2026-03-03T08:00:00.000Z"


@pytest.fixture
def chain(yard: Yard) -> Chain:
    """A box with jobs, at which B. Sample has a PIN; S. North has a login at the store."""
    box = box_of(yard)
    for number in (1, 2, 3):
        speak(box.record, f"job-{number}")
    with open_record(box.record, FixedClock(AFTER)) as database:
        office = Office(database)
        office.enrol("B. Sample", "supervisor", "1234", None)
        voucher = office.signer("B. Sample", "1234", "vouch")
        office.enrol("A. Example", "technician", "4321", voucher)
    box.ship()
    index_store(yard.admin)
    made = Chain(yard, {"one": box}, *yard.login(keeping.add_pages(yard.admin)))
    made.person("S. North", "supervisor", "North")
    made.person("S. South", "supervisor", "South")
    made.person("A. Auditor", "auditor")
    return made


def _ask(client: TestClient, box: str = "1", password: str = PASSWORD) -> tuple[int, str]:
    token = client.get("/").text.split('name="form_token" value="')[1][:64]
    answer = client.post("/key/ask", data={"box": box, "password": password, "form_token": token})
    return answer.status_code, answer.text


def _sign(client: TestClient, job: str) -> str:
    token = client.get("/").text.split('name="form_token" value="')[1][:64]
    done = client.post("/session/sign", data={"id": job, "password": PASSWORD, "form_token": token})
    assert done.status_code == 303, done.text
    return str(done.headers["location"])


def _people(box: Box, *words: str, code: int = 0, typed: str = "") -> str:
    done = CliRunner().invoke(main, ["people", *words, "--record", str(box.record)], input=typed)
    assert done.exit_code == code, done.output
    return done.output


def _fetch(box: Box) -> list[str]:
    answered, _ = fetch_askings(box.record, box.store, box.password_file)
    return [f"{one.name}: {one.taken} {one.told}".strip() for one in answered]


def _worth(box: Box) -> list[str]:
    examined = examine(box.record)
    assert examined.findings == ()
    return [Words("en")(one.told.id, **one.told.args) for one in examined.signings]


def test_from_the_browser_to_the_record_of_the_box(
    chain: Chain, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "no-settings"))
    box = chain.boxes["one"]
    with chain.pages() as client:
        log_in(client, "S. North")
        page = client.get("/key").text
        key = re.search(r'class="hash">([0-9a-f]{64})<', page)
        assert key is not None
        assert "not known" in page
        assert _ask(client, password="not this one at all")[0] == 400  # noqa: S106  # pragma: allowlist secret
        assert _ask(client)[0] == 303
        assert "waits for a supervisor at the box" in client.get("/key").text

        # The box fetches it with the next shipping, and knows nothing by itself.
        told = CliRunner().invoke(
            main,
            [
                *("ship", "--record", str(box.record), "--store", box.store),
                *("--password-file", str(box.password_file)),
            ],
        )
        assert told.exit_code == 0, told.output
        assert f"S. North asks to sign at this box from the store, with the key\n{key[1]}" in (
            told.output.replace("key " + key[1], "key\n" + key[1])
        )
        assert asked_path(box.record).stat().st_mode & 0o077 == 0
        assert "S. North asks to sign" in _people(box, "list")
        assert "is not the PIN" in _people(box, "accept", "S. North", code=7, typed="9999\n")
        assert "technician here" in _people(
            box, "accept", "S. North", "--by", "A. Example", code=7, typed="4321\n"
        )
        told_key = _people(box, "accept", "s. north", typed="1234\n")
        assert key[1] in told_key
        assert "B. Sample vouched" in told_key
        assert _fetch(box) == ["S. North: True"]
        assert waiting_at(box.record) == ()
        box.ship()
        assert "known" in client.get("/key").text
        assert "vouched for by B. Sample" in client.get("/key").text

        # What is signed in the browser is proven in the box's own record from here on.
        where = _sign(client, "1:job-1")
        (answer,) = take_what_waits(box.record, box.store, box.password_file)
        assert answer.taken, answer
        (worth,) = _worth(box)
        assert worth.startswith("signed with the key of S. North, of the store, enrolled 20")
        assert worth.endswith("vouched for by B. Sample")
        box.ship()
        index_store(chain.yard.admin)
        shown = client.get(where).text
        assert "signed with the key of S. North, of the store" in shown
        assert chain.yard.problems() == []
        assert box.against_the_store() == []

        # Taken out at the box, it counts there no more; what was signed stays signed.
        _people(box, "remove", "S. North", "--store-key", "--by", "B. Sample", typed="1234\n")
        _sign(client, "1:job-2")
        (answer,) = take_what_waits(box.record, box.store, box.password_file)
        assert not answer.taken
        assert "was not enrolled then" in answer.told
        assert len(_worth(box)) == 1
        # The same key is not known again; another password makes another key.
        _ask(client)
        assert _fetch(box) == ["S. North: False this key was removed at the box"]
        set_password(chain.yard.admin, "s. north", PASSWORD)
        log_in(client, "S. North")
        _ask(client)
        assert _fetch(box) == []
        _people(box, "accept", "S. North", typed="1234\n")
        _sign(client, "1:job-3")
        (answer,) = take_what_waits(box.record, box.store, box.password_file)
        assert answer.taken, answer
        assert len(_worth(box)) == 2
    box.ship()
    assert chain.yard.problems() == []


def test_a_pin_and_a_key_of_the_store_stand_beside_each_other(chain: Chain) -> None:
    box = chain.boxes["one"]
    chain.person("B. Sample", "supervisor", "North")
    with chain.pages() as client:
        log_in(client, "B. Sample")
        assert _ask(client)[0] == 303
        _fetch(box)
        _people(box, "accept", "B. Sample", typed="1234\n")
        with open_for_reading(box.record) as database:
            roll = read_roll(database)
        assert roll.problems == []
        assert [one.name for one in roll.current].count("B. Sample") == 2
        assert [one.name for one in roll.supervisors] == ["B. Sample"]
        # The PIN still opens its own key.
        told = _people(box, "remove", "B. Sample", "--store-key", typed="1234\n")
        assert "from the store" in told
        with open_for_reading(box.record) as database:
            assert len(read_roll(database).supervisors) == 1
    assert examine(box.record).findings == ()


def test_declined_and_told(chain: Chain) -> None:
    box = chain.boxes["one"]
    with chain.pages() as client:
        log_in(client, "S. North")
        _ask(client)
        _fetch(box)
        _people(box, "decline", "S. North")
        assert "did not ask" in _people(box, "accept", "S. North", code=7)
        assert _fetch(box) == ["S. North: False a supervisor at the box declined"]
        assert "declined" in client.get("/key").text
        # Asked anew it waits anew.
        _ask(client)
        assert _fetch(box) == []
        assert len(waiting_at(box.record)) == 1


def test_nobody_asks_for_another_or_at_another_site(chain: Chain) -> None:
    with chain.pages() as client:
        log_in(client, "S. South")
        assert "bay one" not in client.get("/key").text
        for box in ("1", "99", "", "1'", "-1"):
            status, told = _ask(client, box)
            assert status == 400
            assert "no such box" in told
        log_in(client, "A. Auditor")
        assert _ask(client)[0] == 400
        assert "Supervisors sign" in client.get("/key").text
        client.cookies.clear()
        assert client.post("/key/ask", data={"box": "1"}).status_code == 403
    assert chain.yard.admin.execute("SELECT count(*) FROM store.asking").fetchone() == (0,)


def test_the_keeper_of_the_store_makes_nobody_known(chain: Chain, admin: Connection) -> None:
    """To write anything there is not enough: the key, this box and a supervisor here are needed."""
    box = chain.boxes["one"]
    key, other = Ed25519PrivateKey.generate(), Ed25519PrivateKey.generate()
    (box_key,) = admin.execute(
        "SELECT encode(public_key, 'hex') FROM store.box_key"
    ).fetchone() or ("",)

    def asked(name: str, of: str, by: Ed25519PrivateKey) -> Asked:
        public = public_hex(key)
        value = by.sign(asking_statement(name, "supervisor", public, of)).hex()
        return Asked(
            name=name,
            role="supervisor",
            public_key=public,
            box_key=of,
            own=Signature(public_key=public, value=value),
        )

    for made, told in (
        (asked("S. North", box_key, other), "not asked of this box"),
        (asked("S. North", "ab" * 32, key), "not asked of this box"),
    ):
        admin.execute(
            "INSERT INTO store.asking (site, box, person, body) VALUES (1, 1, 1, %s)",
            (made.model_dump_json(),),
        )
        (answer,) = _fetch(box)
        assert told in answer
    admin.execute(
        "INSERT INTO store.asking (site, box, person, body) VALUES (1, 1, 1, %s)",
        ('{"name": "S. North", "role": "technician"}',),
    )
    assert "form" in _fetch(box)[0]
    with open_record(box.record, FixedClock(AFTER)) as database:
        office = Office(database)
        supervisor = office.signer("B. Sample", "1234", "x")
        technician = office.signer("A. Example", "4321", "x")
        for made, voucher, told in (
            (asked("S. North", box_key, key), technician, "wanted: a supervisor"),
            (asked("S. North", box_key, other), supervisor, "not with that key"),
            (asked("S. North", "ab" * 32, key), supervisor, "this box"),
            (asked("B.\u00a0Sample", box_key, key), supervisor, "is read as"),
        ):
            with pytest.raises(RecordError, match=told):
                office.accept(made, voucher)
        office.accept(asked("S. North", box_key, key), supervisor)
        with pytest.raises(RecordError, match="known"):
            office.accept(asked("S. North", box_key, key), supervisor)
    assert examine(box.record).findings == ()


def test_a_file_of_askings_that_is_none_is_told(chain: Chain) -> None:
    box = chain.boxes["one"]
    asked_path(box.record).write_text("[{}]")
    assert "is not a list of who asked" in _people(box, "list", code=7)

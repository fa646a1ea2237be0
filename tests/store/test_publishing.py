"""Files published to boxes: from a supervisor's folder to the job that records their version."""

from __future__ import annotations

import json
import shutil
from dataclasses import dataclass
from pathlib import Path

import psycopg
import pytest
from click.testing import CliRunner, Result
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.cli import main
from companion.errors import FileProblem
from companion.facts.opening import Opened
from companion.published import kept
from companion.published.manifest import WITH_NAME, Manifest, Signed, believed, signed
from companion.record import open_for_reading
from companion.record.audit.keys import public_hex
from companion.record.canonical import canonical_json, sha256_hex
from companion.record.store_word import last_word
from companion.store import keeping
from companion.store.forgetting import replace_name
from companion.store.migrating import one
from companion.store.review.looking_after import fleet
from companion.store.review.people import set_password, unlocked_key
from tests.store.shop_files import change, shop_files, with_named_stand
from tests.store.yard import Box, Yard, work

PASSWORD = "five words are a password"  # noqa: S105  # pragma: allowlist secret
ANSWERS = ("words only", "yes", "bumper", "yes", *("done",) * 5, "stop", "yes")


@dataclass
class Shop:
    """A box with settings of its own, and a supervisor who publishes to it."""

    yard: Yard
    box: Box
    settings: Path
    supervisor: tuple[str, Path]
    key: str
    folder: Path

    def companion(self, *words: object, code: int = 0, typed: tuple[str, ...] = ()) -> Result:
        lines = "".join(f"{line}\n" for line in typed)
        done = CliRunner().invoke(main, [str(word) for word in words], input=lines)
        assert done.exit_code == code, (words, done.output, done.exception)
        return done

    def publish(self, folder: Path, *more: object, code: int = 0) -> str:
        store, file = self.supervisor
        word = self.yard.folder / "word"
        word.write_text(PASSWORD + "\n")
        return self.companion(
            *("store", "publish", folder, "--site", "North", *more),
            *("--password-from", word, "--store", store, "--password-file", file),
            code=code,
        ).output

    def ship(self, code: int = 0) -> str:
        return self.companion("ship", "--settings", self.settings, code=code).output

    def job(self, *typed: str, command: str = "start", code: int = 8) -> str:
        return self.companion(command, "--settings", self.settings, typed=typed, code=code).output

    def opened(self) -> Opened:
        """How the newest job began."""
        with open_for_reading(self.box.record) as database:
            session = database.last_session_id()
            assert session is not None
            return next(e.fact for e in database.events(session) if isinstance(e.fact, Opened))

    def seen(self) -> tuple[int, bool | None, str]:
        """What the page Boxes shows of the newest files of the box."""
        (box,) = fleet(self.yard.admin)
        assert box.files is not None
        return box.files.version, box.files.taken, box.files.told


@pytest.fixture
def shop(yard: Yard, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Shop:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setattr("companion.store.after_job.send_in_background", lambda options: 0)
    box = yard.box(jobs=0)
    login = yard.login(
        keeping.add_person(yard.admin, "S. Sample", "s.sample", "supervisor", ("North",))
    )
    key = set_password(yard.admin, "s.sample", PASSWORD)
    settings = tmp_path / "settings.yaml"
    (tmp_path / "publishers.pub").write_text(f"# whom this box believes\n{key}  S. Sample\n")
    settings.write_text(
        f"kind: settings\nrecord: {box.record}\nstore: {box.store}\n"
        f"store_password_file: {box.password_file}\npublished_by: publishers.pub\n"
        "technician: A. Example\n"
    )
    return Shop(yard, box, settings, login, key, tmp_path / "data" / "bay-companion" / "published")


def test_from_a_supervisors_folder_to_the_job_that_says_which_version(
    shop: Shop, tmp_path: Path
) -> None:
    told = shop.publish(shop_files(tmp_path / "files"))
    assert "Version 1, 7 files, signed by S. Sample, for bay one." in told
    assert shop.seen() == (1, None, "")
    assert "version 1: taken" in shop.ship()
    assert shop.seen() == (1, True, "")
    assert "Published files" not in shop.ship()
    explained = shop.companion("settings", "--explain", "--settings", shop.settings).output
    assert 'overdue_instruments = "refuse"   (published, version 1)' in explained

    shop.job(*ANSWERS)
    opened = shop.opened()
    assert opened.published == 1
    assert opened.vehicle["wheelbase_mm"] == 2700
    assert opened.file_hashes["vehicle"] == sha256_hex(
        (shop.folder / "000001" / "vehicles" / "grey.yaml").read_bytes()
    )
    assert shop.yard.problems() == []


def test_a_bay_brings_its_stand_to_the_box(shop: Shop, tmp_path: Path) -> None:
    files = shop_files(tmp_path / "files")
    with_named_stand(files, plate_distance_mm=1250)
    assert "Version 1, 8 files" in shop.publish(files)
    assert "version 1: taken" in shop.ship()
    shop.job(*ANSWERS)
    assert shop.opened().bay["stand"]["plate_distance_mm"] == 1250
    assert shop.opened().file_hashes["stand"] == sha256_hex(
        (shop.folder / "000001" / "stands" / "big-one.yaml").read_bytes()
    )
    # The settings name no stand: a bay does.
    (files / "settings.yaml").write_text("kind: settings\nbay_file: stands/big-one.yaml\n")
    assert "is not published" in shop.publish(files, code=3)


def test_a_broken_off_job_goes_on_with_the_version_that_it_began_with(
    shop: Shop, tmp_path: Path
) -> None:
    files = shop_files(tmp_path / "files")
    shop.publish(files)
    shop.ship()
    shop.job(*ANSWERS[:4])
    # The next version also calls the vehicle by another name.
    shop_files(files, wheelbase_mm=2710)
    (files / "vehicles" / "grey.yaml").rename(files / "vehicles" / "blue.yaml")
    change(files / "settings.yaml", "vehicle_file", "vehicle_file: vehicles/blue.yaml")
    shop.publish(files)
    assert "version 2: taken" in shop.ship()
    assert "wheelbase" not in shop.job("stop", "yes", command="resume")
    assert shop.opened().published == 1
    shop.job(*ANSWERS)
    assert (shop.opened().published, shop.opened().vehicle["wheelbase_mm"]) == (2, 2710)
    assert sorted(p.name for p in shop.folder.iterdir()) == ["000001", "000002", kept.NEWEST]


def test_the_boxs_own_settings_hold_and_its_files_go_by_name(shop: Shop, tmp_path: Path) -> None:
    own = tmp_path / "own_vehicle.yaml"
    files = shop_files(tmp_path / "files", wheelbase_mm=2720)
    shutil.copyfile(files / "vehicles" / "grey.yaml", own)
    change(own, "wheelbase_mm", "wheelbase_mm: 2690")
    shop.settings.write_text(shop.settings.read_text() + "vehicle_file: own_vehicle.yaml\n")
    shop.publish(files)
    shop.ship()
    shop.job(*ANSWERS)
    assert (shop.opened().vehicle["wheelbase_mm"], shop.opened().published) == (2690, 1)
    words = ("start", "--settings", shop.settings, "--vehicle", "grey")
    shop.companion(*words, typed=ANSWERS, code=8)
    assert shop.opened().vehicle["wheelbase_mm"] == 2720


def test_nothing_is_taken_while_a_job_is_being_done(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop.publish(shop_files(tmp_path / "files"))
    monkeypatch.setattr("companion.commands.shipping.is_a_job_going_on", lambda record: True)
    assert "version 1: they are taken when this job is over" in shop.ship()
    assert (shop.seen(), kept.newest_version(shop.folder)) == ((1, None, ""), 0)
    monkeypatch.undo()
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    assert "version 1: taken" in shop.ship()


def test_files_with_which_no_job_can_be_done_are_not_published(shop: Shop, tmp_path: Path) -> None:
    files = shop_files(tmp_path / "files")
    change(files / "vehicles" / "grey.yaml", "wheelbase_mm", "wheelbase_mm: 27")
    assert "wheelbase_mm" in shop.publish(files, code=3)
    shop_files(files)
    (files / "notes.txt").write_text("x")
    assert "notes.txt: is not published" in shop.publish(files, code=3)
    (files / "notes.txt").unlink()
    for line, wanted in (
        ("step_kinds: kinds", "is for the box alone to set"),
        ("store: host=/elsewhere", "is for the box alone to set"),
        ("record: /tmp/elsewhere", "is for the box alone to set"),
        ("vehicle_file: ../../../etc/passwd", "is not published"),
        ("bay_file: /etc/hostname", "is not published"),
    ):
        field = line.partition(":")[0]
        text = "\n".join(
            told
            for told in (shop_files(files) / "settings.yaml").read_text().splitlines()
            if not told.startswith(field)
        )
        (files / "settings.yaml").write_text(f"{text}\n{line}\n")
        assert wanted in shop.publish(files, code=3), line
    assert "no box 'bay nine'" in shop.publish(shop_files(files), "--box", "bay nine", code=9)
    (count,) = shop.yard.admin.execute("SELECT count(*) FROM store.publication").fetchone() or (1,)
    assert count == 0


def test_what_a_box_cannot_use_it_refuses_and_says_so(shop: Shop, tmp_path: Path) -> None:
    """The box's own bay does not fit what was published for any box."""
    own = tmp_path / "own_bay.yaml"
    files = shop_files(tmp_path / "files")
    shutil.copyfile(files / "bays" / "one.yaml", own)
    shop.publish(files)
    shop.ship()
    change(own, "plate_distance_mm", "  plate_distance_mm: 2")
    shop.settings.write_text(shop.settings.read_text() + "bay_file: own_bay.yaml\n")
    shop.publish(files)
    assert "version 2, REFUSED" in shop.ship()
    version, taken, told = shop.seen()
    assert (version, taken) == (2, False)
    assert "plate_distance_mm" in told
    word = last_word(shop.box.record)
    assert word is not None
    assert "plate_distance_mm" in word.files_told
    assert kept.newest_version(shop.folder) == 1
    # Put right here, it is taken the next time.
    change(own, "plate_distance_mm", "  plate_distance_mm: 3600")
    assert "version 2: taken" in shop.ship()


HOSTILE = {
    "signed by somebody whom the box does not believe": "does not believe",
    "a byte of a file changed in the store": "is not the one that was signed",
    "a file left out in the store": "is missing",
    "an extra file put in at the store": "was not signed",
    "the manifest changed in the store": "not signed with the key",
    "the signature of another publication": "not signed with the key",
    "given to a box that it was not signed for": "signed for other boxes",
    "an older version given again": "is older than version",
    "an older version under a newer number": "signed as version",
    "nobody is believed": "believes nobody",
}


@pytest.mark.parametrize("attack", HOSTILE)
def test_a_store_that_lies_publishes_nothing_to_a_box(
    shop: Shop, tmp_path: Path, attack: str
) -> None:
    """By somebody who keeps the store and can switch its guards off."""
    files = shop_files(tmp_path / "files")
    admin = shop.yard.admin
    shop.publish(files)
    first = attack.startswith(("an older", "the signature"))
    if first:
        if "signature" not in attack:
            shop.ship()
        shop.publish(shop_files(files, 2710))
        if "signature" not in attack:
            assert "version 2: taken" in shop.ship()
    admin.execute("SET session_replication_role = replica")
    match attack:
        case "signed by somebody whom the box does not believe":
            _sign_anew(admin, Ed25519PrivateKey.generate())
        case "a byte of a file changed in the store":
            admin.execute(
                "UPDATE store.publication_file SET content = convert_to(replace(convert_from("
                "content, 'UTF8'), '2700', '2800'), 'UTF8') WHERE path = 'vehicles/grey.yaml'"
            )
        case "a file left out in the store":
            admin.execute("DELETE FROM store.publication_file WHERE path = 'jobs/front.es.yaml'")
        case "an extra file put in at the store":
            admin.execute(
                "INSERT INTO store.publication_file VALUES (1, 1, 'vehicles/red.yaml', 'kind: x')"
            )
        case "the manifest changed in the store":
            admin.execute(
                "UPDATE store.publication SET manifest = replace(convert_from(manifest, 'UTF8'), "
                "'vehicles/grey', 'vehicles/gray')::bytea"
            )
        case "the signature of another publication":
            admin.execute(
                "UPDATE store.publication SET signature = (SELECT signature FROM store.publication "
                "WHERE version = 1) WHERE version = 2"
            )
        case "given to a box that it was not signed for":
            shop.box = _another_box(shop)
            admin.execute(
                "INSERT INTO store.publication_box (box, version, site) "
                "SELECT max(box), 1, 1 FROM store.box"
            )
        case "an older version given again":
            admin.execute("DELETE FROM store.publication_box WHERE version = 2")
            admin.execute("UPDATE store.publication_box SET taken = NULL WHERE version = 1")
        case "an older version under a newer number":
            admin.execute(
                "UPDATE store.publication SET (manifest, signature) = (SELECT manifest, signature "
                "FROM store.publication WHERE version = 1) WHERE version = 2"
            )
            admin.execute("UPDATE store.publication_box SET taken = NULL")
            shutil.rmtree(shop.folder / "000002")
        case _:
            shop.settings.write_text(
                shop.settings.read_text().replace("published_by: publishers.pub\n", "")
            )
    admin.execute("SET session_replication_role = origin")
    before = kept.newest_version(shop.folder)
    assert HOSTILE[attack] in shop.ship()
    version, taken, told = next(
        (b.files.version, b.files.taken, b.files.told)
        for b in fleet(admin)
        if b.name == shop.box.name and b.files is not None
    )
    assert (taken, HOSTILE[attack] in told) == (False, True)
    assert version >= 1
    assert kept.newest_version(shop.folder) == before


def _sign_anew(admin: psycopg.Connection, key: Ed25519PrivateKey) -> None:
    row = admin.execute("SELECT manifest FROM store.publication").fetchone()
    assert row is not None
    given = signed(Manifest.model_validate_json(bytes(row[0])), key)
    admin.execute(
        "UPDATE store.publication SET public_key = %s, signature = %s",
        (given.public_key, given.signature),
    )


def _another_box(shop: Shop) -> Box:
    """Another box of the shop, whose settings are those of this test from now on."""
    record = shop.yard.folder / "other" / "bay.record"
    record.parent.mkdir()
    work(record, 0)
    other = shop.yard.let_in("bay two", "North", record)
    text = shop.settings.read_text()
    for mine, its in (
        (shop.box.record, other.record),
        (shop.box.store, other.store),
        (shop.box.password_file, other.password_file),
    ):
        text = text.replace(str(mine), str(its))
    shop.settings.write_text(text)
    return other


REFUSED_BY_THE_STORE = (
    "an auditor publishes",
    "a box publishes",
    "for a box of another site",
    "for boxes of two sites",
    "in somebody else's name",
    "with somebody else's key",
    "with files other than those signed",
    "a version that is already there",
    "with a path that leads elsewhere",
    "with a NUL",
)


@pytest.mark.parametrize("attack", REFUSED_BY_THE_STORE)
def test_the_store_takes_no_publication_that_is_not_right(
    shop: Shop, tmp_path: Path, attack: str
) -> None:
    yard = shop.yard
    south = yard.box("south one", "South", jobs=0)
    keys = dict(
        yard.admin.execute(
            "SELECT b.name, encode(k.public_key, 'hex') FROM store.box_key k JOIN store.box b "
            "USING (box)"
        ).fetchall()
    )
    store, file = shop.supervisor
    connection = psycopg.connect(f"{store} passfile={file}", autocommit=True)
    key = unlocked_key(connection, PASSWORD)
    content = b"kind: vehicle\n"
    files = {"vehicles/grey.yaml": content}
    boxes: tuple[str, ...] = (keys["bay one"],)
    version, made_utc, by = 1, "2026-03-02T08:00:00Z", ""
    match attack:
        case "an auditor publishes":
            connection = yard.person("A. Auditor", "auditor")
        case "a box publishes":
            connection = south.connection()
        case "for a box of another site":
            boxes = (keys["south one"],)
        case "for boxes of two sites":
            boxes = (keys["bay one"], keys["south one"])
        case "in somebody else's name":
            by = "T. Other"
        case "with somebody else's key":
            key = Ed25519PrivateKey.generate()
        case "with files other than those signed":
            content = b"kind: bay\n"
        case "a version that is already there":
            version = 7
        case "with a path that leads elsewhere":
            files = {"vehicles/../../x.yaml$": content}
        case _:
            files = {"vehicles/a.yaml": content}
            made_utc = "2026\0"
    manifest = Manifest(
        version=version,
        made_utc=made_utc,
        boxes=boxes,
        files={name: sha256_hex(told) for name, told in files.items()},
    )
    given = signed(manifest, key)
    if by:
        named = canonical_json({**json.loads(manifest.content), "by": by})
        signature = key.sign(f"{manifest.format}\n".encode() + named).hex()
        given = Signed(named, given.public_key, signature)
    with pytest.raises(psycopg.Error) as refused:
        connection.execute(
            "SELECT store.publish(%s, %s, %s, %s)",
            (given.content, given.signature, list(files), [content] * len(files)),
        )
    assert isinstance(
        refused.value, psycopg.errors.InsufficientPrivilege | psycopg.errors.UndefinedFunction
    )
    connection.close()
    assert yard.problems() == []
    row = yard.admin.execute("SELECT count(*) FROM store.publication").fetchone()
    assert row == (0,)


def test_what_was_changed_on_the_box_is_not_begun_with_and_is_fetched_again(
    shop: Shop, tmp_path: Path
) -> None:
    shop.publish(shop_files(tmp_path / "files"))
    shop.ship()
    file = shop.folder / "000001" / "vehicles" / "grey.yaml"
    file.write_text(file.read_text().replace("2700", "2900"))
    told = shop.companion("start", "--settings", shop.settings, code=3).output
    assert "vehicles/grey.yaml is not the one that was signed" in told
    assert "version 1: taken" in shop.ship()
    shop.job(*ANSWERS)
    assert shop.opened().vehicle["wheelbase_mm"] == 2700


def test_a_publishers_name_becomes_a_pseudonym_and_what_they_signed_holds(
    shop: Shop, tmp_path: Path
) -> None:
    shop.publish(shop_files(tmp_path / "files"))
    assert "version 1: taken" in shop.ship()
    admin = shop.yard.admin
    done = replace_name(admin, "S. Sample", for_good=True)
    (name,) = one(admin, "SELECT name FROM store.publication")
    assert name == done.pseudonym
    assert not any("published" in left for left in done.left)
    assert shop.yard.problems() == []
    assert kept.version_kept(shop.folder, 1, [shop.key]).version == 1
    for wrong in ("name = 'T. Other'", "signature = signature || 'x'", "site = 2"):
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            admin.execute(f"UPDATE store.publication SET {wrong}".encode())


def test_what_was_published_with_a_name_in_it_is_believed_as_before(
    shop: Shop, tmp_path: Path
) -> None:
    """As the version before published it, name and all."""
    shop.publish(shop_files(tmp_path / "files"))
    admin = shop.yard.admin
    (content,) = one(admin, "SELECT manifest FROM store.publication")
    key = Ed25519PrivateKey.generate()
    told = {**json.loads(bytes(content)), "format": WITH_NAME, "by": "S. Sample"}
    old = canonical_json(told)
    given = Signed(old, public_hex(key), key.sign(f"{WITH_NAME}\n".encode() + old).hex())
    assert believed(given, [public_hex(key)]).by == "S. Sample"
    for wrong in (
        {**told, "format": "bay-companion published files 2"},
        {name: value for name, value in told.items() if name != "by"},
    ):
        made = canonical_json(wrong)
        for prefix in (WITH_NAME, "bay-companion published files 2"):
            signature = key.sign(f"{prefix}\n".encode() + made).hex()
            with pytest.raises(FileProblem, match="published files: "):
                believed(Signed(made, public_hex(key), signature), [public_hex(key)])


def test_a_supervisor_sees_publications_of_their_sites_alone(shop: Shop, tmp_path: Path) -> None:
    shop.publish(shop_files(tmp_path / "files"))
    other = shop.yard.person("T. Other", "supervisor", "South")
    mine = psycopg.connect(f"{shop.supervisor[0]} passfile={shop.supervisor[1]}", autocommit=True)
    for table in ("publication", "publication_file", "publication_box"):
        query = f"SELECT count(*) > 0 FROM store.{table}".encode()
        assert other.execute(query).fetchone() == (False,)
        assert mine.execute(query).fetchone() == (True,)
        for statement in ("UPDATE store.{} SET site = 2", "DELETE FROM store.{}"):
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                mine.execute(statement.format(table).encode())
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                shop.yard.admin.execute(statement.format(table).encode())
    name, manifest = one(mine, "SELECT name, manifest FROM store.publication")
    assert (name, b"Sample" in bytes(manifest)) == ("S. Sample", False)
    other.close()
    mine.close()

"""What the store's commands print in Spanish has no sentence but those of the language's files."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner

from companion.cli import main
from tests.review.test_language_of_the_terminal import home, phrases, unmasked, without_hashes
from tests.store.cluster import Cluster
from tests.store.yard import work

__all__ = ["home"]


def test_the_store(cluster: Cluster, tmp_path: Path) -> None:
    name = cluster.make_database("en_espanol")
    keeper = ("--store", cluster.address(name))
    path = tmp_path / "caja" / "bay.record"
    path.parent.mkdir()
    work(path, jobs=2)
    steps = CliRunner().invoke(main, ["store", "init", *keeper]).output
    assert unmasked("store", "init", *keeper, known=steps) == set()
    login = tmp_path / "caja.pass"
    key = ("--key", path.parent / "box.key.pub")
    added = ("store", "add-box", "Uno", "--site", "Norte", *key, "--out", login, *keeper)
    assert without_hashes(unmasked(*added)) <= {"box"}
    assert unmasked(*added, code=1) == set()
    role = login.read_text().split(":")[3]
    box = ("--record", path, "--store", cluster.address(name, role), "--password-file", login)
    assert unmasked("ship", "--check", *box, known="Uno") == set()
    assert unmasked("ship", *box, known="Uno") == set()
    assert unmasked("store", "list", *keeper, known="Uno Norte dev post") == set()
    person = ("store", "add-supervisor", "b.sample", "--site", "Norte", *keeper)
    assert without_hashes(unmasked(*person, "--out", tmp_path / "b")) <= {"person", "sample"}
    assert unmasked("store", "set-password", "b.sample", *keeper, typed="x\nx\n", code=9) == set()
    long = "cinco palabras que son largas"
    asked = ("store", "set-password", "b.sample", *keeper)
    assert without_hashes(unmasked(*asked, typed=f"{long}\n{long}\n")) == set()
    assert unmasked("store", "index", *keeper) == set()
    left = without_hashes(unmasked("store", "seal", *keeper))
    assert left <= phrases() | {"bits"}
    assert unmasked("store", "verify", *keeper, known="seal root") == set()
    witnessed = unmasked("verify", *box, known="Uno key box")
    assert without_hashes(witnessed) == set()
    cluster.drop_database(name)

"""The commands as a keeper and a box use them, from an empty database to a fork that is told."""

from __future__ import annotations

import shutil
import stat
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.cli import main
from companion.record.store_word import last_word
from tests.store.cluster import Cluster
from tests.store.yard import work


@pytest.fixture(autouse=True)
def _no_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "no-settings"))


def _run(*words: object, code: int = 0) -> Result:
    done = CliRunner().invoke(main, list(map(str, words)))
    assert done.exit_code == code, (words, done.output)
    return done


def _role(file: Path) -> str:
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    return file.read_text().split(":")[3]


def test_from_an_empty_database_to_a_fork_that_is_told(cluster: Cluster, tmp_path: Path) -> None:
    name = cluster.make_database("by_commands")
    keeper = ("--store", cluster.address(name))
    record = tmp_path / "box" / "bay.record"
    record.parent.mkdir()
    work(record, jobs=2)
    assert "up to date" in _run("store", "init", *keeper).output
    assert "up to date" in _run("store", "migrate", *keeper).output
    login = tmp_path / "box.pass"
    add = ("store", "add-box", "Bay one", "--site", "North", "--key", record.parent / "box.key.pub")
    _run(*add, "--out", login, *keeper)
    _run(*add, "--out", login, *keeper, code=1)
    told = _run(*add, "--out", tmp_path / "again.pass", *keeper, code=9)
    assert "already" in told.output
    assert not (tmp_path / "again.pass").exists()

    box = ("--record", record, "--store", cluster.address(name, _role(login)))
    box = (*box, "--password-file", login)
    assert "12 events of 2 jobs would go" in _run("ship", "--check", *box).output
    assert "12 events sent" in _run("ship", *box).output
    assert "0 events sent" in _run("ship", *box).output
    assert "up to mark 9" in _run("verify", *box).output
    listed = _run("store", "list", *keeper).output
    assert "North, Bay one: seen" in listed
    assert "outbox 0" in listed

    seal = tmp_path / "monday.seal"
    assert "Phrase" in _run("store", "seal", "--out", seal, *keeper).output
    auditor = tmp_path / "auditor.pass"
    _run("store", "add-auditor", "A. Auditor", "--out", auditor, *keeper)
    sees = ("--store", cluster.address(name, _role(auditor)), "--password-file", auditor)
    assert "In order" in _run("store", "verify", "--seal", seal, *sees).output
    by_auditor = ("verify", "--record", record, "--box", "Bay one")
    assert "The store knows the box" in _run(*by_auditor, *sees).output
    _run("store", "add-auditor", "B", "--site", "North", "--out", tmp_path / "b", *keeper, code=2)

    older = tmp_path / "older"
    shutil.copytree(record.parent, older)
    work(record, first=3)
    _run("ship", *box)
    shutil.copytree(older, record.parent, dirs_exist_ok=True)
    assert "older file" in _run("ship", *box, code=9).output
    word = last_word(record)
    assert word is not None
    assert word.refused
    assert "older file" in word.told
    assert "Broken." in _run("verify", *box, code=7).output
    assert "NOT TAKEN" in _run("store", "list", *keeper).output
    assert "Not in order" in _run("store", "verify", *keeper, code=9).output
    _run("store", "retire-box", "Bay one", *keeper)
    _run("ship", *box, code=9)
    cluster.drop_database(name)


def test_without_a_store_it_is_said_what_to_give() -> None:
    assert "--store" in _run("ship", code=9).output


def test_a_store_that_is_not_reached_loses_nothing(tmp_path: Path) -> None:
    record = tmp_path / "bay.record"
    work(record)
    nowhere = f"host={tmp_path} dbname=s user=b"
    told = _run("ship", "--record", record, "--store", nowhere, code=9)
    assert "cannot be reached" in told.output
    word = last_word(record)
    assert word is not None
    assert not word.refused

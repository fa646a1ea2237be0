"""Looking at a record that is being written takes none of the writer's locks away.

A program that closes any descriptor of a file lets go of all the locks it holds on it (fcntl(2)),
so a look at a file by hand would end the locks of SQLite's connections beside it. The kernel's own
list of locks (proc(5), `/proc/locks`) says which are held.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from companion.archive import changes
from companion.archive.index_check import index_problems
from companion.archive.opening import Archive, open_archive
from companion.browse.app import make_app
from companion.record import (
    ClipStore,
    Database,
    Entry,
    SqliteLog,
    clips_folder,
    open_for_reading,
    open_record,
    verify,
)
from companion.record.backup import back_up
from companion.record.left_over import clips_named_beside
from companion.record.lock import is_locked
from companion.report.report import read_session
from companion.statistics.figures_check import figures_problems, open_summaries

Held = frozenset[tuple[str, ...]]
KERNELS_LIST = Path("/proc/locks")

pytestmark = pytest.mark.skipif(not KERNELS_LIST.exists(), reason="wanted: /proc/locks")


def held(folder: Path) -> Held:
    """Name, kind and range of each lock that this process holds on a file of the folder."""
    names = {
        f"{os.major(found.st_dev):02x}:{os.minor(found.st_dev):02x}:{found.st_ino}": path.name
        for path in folder.iterdir()
        for found in [path.stat()]
    }
    rows = [line.split() for line in KERNELS_LIST.read_text("ascii").splitlines()]
    return frozenset(
        (names[row[5]], *row[1:4], *row[6:])
        for row in rows
        if row[4] == str(os.getpid()) and row[5] in names
    )


@pytest.fixture
def written(tmp_path: Path) -> Iterator[Database]:
    (tmp_path / "bay").mkdir()
    with open_record(tmp_path / "bay" / "bay.record") as database:
        SqliteLog(database, database.create_session()).append([Entry("said", {"text": "x"})])
        yield database


@pytest.fixture
def looked_at(written: Database) -> Iterator[Archive]:
    """The record's index and its statistics are open as well."""
    with open_archive(written.path) as archive, open_summaries(archive):
        yield archive


def listed(path: Path) -> None:
    with open_archive(path):
        pass


def counted(path: Path) -> None:
    with open_archive(path) as archive, open_summaries(archive):
        pass


def shown(path: Path) -> None:
    client = TestClient(make_app(path), base_url="http://127.0.0.1")
    for address in ("/", "/", "/statistics", "/search?words=x"):
        client.get(address)


def reported(path: Path) -> None:
    with open_archive(path) as archive:
        (session,) = archive.record.sessions()
    read_session(path, session.session_id, ClipStore(clips_folder(path)))


def told_apart(path: Path) -> None:
    with open_for_reading(path) as record:
        assert changes.fingerprint(record)


LOOKS: dict[str, Callable[[Path], object]] = {
    "a list": listed,
    "statistics": counted,
    "pages": shown,
    "a report": reported,
    "whether it changed": told_apart,
    "whether it is being written": is_locked,
    "the clips of other records": clips_named_beside,
    "verify": verify,
    "its index": index_problems,
    "its figures": figures_problems,
    "a backup": lambda path: back_up(path, path.with_name("copy.record")),
}


@pytest.mark.parametrize("look", LOOKS)
def test_locks_are_held_on_behind_it(
    look: str, looked_at: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Or a record written just now is not looked at in the way that one written earlier is.
    monkeypatch.setattr(changes, "SETTLED_AFTER_S", -1.0)
    folder = looked_at.path.parent
    before = held(folder)
    names = {name for name, *_ in before}
    assert {"bay.record", "bay.record-shm", "bay.record.index", "bay.record.index-shm"} <= names
    LOOKS[look](looked_at.path)
    assert before <= held(folder)

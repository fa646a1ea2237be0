"""A box takes the files that were published to it: the newest version, looked at, or refused.

The box believes the keys that somebody brought to it by hand, and not the store. What it refuses it
tells the store, and asks again the next time: what was wrong may have been put right here.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from psycopg import Connection

from companion.errors import CompanionError, FileProblem
from companion.published import kept
from companion.published.manifest import Manifest, Signed, believed, require_files
from companion.store.connecting import connected

Became = Literal["nothing", "taken", "waits", "refused"]


@dataclass(frozen=True)
class Answer:
    """What became of the newest version for this box; `told` says why it was refused."""

    became: Became
    version: int = 0
    told: str = ""


@dataclass(frozen=True)
class OfBox:
    """What a box looks at publications with.

    `keys`: whom it believes; None where that is not set. `public_key`: its own. `check` raises
    `CompanionError` for files in a folder with which no job can be done here. `is_busy`: whether a
    job is being done.
    """

    folder: Path
    keys: Callable[[], tuple[str, ...]] | None
    public_key: Callable[[], str]
    check: Callable[[Path, Manifest], None]
    is_busy: Callable[[], bool]


def take_published(box: OfBox, store: str, password_file: Path | None = None) -> Answer:
    """The newest version that was published to this box, by the box's login.

    Raises `StoreError`; and `OSError` where it cannot be written.
    """
    with connected(store, password_file) as connection:
        return take(box, connection)


def take(box: OfBox, connection: Connection) -> Answer:
    """The same by a connection that is there."""
    row = connection.execute("SELECT * FROM store.published_for_my_box()").fetchone()
    if row is None:
        return Answer("nothing")
    version, content, public_key, signature, was_taken, _ = row
    given = Signed(bytes(content), public_key, signature)
    try:
        if was_taken and _is_whole(box, version):
            return Answer("nothing", version)
        manifest = _believed(box, given, version)
        files = {
            str(path): bytes(told)
            for path, told in connection.execute(
                "SELECT * FROM store.published_files(%s)", (version,)
            ).fetchall()
        }
        require_files(manifest, files)
        if box.is_busy():
            return Answer("waits", version)
        place = kept.write(box.folder, given, files, version)
        try:
            box.check(place, manifest)
        except CompanionError as error:
            shutil.rmtree(place)
            raise FileProblem(str(error).replace(f"{place}/", "")) from error
        kept.make_newest(box.folder, version)
    except CompanionError as error:
        connection.execute("SELECT store.answer_published(%s, false, %s)", (version, str(error)))
        return Answer("refused", version, str(error))
    connection.execute("SELECT store.answer_published(%s, true, '')", (version,))
    return Answer("taken", version)


def _is_whole(box: OfBox, version: int) -> bool:
    """Whether it is the newest here, too, and nobody changed it since."""
    if box.keys is None:
        return True
    try:
        newest = kept.newest(box.folder, box.keys())
    except FileProblem:
        return False
    return newest is not None and newest.version == version


def _believed(box: OfBox, given: Signed, version: int) -> Manifest:
    if box.keys is None:
        raise FileProblem(
            "this box believes nobody who publishes; wanted: the setting 'published_by', a file "
            "with the publisher's public key"
        )
    manifest = believed(given, box.keys())
    if manifest.version != version:
        raise FileProblem(
            f"signed as version {manifest.version}, and the store calls it {version}; publish it "
            "anew"
        )
    if box.public_key() not in manifest.boxes:
        raise FileProblem("signed for other boxes than this one; publish it for this one")
    try:
        before = kept.newest_version(box.folder)
    except FileProblem:
        before = 0
    if version < before:
        raise FileProblem(
            f"version {version} is older than version {before}, which this box has; publish it anew"
        )
    return manifest

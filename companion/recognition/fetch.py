"""Fetching a Vosk model when the person asks for it: checked, unpacked safely, all or nothing.

A model is taken only with its SHA-256. That of the small English model is pinned here; for any
other archive the person gives it, from a source that he trusts.
"""

from __future__ import annotations

import hashlib
import shutil
import stat
import tempfile
import urllib.request
import zipfile
from pathlib import Path, PurePosixPath
from typing import BinaryIO
from urllib.error import URLError
from urllib.parse import urlsplit

from companion.errors import EarsError

SMALL_ENGLISH_MODEL_URL = "https://alphacephei.com/vosk/models/vosk-model-small-en-us-0.15.zip"
# As the build recipes of several independent distributions pin it (41,205,931 bytes, Apache-2.0).
SMALL_ENGLISH_MODEL_SHA256 = "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498"

MOST_DOWNLOADED_BYTES = 500_000_000
MOST_UNPACKED_BYTES = 2_000_000_000
MOST_FILES = 2_000
_CHUNK_BYTES = 1 << 20
_TIMEOUT_S = 60.0
_SHA256_DIGITS = 64


def fetch_ears(
    destination: Path,
    sha256: str = SMALL_ENGLISH_MODEL_SHA256,
    url: str = SMALL_ENGLISH_MODEL_URL,
    from_file: Path | None = None,
) -> Path:
    """Put the model of a ZIP file at `destination`, a folder that must not exist yet.

    The ZIP comes from `url` (https only), or from `from_file` without any network. It must have
    the SHA-256 `sha256` (64 hexadecimal digits). A single folder around the whole model is taken
    off. Returns `destination`; raises `EarsError`, and then leaves nothing behind.
    """
    wanted = sha256.strip().lower()
    if len(wanted) != _SHA256_DIGITS or set(wanted) - set("0123456789abcdef"):
        raise EarsError(
            f"the SHA-256 {sha256!r} is not one; wanted {_SHA256_DIGITS} hexadecimal digits"
        )
    if destination.exists():
        raise EarsError(f"{destination}: already there; wanted a folder that does not exist yet")
    try:
        destination.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=".fetch-", dir=destination.parent) as name:
            work = Path(name)
            archive = work / "model.zip"
            if from_file is None:
                _download(url, archive)
            else:
                _copy_file(from_file, archive)
            _check_hash(archive, wanted, url if from_file is None else str(from_file))
            model = _unpack(archive, work / "model")
            model.rename(destination)
    except OSError as error:
        raise EarsError(f"{destination}: the model cannot be put there ({error})") from error
    return destination


def _download(url: str, target: Path) -> None:
    if urlsplit(url).scheme != "https":
        raise EarsError(f"{url}: wanted an https address")
    try:
        # The scheme is checked above: no local files through here.
        with urllib.request.urlopen(url, timeout=_TIMEOUT_S) as response:  # noqa: S310
            _copy_limited(response, target, url)
    except (URLError, TimeoutError) as error:
        raise EarsError(f"{url}: cannot be fetched ({error}); try again or use a file") from error


def _copy_file(source: Path, target: Path) -> None:
    if not source.is_file():
        raise EarsError(f"{source}: there is no such file; wanted the ZIP file of a model")
    with source.open("rb") as stream:
        _copy_limited(stream, target, str(source))


def _copy_limited(source: BinaryIO, target: Path, where: str) -> None:
    copied = 0
    with target.open("wb") as stream:
        while chunk := source.read(_CHUNK_BYTES):
            copied += len(chunk)
            if copied > MOST_DOWNLOADED_BYTES:
                raise EarsError(f"{where}: larger than {MOST_DOWNLOADED_BYTES} bytes; giving up")
            stream.write(chunk)


def _check_hash(archive: Path, wanted: str, where: str) -> None:
    with archive.open("rb") as stream:
        found = hashlib.file_digest(stream, "sha256").hexdigest()
    if found != wanted:
        raise EarsError(f"{where}: its SHA-256 is {found}; wanted {wanted}")


def _unpack(archive: Path, folder: Path) -> Path:
    """Unpack into `folder`; the folder that holds the model itself comes back."""
    folder.mkdir()
    try:
        with zipfile.ZipFile(archive) as packed:
            members = [member for member in packed.infolist() if not member.is_dir()]
            _check_members(members)
            for member in members:
                _unpack_one(packed, member, folder)
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError) as error:
        raise EarsError(f"the model's archive cannot be read as a ZIP file ({error})") from error
    entries = list(folder.iterdir())
    return entries[0] if len(entries) == 1 and entries[0].is_dir() else folder


def _check_members(members: list[zipfile.ZipInfo]) -> None:
    if not members:
        raise EarsError("the model's archive is empty")
    if len(members) > MOST_FILES:
        raise EarsError(f"the model's archive holds {len(members)} files; at most {MOST_FILES}")
    size = sum(member.file_size for member in members)
    if size > MOST_UNPACKED_BYTES:
        raise EarsError(
            f"the model's archive unpacks to {size} bytes; at most {MOST_UNPACKED_BYTES}"
        )
    for member in members:
        path = PurePosixPath(member.filename)
        outside = path.is_absolute() or ".." in path.parts or "\\" in member.filename
        link = stat.S_ISLNK(member.external_attr >> 16)
        if outside or link or ":" in member.filename:
            raise EarsError(
                f"the model's archive holds {member.filename!r}, which would land outside its "
                "folder; wanted plain files in folders"
            )


def _unpack_one(packed: zipfile.ZipFile, member: zipfile.ZipInfo, folder: Path) -> None:
    """The declared sizes were checked; ZipFile reads no more than the declared size."""
    target = folder.joinpath(*PurePosixPath(member.filename).parts)
    target.parent.mkdir(parents=True, exist_ok=True)
    with packed.open(member) as source, target.open("wb") as stream:
        shutil.copyfileobj(source, stream, _CHUNK_BYTES)

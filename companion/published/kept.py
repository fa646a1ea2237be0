"""What a box keeps of publications: each version in a folder of its own, and which is the newest.

A version is written beside the others, whole or not at all, and then becomes the newest. The older
ones stay: a job that was broken off goes on with the version that it began with.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from companion.errors import FileProblem
from companion.job.loader import JobPaths
from companion.published.manifest import (
    FOLDERS,
    MOST_BYTES,
    OF_A_JOB,
    Manifest,
    Signed,
    believed,
    require_files,
)
from companion.record.durable import make_folder, read_plain, sync_folder, write_new, write_whole
from companion.record.place import RIGHTS, record_path

NEWEST, MANIFEST, SIGNATURE = "newest.json", "manifest.json", "signature.json"
_VERSION = re.compile(r"\d{6,10}")
_RIGHTS = 0o750


@dataclass(frozen=True)
class Published:
    """One version as this box keeps it, looked at: every file is the one that was signed."""

    folder: Path
    manifest: Manifest

    @property
    def version(self) -> int:
        """Its number."""
        return self.manifest.version

    def find(self, kind: str, name: str) -> Path | None:
        """The file of this kind by its name without the ending."""
        told = f"{FOLDERS[kind]}/{name.casefold()}.yaml"
        return self.folder / told if told in self.manifest.files else None

    def files_of(self, kind: str) -> tuple[Path, ...]:
        """The files of this kind, by name."""
        names = sorted(n for n in self.manifest.files if n.startswith(f"{FOLDERS[kind]}/"))
        return tuple(self.folder / name for name in names)


def published_folder() -> Path:
    """Where they are kept (the XDG data folder)."""
    return record_path().parent / "published"


def keys_of(path: Path) -> tuple[str, ...]:
    """The public keys that a box believes: 64 hexadecimal digits a line, and words behind them."""
    try:
        content = read_plain(path, MOST_BYTES)
    except OSError as error:
        raise FileProblem(f"{path}: cannot be read ({error.strerror})") from error
    lines = (content or b"").decode("ascii", "replace").splitlines()
    told = [line.split()[0].lower() for line in lines if line.strip() and line.strip()[0] != "#"]
    wrong = [word for word in told if not re.fullmatch(r"[0-9a-f]{64}", word)]
    if wrong or not told:
        raise FileProblem(
            f"{path}: {f'{wrong[0][:20]!r} is no key' if wrong else 'holds no key'}; wanted: "
            "public keys of 64 hexadecimal digits, one a line, as 'companion store set-password' "
            "tells them"
        )
    return tuple(told)


def newest_version(folder: Path) -> int:
    """The version that was taken last; 0 where none was."""
    try:
        content = read_plain(folder / NEWEST, MOST_BYTES)
        version = json.loads(content or b"")["version"]
    except FileNotFoundError:
        return 0
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise FileProblem(
            f"{folder / NEWEST}: does not say which version is the newest; "
            "'companion ship' puts it right"
        ) from error
    return version if isinstance(version, int) and version > 0 else 0


def newest(folder: Path, keys: Iterable[str]) -> Published | None:
    """The newest version, looked at again; None where there is none.

    Raises FileProblem where a file of it is missing or was changed, or its signer is believed no
    more.
    """
    version = newest_version(folder)
    return None if version == 0 else version_kept(folder, version, keys)


def version_kept(folder: Path, version: int, keys: Iterable[str]) -> Published:
    """One version, looked at; raises FileProblem as `newest` does."""
    place = folder / f"{version:06d}"
    try:
        content = read_plain(place / MANIFEST, MOST_BYTES) or b""
        told = json.loads(read_plain(place / SIGNATURE, MOST_BYTES) or b"")
        manifest = believed(Signed(content, str(told["key"]), str(told["signature"])), keys)
        files = {name: read_plain(place / name, MOST_BYTES) or b"" for name in manifest.files}
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise FileProblem(
            f"{place}: the published files are not whole; 'companion ship' fetches them again"
        ) from error
    if manifest.version != version:
        raise FileProblem(f"{place}: holds version {manifest.version}; 'companion ship' mends it")
    require_files(manifest, files)
    return Published(place, manifest)


def write(folder: Path, given: Signed, files: Mapping[str, bytes], version: int) -> Path:
    """Write a version beside the others, whole or not at all; it is not the newest by that.

    `given` and `files` were looked at. Raises `OSError`.
    """
    make_folder(folder, _RIGHTS)
    place = folder / f"{version:06d}"
    scratch = Path(tempfile.mkdtemp(dir=folder, prefix=".new-"))
    try:
        os.chmod(scratch, _RIGHTS)
        for within in {Path(name).parent for name in files} - {Path()}:
            make_folder(scratch / within, _RIGHTS)
        for name, content in files.items():
            write_new(scratch / name, content, RIGHTS)
        write_new(scratch / MANIFEST, given.content, RIGHTS)
        signature = {"key": given.public_key, "signature": given.signature}
        write_new(scratch / SIGNATURE, json.dumps(signature).encode(), RIGHTS)
        if place.exists():
            # Left by a run that was cut off, or damaged since: it never was the newest, or is no
            # longer whole.
            shutil.rmtree(place)
        os.rename(scratch, place)
        sync_folder(folder)
    except BaseException:
        shutil.rmtree(scratch, ignore_errors=True)
        raise
    return place


def make_newest(folder: Path, version: int) -> None:
    """Have jobs begin with this version from now on; raises `OSError`."""
    write_whole(folder / NEWEST, (json.dumps({"version": version}) + "\n").encode(), RIGHTS)


def version_of(paths: JobPaths, folder: Path | None = None) -> int:
    """The published version that files of a job come from; 0 where none of them does."""
    return max((_version(path, folder) for path in _files(paths).values()), default=0)


def as_of(
    paths: JobPaths, version: int, said: Mapping[str, Path], folder: Path | None = None
) -> JobPaths:
    """The published ones of these files in another version: that of a job that goes on.

    `said`: what the settings of that version name. Files of the box's own stay.
    """
    place = (folder or published_folder()).absolute()
    moved = {}
    for name, path in _files(paths).items():
        if _version(path, folder) == 0:
            continue
        within = Path(*path.absolute().relative_to(place).parts[1:])
        moved[name] = said.get(name, place / f"{version:06d}" / within)
    return replace(paths, **{name: path for name, path in moved.items() if path.exists()})


def _files(paths: JobPaths) -> dict[str, Path]:
    found = {name: getattr(paths, name) for name in OF_A_JOB}
    return {name: path for name, path in found.items() if path is not None}


def _version(path: Path, folder: Path | None) -> int:
    place = (folder or published_folder()).absolute()
    try:
        first = path.absolute().relative_to(place).parts[0]
    except (ValueError, IndexError):
        return 0
    return int(first) if _VERSION.fullmatch(first) else 0

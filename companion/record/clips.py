"""Sound clips as FLAC files, each named by the SHA-256 of its file."""

from __future__ import annotations

import contextlib
import errno
import io
import os
import re
import stat
from dataclasses import dataclass
from pathlib import Path

from companion.errors import DiskFull, RecordError
from companion.record.canonical import sha256_hex
from companion.record.durable import (
    make_folder,
    read_kept,
    require_readable,
    sync_folder,
    write_whole,
)
from companion.record.place import RIGHTS

SAMPLE_RATE_HZ = 16_000
MOST_BYTES = 16_000_000
"""Of one clip: eight minutes of 16 kHz sound that cannot be packed at all."""
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
_FOLDERS_RIGHTS = 0o750
_NAME = re.compile(r"[0-9a-f]{64}")
_CLIP = re.compile(r"([0-9a-f]{64})\.flac")
# What is half written is named by `durable.write_whole`, earlier ones began with ".clip-".
_REMNANT = re.compile(r"\.clip-[^/]+|\.[0-9a-f]{8}-[^/]+|\.[0-9a-f]{64}\.flac\.part")


def clips_folder(record_path: Path) -> Path:
    """The folder of clips that belongs to a record file: `clips`, beside it."""
    return record_path.with_name("clips")


@dataclass(frozen=True)
class Lying:
    """What lies in a folder of clips, by name: clips, remnants of half-written ones, and others."""

    clips: frozenset[str]
    remnants: frozenset[str]
    others: frozenset[str]


class ClipStore:
    """A folder of clips. A clip is on the disk, synced, before `put` returns."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def put(self, sound: bytes) -> str:
        """Keep a clip (16 kHz mono, signed 16-bit little-endian) and return its SHA-256.

        Raises `RecordError` for sound that is empty or cut within a sample, and when the
        file cannot be written; then no half-written clip is left under its name.
        """
        if not sound or len(sound) % 2:
            raise RecordError(
                f"a clip of {len(sound)} bytes is not 16-bit sound; want one whole sample or more"
            )
        content = _flac(sound)
        sha256 = sha256_hex(content)
        if not self.is_whole(sha256):
            self._write(self.folder / f"{sha256}.flac", content)
        return sha256

    def get(self, sha256: str) -> Path:
        """The clip's file; raises `RecordError` when the name is no hash or the file is gone."""
        if _NAME.fullmatch(sha256) is None:
            raise RecordError(f"{sha256!r} is not the name of a clip; want 64 hexadecimal digits")
        path = self.folder / f"{sha256}.flac"
        if not _is_plain_file(path):
            raise RecordError(f"{path}: the clip is gone; restore it from a backup of the folder")
        return path

    def read(self, sha256: str) -> bytes:
        """The clip's content, whatever it is; raises `RecordError` as `get` does.

        Also for a link, and for a file that is larger than any clip: neither is read.
        """
        return read_kept(self.get(sha256), MOST_BYTES, "a clip")

    def holds(self, sha256: str) -> bool:
        """Whether a clip of that name is there (its content is checked by `verify`)."""
        return _NAME.fullmatch(sha256) is not None and _is_plain_file(
            self.folder / f"{sha256}.flac"
        )

    def lying(self) -> Lying:
        """Everything in the folder; nothing where there is none.

        Raises `RecordError` for what cannot be looked through.
        """
        self.require_readable()
        clips, remnants, others = set(), set(), set()
        with contextlib.suppress(FileNotFoundError), os.scandir(self.folder) as found:
            for entry in found:
                clip = _CLIP.fullmatch(entry.name)
                if clip is not None and entry.is_file(follow_symlinks=False):
                    clips.add(clip[1])
                elif _REMNANT.fullmatch(entry.name):
                    remnants.add(entry.name)
                else:
                    others.add(entry.name)
        return Lying(frozenset(clips), frozenset(remnants), frozenset(others))

    def require_readable(self) -> None:
        """Raise `RecordError` where the folder is none, or closed: its clips would seem gone."""
        require_readable(self.folder, "clips")

    def remove(self, sha256: str) -> None:
        """Delete the clip's file; raises `RecordError` when it is gone or cannot be deleted."""
        self._delete(self.get(sha256))

    def remove_remnant(self, name: str) -> None:
        """Delete what a half-written clip left; raises `RecordError` where that cannot be done."""
        if _REMNANT.fullmatch(name) is None:
            raise RecordError(f"{name!r} is not what a half-written clip leaves")
        self._delete(self.folder / name)

    def _delete(self, path: Path) -> None:
        if self.folder.is_symlink():
            raise RecordError(
                f"{self.folder}: is a link to another place, where nothing is deleted; wanted: the "
                "folder itself"
            )
        try:
            path.unlink()
            sync_folder(self.folder)
        except OSError as error:
            raise RecordError(f"{path}: the clip cannot be deleted ({error.strerror})") from error

    def is_whole(self, sha256: str) -> bool:
        """Whether a clip of that name is there, as it was kept."""
        try:
            return sha256_hex(self.read(sha256)) == sha256
        except RecordError:
            return False

    def _write(self, target: Path, content: bytes) -> None:
        try:
            make_folder(self.folder, _FOLDERS_RIGHTS)
            write_whole(target, content, RIGHTS)
        except OSError as error:
            kind = DiskFull if error.errno in _NO_ROOM else RecordError
            raise kind(
                f"{target}: the clip cannot be written ({error.strerror}); "
                "free some disk space or choose another folder"
            ) from error


def _is_plain_file(path: Path) -> bool:
    try:
        return stat.S_ISREG(os.stat(path, follow_symlinks=False).st_mode)
    except OSError:
        return False


def _flac(sound: bytes) -> bytes:
    # Most commands only look clips up, and do without the libraries for sound.
    import numpy as np
    import soundfile

    encoded = io.BytesIO()
    samples = np.frombuffer(sound, dtype="<i2")
    soundfile.write(encoded, samples, SAMPLE_RATE_HZ, format="FLAC", subtype="PCM_16")
    return encoded.getvalue()

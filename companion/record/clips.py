"""Sound clips as FLAC files, each named by the SHA-256 of its file."""

from __future__ import annotations

import errno
import io
import re
from pathlib import Path

from companion.errors import DiskFull, RecordError
from companion.record.canonical import sha256_hex
from companion.record.durable import make_folder, sync_folder, write_whole
from companion.record.place import RIGHTS

SAMPLE_RATE_HZ = 16_000
_NO_ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
_FOLDERS_RIGHTS = 0o750
_NAME = re.compile(r"[0-9a-f]{64}")


def clips_folder(record_path: Path) -> Path:
    """The folder of clips that belongs to a record file: `clips`, beside it."""
    return record_path.with_name("clips")


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
        target = self.folder / f"{sha256}.flac"
        if not self._is_whole(target, sha256):
            self._write(target, content)
        return sha256

    def get(self, sha256: str) -> Path:
        """The clip's file; raises `RecordError` when the name is no hash or the file is gone."""
        if _NAME.fullmatch(sha256) is None:
            raise RecordError(f"{sha256!r} is not the name of a clip; want 64 hexadecimal digits")
        path = self.folder / f"{sha256}.flac"
        if not path.is_file():
            raise RecordError(f"{path}: the clip is gone; restore it from a backup of the folder")
        return path

    def holds(self, sha256: str) -> bool:
        """Whether a clip of that name is there (its content is checked by `verify`)."""
        return _NAME.fullmatch(sha256) is not None and (self.folder / f"{sha256}.flac").is_file()

    def remove(self, sha256: str) -> None:
        """Delete the clip's file; raises `RecordError` when it is gone or cannot be deleted."""
        path = self.get(sha256)
        try:
            path.unlink()
            sync_folder(self.folder)
        except OSError as error:
            raise RecordError(f"{path}: the clip cannot be deleted ({error.strerror})") from error

    def _is_whole(self, path: Path, sha256: str) -> bool:
        try:
            return sha256_hex(path.read_bytes()) == sha256
        except OSError:
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


def _flac(sound: bytes) -> bytes:
    # Most commands only look clips up, and do without the libraries for sound.
    import numpy as np
    import soundfile

    encoded = io.BytesIO()
    samples = np.frombuffer(sound, dtype="<i2")
    soundfile.write(encoded, samples, SAMPLE_RATE_HZ, format="FLAC", subtype="PCM_16")
    return encoded.getvalue()

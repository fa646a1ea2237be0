"""The kept sounds of one voice: a folder, in which each is named by the hash of its file.

Beside a sound that was kept while nothing vouched for the computer's date lies an empty file, its
mark: how old that sound is was not known when it was kept.
"""

from __future__ import annotations

import os
import re
import time
from collections.abc import Iterable
from pathlib import Path

from companion.recognition.voices.refusals import undeletable, unreadable, unwritable
from companion.record.clips import ClipStore, Lying
from companion.record.clock import SystemClock
from companion.record.durable import make_folder, write_whole
from companion.record.left_over import AT_WORK_S

_FOLDERS_RIGHTS, _RIGHTS = 0o700, 0o600
_MARK = re.compile(r"([0-9a-f]{64})\.undated")


class Sounds:
    """The folder of them, which need not be there."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._clips = ClipStore(folder)

    def file(self, sha256: str) -> Path:
        """Where a sound lies."""
        return self.folder / f"{sha256}.flac"

    def put(self, sound: bytes) -> str:
        """Keep a sound; its hash. Raises `RecordError` or `EarsError` where that cannot be done."""
        try:
            make_folder(self.folder, _FOLDERS_RIGHTS)
            name = self._clips.put(sound)
            os.chmod(self.file(name), _RIGHTS)
            # Its take is kept after this: without a mark there is no take either.
            if not SystemClock().now().trusted:
                write_whole(self._mark(name), b"", _RIGHTS)
        except OSError as error:
            raise unwritable(self.folder, error) from error
        return name

    def undated(self) -> frozenset[str]:
        """The sounds that were kept while nothing vouched for the date."""
        return _marked(self._lying())

    def dated(self, sounds: Iterable[str]) -> None:
        """These have a date from now on."""
        for sha256 in sounds:
            delete(self._mark(sha256))

    def keep_only(self, wanted: Iterable[str]) -> int:
        """Delete every sound but these; how many there were."""
        return self.remove(self._lying().clips - frozenset(wanted))

    def remove(self, sounds: Iterable[str]) -> int:
        """Delete these where they are there; how many there were."""
        return self._delete([sha256 for sha256 in sounds if self._clips.holds(sha256)])

    def sweep(self, wanted: Iterable[str]) -> int:
        """Delete what a cut left: sounds but these, and half-written ones; how many sounds.

        What may be on its way into a take now stays. Raises `CompanionError`.
        """
        lying = self._lying()
        for name in lying.remnants:
            if not at_work(self.folder / name):
                self._clips.remove_remnant(name)
        orphans = lying.clips - frozenset(wanted)
        gone = self._delete(each for each in orphans if not at_work(self.file(each)))
        # Only now: a cut may have left the mark of a sound that is gone.
        left = self._lying()
        self.dated(_marked(left) - left.clips)
        return gone

    def _delete(self, sounds: Iterable[str]) -> int:
        count = 0
        for sha256 in sounds:
            self._clips.remove(sha256)
            delete(self._mark(sha256))
            count += 1
        return count

    def _mark(self, sha256: str) -> Path:
        return self.folder / f"{sha256}.undated"

    def _lying(self) -> Lying:
        try:
            return self._clips.lying()
        except OSError as error:
            raise unreadable(self.folder, error) from error


def _marked(lying: Lying) -> frozenset[str]:
    found = map(_MARK.fullmatch, lying.others)
    return frozenset(mark[1] for mark in found if mark is not None)


def at_work(path: Path) -> bool:
    """Whether a file may be one that is being written now.

    One from the future is not: a clock that ran ahead and was put right made it.
    """
    try:
        age_s = time.time() - os.stat(path, follow_symlinks=False).st_mtime
    except OSError:
        return True
    return abs(age_s) <= AT_WORK_S


def delete(path: Path) -> None:
    """Delete a file where there is one; raises `EarsError` where that cannot be done."""
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise undeletable(path, error) from error

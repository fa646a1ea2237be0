"""The archive as the pages open it: brought up to date only when the record has changed."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from companion.archive.index import index_path, open_index
from companion.archive.opening import Archive, open_archive
from companion.facts.shown import NO_SHOWS, Shows
from companion.language.loader import REFERENCE
from companion.record import open_for_reading
from companion.report.wording import wording_in

_Stamp = tuple[tuple[int, int, int], ...]


class Shelf:
    """Opens the archive for one request after another, in whichever thread asks.

    Whether the record changed is told by its files' size, time and number, which takes no
    reading; a look through every session's head, which is what bringing up to date begins with,
    takes longer the more sessions there are.
    """

    def __init__(
        self, record_path: Path, shows: Shows = NO_SHOWS, language: str = REFERENCE
    ) -> None:
        self._record_path = record_path
        self.wording = wording_in(language)
        self.shows = shows
        self._up_to_date: _Stamp | None = None

    @property
    def record_path(self) -> Path:
        """The record file."""
        return self._record_path

    @contextlib.contextmanager
    def archive(self) -> Iterator[Archive]:
        """The record with its index, up to date; raises as `open_archive` does."""
        record, index = self._record_path, index_path(self._record_path)
        # Taken before the record is read: what is written meanwhile is seen by the next request.
        before = _stamp(record, record.with_name(record.name + "-wal"))
        if self._up_to_date == (*before, _number(index)):
            with (
                open_for_reading(record) as database,
                contextlib.closing(open_index(index)) as kept,
            ):
                yield Archive(database, kept)
            return
        with open_archive(record) as archive:
            if index.exists():
                self._up_to_date = (*before, _number(index))
            yield archive


def _stamp(*paths: Path) -> _Stamp:
    found = []
    for path in paths:
        try:
            told = os.stat(path)
        except OSError:
            found.append((0, 0, 0))
        else:
            found.append((told.st_ino, told.st_size, told.st_mtime_ns))
    return tuple(found)


def _number(index: Path) -> tuple[int, int, int]:
    """Which file the index is; its size and time change with every reader."""
    return (_stamp(index)[0][0], 0, 0)

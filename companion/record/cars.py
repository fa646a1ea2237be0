"""What is known of cars: small files beside the record, each named by the SHA-256 of its content.

Order, plate and vehicle identification number are personal data. The record keeps the hash alone,
so they can be let go after their own time while the record stays as it was written.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from companion.errors import RecordError
from companion.facts.car import Car
from companion.facts.codec import read, to_json
from companion.record.canonical import canonical_json, sha256_hex
from companion.record.durable import (
    make_folder,
    read_kept,
    require_readable,
    sync_folder,
    write_whole,
)

_FOLDERS_RIGHTS, _RIGHTS = 0o700, 0o600
_NAME = re.compile(r"[0-9a-f]{64}")
_FILE = re.compile(r"([0-9a-f]{64})\.json")
# What `durable.write_whole` leaves where the power goes.
_REMNANT = re.compile(r"\.[0-9a-f]{8}-.+")
LONGEST = 10_000
"""Bytes of one car: a few lines of text."""


@dataclass(frozen=True)
class Lying:
    """What lies in a folder of cars, by name: cars, remnants of half-written ones, and others."""

    cars: frozenset[str]
    remnants: frozenset[str]
    others: frozenset[str]


def cars_folder(record: Path) -> Path:
    """Where what is known of the cars of a record lies: beside it."""
    return record.with_name(record.name + ".cars")


class CarStore:
    """The cars beside a record."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def put(self, car: Car) -> str:
        """Keep what is known of a car; its name, or "" where nothing is known.

        Raises RecordError where it cannot be written, and for more than could be read again.
        """
        if not car.is_told:
            return ""
        content = canonical_json(to_json(replace(car, salt=secrets.token_hex(16))))
        if len(content) > LONGEST:
            raise RecordError(
                f"{self.folder}: what is known of the car takes {len(content)} bytes and is not "
                f"kept; wanted: at most {LONGEST}, about as many letters: shorten the complaint",
                said="car-too-long",
                folder=str(self.folder),
                found=len(content),
                most=LONGEST,
            )
        name = sha256_hex(content)
        try:
            make_folder(self.folder, _FOLDERS_RIGHTS)
            write_whole(self._path(name), content, _RIGHTS)
        except OSError as error:
            raise RecordError(
                f"{self.folder}: what is known of the car cannot be kept ({error.strerror}); "
                "wanted: a folder that can be written"
            ) from error
        return name

    def get(self, name: str) -> Car | None:
        """What is known of the car; None where nothing was, or it was let go.

        Raises RecordError where the file is not what was kept under this name.
        """
        if not self.holds(name):
            return None
        path = self._path(name)
        content = self.content(name)
        try:
            told: Any = json.loads(content) if sha256_hex(content) == name else None
        except ValueError as error:
            raise RecordError(f"{path}: cannot be read; wanted: the file as kept") from error
        if not isinstance(told, dict):
            raise RecordError(
                f"{path}: was changed since it was kept; wanted: the file as kept, from a backup"
            )
        return read(Car, told)

    def holds(self, name: str) -> bool:
        """Whether anything lies under this name; what it is shows when it is read."""
        return _NAME.fullmatch(name) is not None and os.path.lexists(self._path(name))

    def is_whole(self, name: str) -> bool:
        """Whether a car lies under this name, as it was kept."""
        try:
            return sha256_hex(self.content(name)) == name
        except RecordError:
            return False

    def require_readable(self) -> None:
        """Raise RecordError where the folder is none, or closed: all in it would seem gone."""
        require_readable(self.folder, "what is known of cars")

    def lying(self) -> Lying:
        """Everything in the folder; nothing where there is none.

        Raises RecordError for what cannot be looked through.
        """
        self.require_readable()
        cars, remnants, others = set(), set(), set()
        with contextlib.suppress(FileNotFoundError), os.scandir(self.folder) as found:
            for entry in found:
                car = _FILE.fullmatch(entry.name)
                if car is not None:
                    cars.add(car[1])
                elif _REMNANT.fullmatch(entry.name):
                    remnants.add(entry.name)
                else:
                    others.add(entry.name)
        return Lying(frozenset(cars), frozenset(remnants), frozenset(others))

    def remove(self, name: str) -> None:
        """Let one go, or what a half-written one left.

        Raises RecordError where that cannot be done, and where the folder is a link.
        """
        self.require_no_link()
        path = self.folder / name if _REMNANT.fullmatch(name) else self._path(name)
        try:
            path.unlink(missing_ok=True)
            sync_folder(self.folder)
        except OSError as error:
            raise RecordError(f"{path}: cannot be deleted ({error.strerror})") from error

    def copy_to(self, other: CarStore, names: Iterable[str]) -> int:
        """Copy those of the names that are here, as they were kept, and the other lacks; how many.

        What the other has and is not as it was kept is put right.
        """
        copied = 0
        for name in names:
            if self.is_whole(name) and not other.is_whole(name):
                make_folder(other.folder, _FOLDERS_RIGHTS)
                write_whole(other._path(name), self.content(name), _RIGHTS)
                copied += 1
        return copied

    def require_no_link(self) -> None:
        """Raise RecordError where the folder is a link: nothing is deleted in another place."""
        if self.folder.is_symlink():
            raise RecordError(
                f"{self.folder}: is a link to another place; wanted: the folder itself"
            )

    def content(self, name: str) -> bytes:
        """What lies under the name; raises RecordError for what is no plain, small file."""
        return read_kept(self._path(name), LONGEST, "what is known of a car")

    def _path(self, name: str) -> Path:
        return self.folder / f"{name}.json"

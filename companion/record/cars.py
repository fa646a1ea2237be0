"""What is known of cars: small files beside the record, each named by the SHA-256 of its content.

Order, plate and vehicle identification number are personal data. The record keeps the hash alone,
so they can be let go after their own time while the record stays as it was written.
"""

from __future__ import annotations

import contextlib
import json
import re
import secrets
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

from companion.errors import RecordError
from companion.facts.car import Car
from companion.facts.codec import read, to_json
from companion.facts.office import CarsLetGo, VisitOpened
from companion.record.canonical import canonical_json, sha256_hex
from companion.record.database import OFFICE, Database
from companion.record.durable import make_folder, sync_folder, write_whole
from companion.record.office import has_office, office_log
from companion.record.port import entry_of
from companion.record.rfc3339 import parse_rfc3339

_FOLDERS_RIGHTS, _RIGHTS = 0o700, 0o600
_NAME = re.compile(r"[0-9a-f]{64}")
LONGEST = 10_000
"""Bytes of one car: a few lines of text."""


def cars_folder(record: Path) -> Path:
    """Where what is known of the cars of a record lies: beside it."""
    return record.with_name(record.name + ".cars")


class CarStore:
    """The cars beside a record."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def put(self, car: Car) -> str:
        """Keep what is known of a car; its name, or "" where nothing is known.

        Raises RecordError where it cannot be written.
        """
        if not car.is_told:
            return ""
        content = canonical_json(to_json(replace(car, salt=secrets.token_hex(16))))
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
        if not _NAME.fullmatch(name) or not self._path(name).is_file():
            return None
        path = self._path(name)
        try:
            content = path.read_bytes() if path.stat().st_size <= LONGEST else b""
            told: Any = json.loads(content) if sha256_hex(content) == name else None
        except (OSError, ValueError) as error:
            raise RecordError(f"{path}: cannot be read; wanted: the file as kept") from error
        if not isinstance(told, dict):
            raise RecordError(
                f"{path}: was changed since it was kept; wanted: the file as kept, from a backup"
            )
        return read(Car, told)

    def names(self) -> Iterator[str]:
        """Every car that is still known."""
        with contextlib.suppress(OSError):
            for path in sorted(self.folder.glob("*.json")):
                if _NAME.fullmatch(path.stem):
                    yield path.stem

    def remove(self, name: str) -> None:
        """Let one go."""
        self._path(name).unlink(missing_ok=True)
        sync_folder(self.folder)

    def copy_to(self, other: CarStore) -> int:
        """Copy those that the other lacks, as they are; how many."""
        copied = 0
        for name in self.names():
            if not other._path(name).exists():
                make_folder(other.folder, _FOLDERS_RIGHTS)
                write_whole(other._path(name), self._path(name).read_bytes(), _RIGHTS)
                copied += 1
        return copied

    def _path(self, name: str) -> Path:
        return self.folder / f"{name}.json"


def car_problems(database: Database, cars: CarStore) -> Iterator[tuple[int, str]]:
    """What is wrong with what is known of cars: the office's event, and what it is.

    A car that was let go is gone; one that no event lets go has to be there, as it was kept.
    """
    if not has_office(database):
        return
    told: dict[str, int] = {}
    gone: set[str] = set()
    for event in database.events(OFFICE):
        match event.fact:
            case VisitOpened(car_sha256=name) if name:
                told[name] = event.seq
            case CarsLetGo(cars=names):
                gone |= set(names)
            case _:
                pass
    there = set(cars.names())
    for name, seq in told.items():
        if name in there:
            try:
                cars.get(name)
            except RecordError as error:
                yield seq, str(error)
        elif name not in gone:
            yield seq, f"what is known of the car {name[:12]}... is missing, and nobody let it go"
    for name in sorted(there - set(told)):
        yield 0, f"{cars.folder}/{name}.json: belongs to no visit of this record"


def let_cars_go(database: Database, cars: CarStore, days: int, why: str) -> tuple[str, ...]:
    """Delete what is known of cars whose visit was opened more than so many days ago.

    The office's event names them first, then the files go: a cut in between leaves files that the
    next call deletes. Raises RecordError for less than nought days, or a clock that nothing vouches
    for: one that runs ahead would delete everything.
    """
    if days < 0:
        raise RecordError(f"{days} days is not a possible age; wanted: 0 or more")
    now = database.clock.now()
    if not now.trusted:
        raise RecordError(
            "nothing vouches for this computer's date, and with a wrong one what is known of cars "
            "would be deleted too early; let it synchronise its clock first"
        )
    if not has_office(database):
        return ()
    oldest_kept = parse_rfc3339(now.at_utc) - timedelta(days=days)
    told: dict[str, bool] = {}
    for event in database.events(OFFICE):
        if isinstance(event.fact, VisitOpened) and event.fact.car_sha256:
            told[event.fact.car_sha256] = parse_rfc3339(event.at_utc) < oldest_kept
    going = tuple(name for name in cars.names() if told.get(name))
    if going:
        office_log(database).append([entry_of(CarsLetGo(cars=going, why=why))])
    for name in going:
        cars.remove(name)
    return going

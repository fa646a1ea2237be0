"""Visits in the archive: found by order, plate or VIN, each with its jobs.

What is known of cars stands in no index: it lies beside the record, and is gone everywhere when it
is deleted there.
"""

from __future__ import annotations

from dataclasses import dataclass

from companion.archive.opening import Archive
from companion.facts.car import Car
from companion.record.cars import CarStore, cars_folder
from companion.record.visits import Visit, visits


@dataclass(frozen=True)
class VisitSeen:
    """A visit with what is known of its car; None where nothing was, or it was let go."""

    visit: Visit
    car: Car | None


def find_visits(archive: Archive, words: str = "") -> tuple[VisitSeen, ...]:
    """Visits, the latest first: all, or those whose order, plate or VIN holds these words.

    Case, spaces and hyphens do not matter.
    """
    cars = CarStore(cars_folder(archive.path))
    seen = (VisitSeen(one, cars.get(one.car_sha256)) for one in reversed(visits(archive.record)))
    wanted = _plain(words)
    return tuple(one for one in seen if not wanted or _holds(one.car, wanted))


def _holds(car: Car | None, wanted: str) -> bool:
    return car is not None and any(wanted in _plain(t) for t in (car.order, car.plate, car.vin))


def _plain(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())

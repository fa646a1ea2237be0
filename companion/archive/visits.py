"""Visits in the archive: found by order, plate or VIN, each with its jobs.

What is known of cars stands in no index: it lies beside the record, and is gone everywhere when it
is deleted there.
"""

from __future__ import annotations

from dataclasses import dataclass

from companion.archive.opening import Archive
from companion.errors import RecordError
from companion.facts.car import Car
from companion.record.cars import CarStore, cars_folder
from companion.record.database import OFFICE
from companion.record.rows import event_of_row
from companion.record.visits import Visit, visits, visits_of

_OF_VISIT = """
    SELECT * FROM event
    WHERE session_id = ?
      AND kind IN ('visit_opened', 'visit_vehicle', 'visit_sensors', 'visit_closed')
      AND json_valid(body) AND json_extract(body, '$.visit') = ?
    ORDER BY seq
"""


@dataclass(frozen=True)
class VisitSeen:
    """A visit with what is known of its car.

    None where nothing was, it was let go, or it is not as it was kept (`verify` names that).
    """

    visit: Visit
    car: Car | None


def find_visits(archive: Archive, words: str = "") -> tuple[VisitSeen, ...]:
    """Visits, the latest first: all, or those whose order, plate or VIN holds these words.

    Case, spaces and hyphens do not matter.
    """
    cars = CarStore(cars_folder(archive.path))
    seen = (VisitSeen(one, _known(cars, one)) for one in reversed(visits(archive.record)))
    wanted = plain(words)
    return tuple(one for one in seen if not wanted or _holds(one.car, wanted))


def visit_of(archive: Archive, name: str) -> VisitSeen | None:
    """The visit of that name; None where the record has none."""
    found = archive.record.read(_OF_VISIT, (OFFICE, name))
    seen = visits_of(event_of_row(row, archive.path) for row in found)
    cars = CarStore(cars_folder(archive.path))
    return VisitSeen(seen[0], _known(cars, seen[0])) if seen else None


def _known(cars: CarStore, visit: Visit) -> Car | None:
    try:
        return cars.get(visit.car_sha256)
    except RecordError:
        return None


def _holds(car: Car | None, wanted: str) -> bool:
    return car is not None and any(wanted in plain(t) for t in (car.order, car.plate, car.vin))


def plain(text: str) -> str:
    """As plates and numbers are compared: in one case, without spaces and hyphens."""
    return "".join(sign for sign in text.casefold() if sign.isalnum())

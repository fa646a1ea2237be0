"""Which car a job was done on, as far as it is known: it lies beside the record, not in it."""

from __future__ import annotations

from pathlib import Path

from companion.errors import RecordError
from companion.facts.car import Car
from companion.facts.opening import Opened
from companion.record.cars import CarStore, cars_folder
from companion.record.database import OFFICE, Database
from companion.record.office import has_office
from companion.record.visits import visits_of
from companion.report.wording import Wording

LABELS = ("order", "plate", "vin", "odometer_km")


def car_of_job(database: Database, record: Path, opened: Opened) -> Car | None:
    """What is known now of the car of the job's visit; None for a job of no visit.

    Also an empty one, where nothing was entered, it was let go, or it is not as it was kept:
    `verify` names that.
    """
    if not opened.visit:
        return None
    office = database.events(OFFICE) if has_office(database) else ()
    hashes = (one.car_sha256 for one in visits_of(office) if one.id == opened.visit)
    try:
        return CarStore(cars_folder(record)).get(next(hashes, opened.car_sha256)) or Car()
    except RecordError:
        return Car()


def car_rows(car: Car, say: Wording) -> tuple[tuple[str, str], ...]:
    """What was entered of it, but for the complaint, as (label, text)."""
    told = dict(car.rows())
    if "odometer_km" in told:
        told["odometer_km"] = f"{car.odometer_km:,} km".replace(",", "\u00a0")
    return tuple((say(f"hand-over-{name}"), told[name]) for name in LABELS if name in told)

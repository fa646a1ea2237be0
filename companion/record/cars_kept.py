"""How long what is known of cars is kept, and what lies there that no visit keeps.

The record's office names each car by a hash, and those that were let go. Their age is by dates that
something vouched for, as that of sound is (`dating`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta

from companion.errors import RecordError
from companion.facts.office import CarsLetGo, DateVouched, VisitOpened
from companion.record.cars import CarStore
from companion.record.database import OFFICE, Database
from companion.record.office import has_office, office_log
from companion.record.port import StoredEvent
from companion.record.rfc3339 import parse_rfc3339


@dataclass(frozen=True)
class Kept:
    """A car of a visit: the office's event that names it, and since when at the latest.

    `since` is None where nothing vouched for a date since.
    """

    seq: int
    visit: str
    since: datetime | None
    let_go: bool = False


def kept_cars(office: Iterable[StoredEvent]) -> dict[str, Kept]:
    """Every car that these events of the office name, by its hash."""
    later: datetime | None = None
    gone: set[str] = set()
    found: dict[str, Kept] = {}
    for event in reversed(tuple(office)):
        # What came before an event was recorded before its date, whatever its own.
        if event.clock_trusted:
            date = parse_rfc3339(event.at_utc)
            since: datetime | None = date
            later = date if later is None else min(date, later)
        else:
            since = later
        match event.fact:
            case CarsLetGo(cars=names):
                gone |= set(names)
            case VisitOpened(visit=visit, car_sha256=name) if name:
                found.setdefault(name, Kept(event.seq, visit, since, name in gone))
            case _:
                pass
    return found


def let_cars_go(database: Database, cars: CarStore, days: int, why: str) -> tuple[str, ...]:
    """Delete what is known of cars whose visit was opened more than so many days ago.

    What no visit names, what was let go and is there again and what half-written files left goes as
    well. Where a car has no date that something vouched for, the office notes today's, so that its
    days begin to count.

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
            "would be deleted too early; let it synchronise its clock first",
            said="date-not-vouched-cars",
        )
    cars.require_no_link()
    oldest_kept = parse_rfc3339(now.at_utc) - timedelta(days=days)
    kept = kept_cars(database.events(OFFICE) if has_office(database) else ())
    lying = cars.lying()
    standing = {name: kept[name] for name in lying.cars if name in kept and not kept[name].let_go}
    if any(car.since is None for car in standing.values()):
        last = database.last_session_id() or OFFICE
        office_log(database).append([DateVouched(session=last)])
    old = {n for n, car in standing.items() if car.since is not None and car.since < oldest_kept}
    going = tuple(sorted(old))
    if going:
        office_log(database).append([CarsLetGo(cars=going, why=why)])
    for name in sorted((lying.cars - standing.keys()) | old | lying.remnants):
        cars.remove(name)
    return going


def cars_left_over(office: Iterable[StoredEvent], cars: CarStore) -> tuple[str, ...]:
    """What lies among the cars and no visit keeps, by name."""
    kept = kept_cars(office)
    lying = cars.lying()
    unkept = {name for name in lying.cars if name not in kept or kept[name].let_go}
    return tuple(sorted(unkept | lying.remnants | lying.others))


def car_problems(office: Iterable[StoredEvent], cars: CarStore) -> Iterator[tuple[int, str]]:
    """Cars that are not as they were kept: the office's event that names each, and what is wrong.

    Where a folder of cars is a link nothing in it is looked at.
    """
    try:
        cars.require_no_link()
    except RecordError:
        yield 0, "the folder of what is known of cars is a link to another place"
        return
    cars.require_readable()
    for name, kept in sorted(kept_cars(office).items(), key=lambda item: item[1].seq):
        if kept.let_go:
            continue
        if not cars.holds(name):
            yield kept.seq, f"what was known of the car of visit {kept.visit} is gone"
        elif not cars.is_whole(name):
            yield kept.seq, f"what was known of the car of visit {kept.visit} was changed"

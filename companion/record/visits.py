"""Visits of cars: opened and closed in the record's office, each with the jobs that belong to it.

A visit is one car on one order; any number of jobs may be done in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Literal

from companion.errors import RecordError
from companion.facts.answers import Accepted, Answered, Done
from companion.facts.car import Car
from companion.facts.kinds import Fact
from companion.facts.office import (
    CodesRead,
    SensorListed,
    VisitClosed,
    VisitOpened,
    VisitSensors,
    VisitVehicle,
)
from companion.facts.opening import Opened
from companion.facts.visit_end import Sensor
from companion.record.cars import CarStore
from companion.record.database import OFFICE, Database
from companion.record.office import has_office, office_log
from companion.record.port import StoredEvent

LONGEST_CODE = 80


_JOBS_OF_VISIT = """
    SELECT session.id FROM session
    JOIN event ON event.session_id = session.id AND event.seq = 1 AND event.kind = 'opened'
    WHERE json_valid(body) AND json_extract(body, '$.visit') = ?
    ORDER BY session.rowid
"""
_MARK = """
    SELECT MIN(number) AS number FROM box_mark
    WHERE session_id = ? AND seq >= ? AND what = 'written'
"""


@dataclass(frozen=True)
class Visit:
    """One car on one order. `car_sha256`: what is known of it now, "" for nothing.

    `vehicle`: which of the shop's vehicle files it is; None where nobody said. `sensors`: those to
    be set, in their order; empty where nobody listed them.
    """

    id: str
    opened_utc: str
    car_sha256: str = ""
    is_closed: bool = False
    vehicle: VisitVehicle | None = None
    sensors: tuple[Sensor, ...] = ()


def visits(database: Database) -> tuple[Visit, ...]:
    """Every visit, in the order in which they were opened."""
    return visits_of(database.events(OFFICE)) if has_office(database) else ()


def visits_of(office: Iterable[StoredEvent]) -> tuple[Visit, ...]:
    """The visits that these events of the office tell of."""
    found: dict[str, Visit] = {}
    for event in office:
        match event.fact:
            case VisitOpened(visit=name, car_sha256=car) if name in found:
                found[name] = replace(found[name], car_sha256=car)
            case VisitOpened(visit=name, car_sha256=car):
                found[name] = Visit(name, event.at_utc, car)
            case VisitVehicle(visit=name) as vehicle if name in found:
                found[name] = replace(found[name], vehicle=vehicle)
            case VisitSensors(visit=name, sensors=listed) if name in found:
                sensors = tuple(Sensor(one.job, one.name) for one in listed)
                found[name] = replace(found[name], sensors=sensors)
            case VisitClosed(visit=name) if name in found:
                found[name] = replace(found[name], is_closed=True)
            case _:
                pass
    return tuple(found.values())


def jobs_of(
    database: Database, visit: str, *, rehearsal: bool | None = None, but: str = ""
) -> tuple[tuple[Fact, ...], ...]:
    """The facts of each of the visit's jobs, in the order in which they were last worked on.

    A job that was broken off and resumed behind another counts as behind it. The box's marks tell,
    for a clock may be put back between two jobs. `rehearsal`: rehearsals alone, or none of them;
    None: both. `but`: without this session.
    """
    found: list[tuple[tuple[int, str], tuple[Fact, ...]]] = []
    marked = database.read("SELECT 1 FROM sqlite_schema WHERE name = 'box_mark'")
    for row in database.read(_JOBS_OF_VISIT, (visit,)):
        events = list(database.events(row["id"])) if row["id"] != but else []
        first = events[0].fact if events else None
        if isinstance(first, Opened) and rehearsal in (None, first.rehearsal):
            worked = _last_worked(events)
            written = (_mark_of(database, worked) if marked else 0, worked.at_utc)
            found.append((written, tuple(event.fact for event in events)))
    return tuple(facts for _, facts in sorted(found, key=itemgetter(0)))


def _last_worked(events: Sequence[StoredEvent]) -> StoredEvent:
    """The last event by which somebody answered or did something; the first where nobody did."""
    worked = [e for e in events if isinstance(e.fact, Accepted | Answered | Done)]
    return worked[-1] if worked else events[0]


def _mark_of(database: Database, event: StoredEvent) -> int:
    """The number of the mark that the event was written under; 0 where it is older than marks."""
    (row,) = database.read(_MARK, (event.session_id, event.seq))
    return int(row["number"] or 0)


def open_visit(database: Database, cars: CarStore, car: Car) -> Visit:
    """A new visit; its name is the day (UTC) and a number: "20310506-1"."""
    day = "".join(filter(str.isdigit, database.clock.now().at_utc[:10]))
    of_today = [int(one.id.split("-")[1]) for one in visits(database) if one.id.startswith(day)]
    name = f"{day}-{max(of_today, default=0) + 1}"
    fact = VisitOpened(visit=name, car_sha256=cars.put(car))
    (event,) = office_log(database).append([fact])
    return Visit(name, event.at_utc, fact.car_sha256)


def change_car(database: Database, cars: CarStore, visit: Visit, car: Car) -> Visit:
    """What is known of the visit's car from here on; the record keeps both hashes."""
    fact = VisitOpened(visit=visit.id, car_sha256=cars.put(car))
    office_log(database).append([fact])
    return replace(visit, car_sha256=fact.car_sha256)


def keep_vehicle(database: Database, vehicle: VisitVehicle) -> None:
    """Which vehicle the visit's car is, from here on."""
    office_log(database).append([vehicle])


def keep_sensors(database: Database, visit: Visit, sensors: Sequence[Sensor]) -> Visit:
    """Which sensors the visit is to set, from here on."""
    listed = tuple(SensorListed(job=one.job, name=one.name) for one in sensors)
    office_log(database).append([VisitSensors(visit=visit.id, sensors=listed)])
    return replace(visit, sensors=tuple(sensors))


def close_visit(database: Database, visit: Visit) -> None:
    """The car left: nothing that was true of it is taken over any more."""
    office_log(database).append([VisitClosed(visit=visit.id)])


def keep_codes(
    database: Database, visit: Visit, when: Literal["before", "after"], codes: Sequence[str]
) -> None:
    """Keep the fault codes as they were read; raises RecordError for one too long to be a code."""
    tidy = tuple(" ".join(code.split()) for code in codes)
    odd = next((code for code in tidy if not 1 <= len(code) <= LONGEST_CODE), None)
    if odd is not None:
        signs = len(odd)
        raise RecordError(
            f"a fault code of {signs} characters; wanted: 1 to {LONGEST_CODE}, the code and a word",
            said="no-code",
            found=signs,
            most=LONGEST_CODE,
        )
    fact = CodesRead(visit=visit.id, when=when, codes=tidy)
    office_log(database).append([fact])


def find_visit(database: Database, name: str) -> Visit:
    """The visit of this name; `last`: the one opened last.

    Raises RecordError naming what there is.
    """
    known = visits(database)
    if name == "last" and known:
        return known[-1]
    found = next((one for one in known if one.id == name), None)
    if found is None:
        latest = ", ".join(one.id for one in known[-3:]) or "-"
        raise RecordError(
            f"{database.path}: holds no visit {name!r}; wanted: one of 'companion visit list' "
            f"(the latest: {latest})",
            said="no-visit",
            record=str(database.path),
            visit=name,
            latest=latest,
        )
    return found

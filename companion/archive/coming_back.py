"""A car that comes back: the same sensor's job at its last visit.

The same car is one with the same VIN, or as much of both as was kept; where either has none, the
same plate; where neither has that, the same order. What was before is told by the order of
recording, never by dates: a clock may have been wrong.
"""

from __future__ import annotations

from companion.archive.digest import Digest
from companion.archive.listing import digest_of, jobs_of_visit
from companion.archive.opening import Archive
from companion.archive.visits import find_visits, plain
from companion.facts.car import Car

LEAST_OF_A_VIN = 6


def same_car(one: Car, other: Car) -> bool:
    """Whether what is known of two cars says that they are one."""
    first, second = plain(one.vin), plain(other.vin)
    if first and second:
        short, whole = sorted((first, second), key=len)
        return len(short) >= LEAST_OF_A_VIN and whole.endswith(short)
    first, second = plain(one.plate), plain(other.plate)
    if first and second:
        return first == second
    return bool(plain(one.order)) and plain(one.order) == plain(other.order)


def last_time(archive: Archive, session_id: str) -> Digest | None:
    """The same job at the car's last visit before this session's; None where there was none.

    Raises `RecordError` when there is no such session.
    """
    this = digest_of(archive, session_id)
    if not this.visit:
        return None
    seen = find_visits(archive)
    at = next((n for n, one in enumerate(seen) if one.visit.id == this.visit), None)
    if at is None or (car := seen[at].car) is None:
        return None
    for one in seen[at + 1 :]:
        if one.car is None or not same_car(car, one.car):
            continue
        jobs = jobs_of_visit(archive, one.visit.id)
        alike = [
            job for job in jobs if (job.job, job.is_rehearsal) == (this.job, this.is_rehearsal)
        ]
        if alike:
            return alike[-1]
    return None

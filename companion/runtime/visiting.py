"""The visit that a job begins in: its car, and what earlier jobs found and still holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from companion.facts.kinds import Fact
from companion.facts.opening import NextSensor, Opened
from companion.facts.visit_end import is_set, job_id, listed_twice, still_to_do, to_come
from companion.job.loader import LoadedJob
from companion.language.language import Language
from companion.record.database import Database
from companion.record.port import StoredEvent
from companion.record.rfc3339 import parse_rfc3339
from companion.record.visits import Visit, jobs_of, visits
from companion.runtime.loop import OfVisit
from companion.runtime.stand_check import last_stand_check
from companion.runtime.taking_over import Beginning, Validity, still_true
from companion.settings.model import Settings

MOST_JOBS = 40
"""So many jobs back is looked for what still holds; a day has fewer."""


def validity_of(settings: Settings) -> Validity:
    """How long the shop lets things hold."""
    return Validity(settings.floor_holds_days, settings.heads_hold_days)


def of_visit(
    database: Database,
    visit: Visit,
    loaded: LoadedJob,
    language: Language,
    validity: Validity,
    *,
    take_over: bool = True,
    rehearsal: bool = False,
    technician: str = "",
    was_there: bool = True,
) -> OfVisit:
    """The visit with all that its next job need not ask again; needs the record as it is now.

    `was_there`: it was opened before the job; a job that opens its own is its only one.
    """
    following = None
    if was_there:
        jobs = jobs_of(database, visit.id, rehearsal=rehearsal)
        following = next_sensor(visit, loaded.plan.files.job.id, jobs)
    if not take_over:
        return OfVisit(visit.id, visit.car_sha256, next_sensor=following)
    now = database.clock.now()
    job = Beginning(loaded.plan, language, visit.id, now, validity, rehearsal, technician)
    longest = timedelta(days=max(validity.bay_days, validity.heads_days, 1))
    oldest = parse_rfc3339(now.at_utc) - longest
    earlier = _jobs_back_to(database, visit.id, oldest)
    check = last_stand_check(
        database,
        loaded.plan,
        parse_rfc3339(now.at_utc).astimezone().date(),
        validity.heads_days,
        rehearsal=rehearsal,
    )
    kept = still_true(job, earlier)
    return OfVisit(visit.id, visit.car_sha256, kept, check, next_sensor=following)


def next_sensor_now(
    database: Database, stored: Sequence[StoredEvent], session: str
) -> NextSensor | None:
    """What is known of it as this job goes on; None where it began without, or has no visit now."""
    opened = next((event.fact for event in stored if isinstance(event.fact, Opened)), Opened())
    known = {one.id: one for one in visits(database)}
    visit = known.get(opened.visit)
    if opened.next_sensor is None or visit is None:
        return None
    jobs = jobs_of(database, visit.id, rehearsal=opened.rehearsal, but=session)
    return next_sensor(visit, job_id([opened]), jobs)


def next_sensor(visit: Visit, job: str, jobs: Sequence[Sequence[Fact]]) -> NextSensor:
    """What is known of the sensors behind this job, with what was left to the visit's end.

    One that is on the list and was begun may never be ended: then somebody has to say. So he has
    where one is listed more than once: what was set may have been the same once more.
    """
    left = tuple(dict.fromkeys(one.title for one in still_to_do(jobs)))
    others = list(to_come(visit.sensors, jobs))
    this = next((one for one in others if one.job == job), None)
    if this is not None:
        others.remove(this)
    begun = {job_id(facts) for facts in jobs if not is_set(facts)}
    was_set = {job_id(facts) for facts in jobs if is_set(facts)}
    may_be_same = not others and any(one.job in was_set for one in listed_twice(visit.sensors))
    if not visit.sensors or may_be_same or (others and all(one.job in begun for one in others)):
        return NextSensor("asked", left)
    return NextSensor("follows" if others else "last", left)


def _jobs_back_to(
    database: Database, visit: str, oldest: datetime
) -> Iterator[tuple[StoredEvent, ...]]:
    """The latest jobs, the newest first; those of the visit however old they are.

    Of the others those that something vouched for the date of: when a session was opened may be
    any date, of a clock that was not set yet.
    """
    for place, session in enumerate(database.newest_first()):
        if place >= MOST_JOBS:
            return
        first = next(database.events(session.session_id), None)
        if first is None or not isinstance(first.fact, Opened):
            continue
        is_young = first.clock_trusted and parse_rfc3339(first.at_utc) >= oldest
        if first.fact.visit == visit or is_young:
            yield tuple(database.events(session.session_id))

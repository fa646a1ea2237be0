"""A record of very many sessions, made quickly out of a few dozen rehearsed jobs.

The jobs are really rehearsed; each new session is the events of one of them appended again, with
other times, technicians, vehicles and bays, and hashed anew. Two of three sessions are broken off
on the way, so that the mean is about 300 events a session.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import Any

from companion.record import MemoryLog, StoredEvent, open_record
from companion.record.audit.event_bytes import stored_hash
from companion.record.canonical import canonical_json, opening_hash
from companion.record.rfc3339 import format_rfc3339, parse_rfc3339
from companion.record.rows import insert_statement
from companion.runtime import assembly
from companion.runtime.rehearsing import choose_slips, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from tests.benchmarks.rehearse import loaded_job

FIRST_DAY = "2031-01-06T07:30:00.000Z"
TECHNICIANS = ("A. Example", "B. Sample", "C. Specimen", "D. Muster", "E. Instance", "F. Trial")
VEHICLES = ("Example hatchback", "Example estate", "Example van", "Example saloon")
BAYS = ("Bay one", "Bay two", "Bay three")
# Whole jobs have about 500 events.
PARTS = (1.0, 0.6, 0.2)
SESSIONS_A_TRANSACTION = 50


@dataclass(frozen=True)
class Rehearsed:
    """The events of one rehearsed job, their bodies as canonical JSON."""

    events: tuple[StoredEvent, ...]
    bodies: tuple[bytes, ...]


def rehearsed_jobs(count: int, seed: int) -> list[Rehearsed]:
    """So many jobs in the rehearsal bay, typed, one in four with slips."""
    jobs = []
    for number in range(count):
        log = MemoryLog()
        route = ("echo_levels", "echo_levels", "tool_angle")[number % 3]
        rehearsal = make_rehearsal(
            loaded_job(),
            seed + number,
            scenario=Scenario(answers={"aim_route": route}),
            slips=choose_slips(seed + number, 2 if number % 4 == 0 else 0),
        )
        run_rehearsal(loaded_job(), assembly.language(), rehearsal, SilentVoice(), log)
        events = tuple(log.events(log.session_id))
        jobs.append(Rehearsed(events, tuple(canonical_json(event.body) for event in events)))
    return jobs


def make_record(
    path: Path,
    sessions: int,
    seed: int,
    jobs: int = 24,
    rehearsed: Sequence[Rehearsed] | Callable[[int], Sequence[Rehearsed]] | None = None,
    bays: Sequence[str] = BAYS,
    first_day: str = "",
) -> int:
    """Fill a new record with so many sessions; the number of their events.

    Out of so many jobs rehearsed anew, or out of those given, for each session by its number.
    """
    random = Random(seed)
    distinct = rehearsed or rehearsed_jobs(min(jobs, sessions), seed)
    of_number = distinct if callable(distinct) else lambda _number: distinct
    every = _sessions(of_number, random, bays, first_day or FIRST_DAY)
    made = itertools.islice(every, sessions)
    total = 0
    with open_record(path) as database:
        while batch := list(itertools.islice(made, SESSIONS_A_TRANSACTION)):
            with database.writing() as tables:
                for session_id, opened_utc, rows in batch:
                    tables.execute("INSERT INTO session VALUES (?, ?)", (session_id, opened_utc))
                    database.marker.mark(
                        tables, "opened", session_id, 0, opening_hash(session_id, opened_utc)
                    )
                    tables.conn.executemany(insert_statement("event", tuple(rows[0])), rows)
                    last = rows[-1]
                    database.marker.mark(tables, "written", session_id, last["seq"], last["hash"])
                    total += len(rows)
    return total


def _sessions(
    jobs: Callable[[int], Sequence[Rehearsed]], random: Random, bays: Sequence[str], first_day: str
) -> Iterator[tuple[str, str, list[dict[str, Any]]]]:
    moment = parse_rfc3339(first_day)
    for number in itertools.count():
        # A few jobs a day.
        moment += timedelta(minutes=random.randint(90, 240))
        opened_utc = format_rfc3339(moment)
        session_id = f"{moment:%Y%m%d-%H%M%S}-{number:08x}"
        job = random.choice(jobs(number))
        last = max(2, int(len(job.events) * PARTS[number % len(PARTS)]))
        yield session_id, opened_utc, _rows(session_id, opened_utc, job, last, random, bays)


def _rows(
    session_id: str, opened_utc: str, job: Rehearsed, last: int, random: Random, bays: Sequence[str]
) -> list[dict[str, Any]]:
    began = parse_rfc3339(job.events[0].at_utc)
    shift = parse_rfc3339(opened_utc) - began
    previous = opening_hash(session_id, opened_utc).encode()
    rows = []
    stamps: dict[str, str] = {}
    for event, body in zip(job.events[:last], job.bodies[:last], strict=True):
        if event.at_utc not in stamps:
            stamps[event.at_utc] = format_rfc3339(parse_rfc3339(event.at_utc) + shift)
        content = body if event.kind != "opened" else _renamed(event, random, bays)
        columns = {
            "session_id": session_id,
            "seq": event.seq,
            "kind": event.kind,
            "at_utc": stamps[event.at_utc],
            "monotonic_ns": event.monotonic_ns,
            "clock_trusted": 1,
        }
        made = stored_hash(
            session_id.encode(),
            event.seq,
            event.kind.encode(),
            columns["at_utc"].encode(),
            event.monotonic_ns,
            1,
            content,
            previous,
        )
        rows.append(
            columns
            | {"body": content.decode(), "previous_hash": previous.decode(), "hash": made.decode()}
        )
        previous = made
    return rows


def _renamed(event: StoredEvent, random: Random, bays: Sequence[str]) -> bytes:
    body = dict(event.body)
    body["technician"] = random.choice(TECHNICIANS)
    body["vehicle"] = {**body["vehicle"], "name": random.choice(VEHICLES)}
    body["bay"] = {**body["bay"], "name": random.choice(bays)}
    # What is listed as waiting for somebody leaves rehearsals out.
    body.pop("rehearsal", None)
    return canonical_json(body)

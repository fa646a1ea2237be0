"""What lists, searches and charts are quick by, made out of the events that boxes sent.

It is folded as the index of one record is, and holds nothing that the events do not hold.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, fields
from datetime import UTC, datetime
from typing import Any

from psycopg import Connection
from psycopg.types.json import Jsonb

from companion.archive.digest import Digest, digested, digested_unread, language_by, told_by
from companion.errors import RecordError
from companion.record.canonical import parsed_json
from companion.record.database import OFFICE
from companion.record.port import StoredEvent
from companion.record.rfc3339 import parse_rfc3339
from companion.statistics.steadiness import (
    MOST_SESSIONS_CHARTED,
    Chart,
    PartTold,
    Point,
    judged,
    parts_told,
)
from companion.statistics.summary import MEASURES, Summary, summary
from companion.store.review.words import words_vector

JOBS_A_COMMIT = 20
NAMES = ("technician", "vehicle", "bay", "result")
COLUMNS = tuple(field.name for field in fields(Digest))

_ARRIVED = """
    DELETE FROM reading.arrived WHERE number IN (
        SELECT number FROM reading.arrived ORDER BY number LIMIT %s
    ) RETURNING job
"""
_LACKING = """
    SELECT j.job, j.box, j.id, j.opened_utc, j.month, j.site, s.name, j.arrived
    FROM store.job j JOIN store.site s USING (site) LEFT JOIN reading.job r USING (job)
    WHERE j.job = ANY (%s) AND j.id <> %s AND (r.job IS NULL OR r.event_count < j.last_seq)
    ORDER BY j.job
"""
EVENTS = """
    SELECT sequence, kind::text, at_utc, monotonic_ns, clock_trusted, body, encode(hash, 'hex')
    FROM store.event WHERE month = %s AND box = %s AND job = %s ORDER BY sequence
"""
_LATEST = """
    SELECT bay, name, count, session_id, opened_utc, value FROM (
      SELECT bay, m.key AS name, session_id, opened_utc, m.value::float8 AS value, moment, job,
        count(*) OVER (PARTITION BY bay, m.key) AS count,
        row_number() OVER (PARTITION BY bay, m.key ORDER BY moment DESC, job DESC) AS back
      FROM reading.summary, jsonb_each_text(measures) AS m WHERE site = %s
    ) AS numbered WHERE back <= %s ORDER BY bay, name, moment, job
"""


def told_session_id(box: int, job_id: str) -> str:
    """How a job is named on the pages: two boxes may use the same name."""
    return f"{box}:{job_id}"


def index_store(connection: Connection, most: int = 1_000_000_000) -> int:
    """Take in what the events hold and the index does not; how many jobs.

    By the login of the pages or an administrator. Safe beside another that does the same.
    """
    done = 0
    connection.execute("SET ROLE companion_indexer")
    try:
        changed: set[int] = set()
        while done < most:
            with connection.transaction():
                connection.execute("SELECT pg_advisory_xact_lock(hashtext('companion_index'))")
                arrived = connection.execute(_ARRIVED, (JOBS_A_COMMIT,)).fetchall()
                jobs = [job for (job,) in arrived]
                rows = connection.execute(_LACKING, (jobs, OFFICE)).fetchall()
                lines = [_read(connection, row) for row in rows]
                with connection.pipeline():
                    for line in lines:
                        _keep(connection, line)
                changed |= {row[5] for row in rows}
            done += len(rows)
            if len(arrived) < JOBS_A_COMMIT:
                break
        for site in sorted(changed):
            judge_site(connection, site)
    finally:
        connection.execute("RESET ROLE")
    return done


def index_anew(connection: Connection) -> int:
    """Forget the index, all but the cars, and make it anew."""
    connection.execute("SET ROLE companion_indexer")
    try:
        with connection.transaction():
            for table in ("job", "words", "summary", "part", "chart", "name"):
                connection.execute(f"DELETE FROM reading.{table}".encode())  # noqa: S608 - our words
            connection.execute(
                "INSERT INTO reading.arrived (job) SELECT job FROM store.job ORDER BY job"
            )
    finally:
        connection.execute("RESET ROLE")
    return index_store(connection)


def stored_events(
    session_id: str, opening: str, rows: Iterable[Sequence[Any]]
) -> Iterator[StoredEvent | tuple[int, str]]:
    """The events of these rows; of one that cannot be read its number and hash."""
    previous = opening
    for seq, kind, at_utc, monotonic_ns, trusted, body, hashed in rows:
        try:
            value = parsed_json(body)
        except (ValueError, RecordError):
            value = None
        if isinstance(value, dict):
            yield StoredEvent(
                session_id, seq, kind, at_utc, monotonic_ns, trusted, value, previous, hashed
            )
        else:
            yield seq, hashed
        previous = hashed


@dataclass(frozen=True)
class _Line:
    """One job as the index keeps it; `bay` is told with its site."""

    job: int
    site: int
    box: int
    moment: datetime
    digest: Digest
    bay: str
    words: str
    told: str
    figures: Summary


def _read(connection: Connection, row: Sequence[Any]) -> _Line:
    job, box, job_id, opened_utc, month, site, site_name, arrived = row
    session_id = told_session_id(box, job_id)
    digest = Digest(session_id, opened_utc)
    events: list[StoredEvent] = []
    told, language = [], ""
    rows = connection.execute(EVENTS, (month, box, job)).fetchall()
    for event in stored_events(session_id, "", rows):
        if isinstance(event, tuple):
            digest = digested_unread(digest, *event)
            continue
        digest = digested(digest, event)
        events.append(event)
        language = language_by(event, language)
        if (words := told_by(event, language)) is not None:
            told.append((event, words))
    bay = f"{site_name} · {digest.bay}"
    moment = min(_moment(opened_utc), arrived)
    return _Line(
        *(job, site, box, moment, digest, bay),
        words_vector([words for _, words in told]),
        json.dumps(
            [
                (event.seq, event.at_utc, event.kind, words.said, words.heard, words.noted)
                for event, words in told
            ],
            ensure_ascii=False,
        ),
        summary(events),
    )


def _keep(connection: Connection, line: _Line) -> None:
    """One job's lines of the index, in place of those before."""
    job, site, digest, figures = line.job, line.site, line.digest, line.figures
    bay, moment = line.bay, line.moment
    told = {**asdict(digest), "bay": bay}
    values = {
        "job": job,
        "site": site,
        "box": line.box,
        "moment": moment,
        **{("job_name" if name == "job" else name): told[name] for name in COLUMNS},
    }
    _replace(connection, "job", values)
    _replace(
        connection,
        "words",
        {"job": job, "site": site, "moment": moment, "words": line.words, "told": line.told},
    )
    _replace(
        connection,
        "summary",
        {
            "job": job,
            "site": site,
            "bay": bay,
            "technician": digest.technician,
            "moment": moment,
            "opened_utc": digest.opened_utc,
            "session_id": digest.session_id,
            "measures": Jsonb(figures.measures),
            "stages": Jsonb(figures.stages),
            "heard": Jsonb([[noise, how, n] for (noise, how), n in figures.heard.items()]),
        },
    )
    for what in NAMES:
        if told[what]:
            connection.execute(
                "INSERT INTO reading.name VALUES (%s, %s, %s) ON CONFLICT DO NOTHING",
                (site, what, told[what]),
            )


def _replace(connection: Connection, table: str, values: dict[str, Any]) -> None:
    columns = ", ".join(values)
    marks = ", ".join(
        f"%({name})s::tsvector" if name == "words" else f"%({name})s" for name in values
    )
    changes = ", ".join(f"{name} = excluded.{name}" for name in values if name != "job")
    connection.execute(
        f"INSERT INTO reading.{table} ({columns}) VALUES ({marks}) "  # noqa: S608 - our own words
        f"ON CONFLICT (job) DO UPDATE SET {changes}".encode(),
        values,
    )


def _moment(opened_utc: str) -> datetime:
    try:
        return parse_rfc3339(opened_utc)
    except RecordError:
        return datetime.now(UTC)


def judge_site(connection: Connection, site: int) -> None:
    """The charts of one site, each judged with all others of it, in place of those before."""
    rows = connection.execute(_LATEST, (site, MOST_SESSIONS_CHARTED)).fetchall()
    found: dict[tuple[str, str, int], list[Point]] = {}
    for bay, measure, count, *point in rows:
        if measure in MEASURES:
            found.setdefault((bay, measure, count), []).append(Point(*point))
    charts = judged(
        [
            Chart(bay, measure, tuple(points), count - len(points))
            for (bay, measure, count), points in found.items()
        ]
    )
    with connection.transaction():
        connection.execute("DELETE FROM reading.part WHERE site = %s", (site,))
        connection.execute("DELETE FROM reading.chart WHERE site = %s", (site,))
        for part in parts_told(charts):
            connection.execute(
                "INSERT INTO reading.part VALUES (%s, %s, %s, %s, %s, %s, %s)",
                (
                    *(site, part.bay, part.name, part.state, part.sessions, part.latest_utc),
                    Jsonb([list(change) for change in part.changes]),
                ),
            )
        for chart in charts:
            connection.execute(
                "INSERT INTO reading.chart VALUES (%s, %s, %s, %s)",
                (site, chart.bay, chart.measure, Jsonb(asdict(chart))),
            )


def part_of(
    bay: str, name: str, state: Any, sessions: int, latest_utc: str, changes: list[list[str]]
) -> PartTold:
    """A floor or stand as it was kept."""
    return PartTold(bay, name, state, sessions, latest_utc, tuple((m, at) for m, at in changes))


def chart_of(kept: dict[str, Any]) -> Chart:
    """The chart as it was kept."""
    points = tuple(Point(**point) for point in kept["points"])
    return Chart(**{**kept, "points": points})

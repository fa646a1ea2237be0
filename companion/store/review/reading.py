"""What the pages ask, answered by the store as one person sees it.

Everything is asked with that person's own role: row security of the engine leaves out what is not
of their sites, whatever is asked here.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from psycopg import Connection

from companion.archive.digest import Digest
from companion.archive.listing import Choices, Filters, Page, day_of
from companion.archive.query import Place
from companion.archive.search import Found, SessionHits
from companion.archive.visits import VisitSeen
from companion.browse.port import Told
from companion.errors import CompanionError, RecordError
from companion.facts.office import PersonEnrolled, PersonRemoved, PinChanged
from companion.record.database import OFFICE
from companion.record.port import StoredEvent
from companion.record.rfc3339 import parse_rfc3339
from companion.record.roll import Roll, roll_of
from companion.record.verify_walk import Look, Row, Walk
from companion.report.fold import fold
from companion.report.report import Integrity, KeptSession
from companion.report.visit_left import Left
from companion.statistics.questions import (
    Steadiness,
    Together,
    hearing_rates_of,
    known_bay,
    repeatability_of,
    stage_times_of,
)
from companion.statistics.summary import MEASURES
from companion.store.migrating import one
from companion.store.redactions import redactions_of
from companion.store.review.indexing import COLUMNS, EVENTS, chart_of, part_of, stored_events
from companion.store.review.words import Matching, asked

ORDERS = {
    "newest": "moment DESC, job DESC",
    "oldest": "moment, job",
    "stood_out": "doubts + taken_back + odd_moves + notes + unreadable DESC, moment DESC, job DESC",
    "not_understood": "refusals DESC, moment DESC, job DESC",
    "technician": "technician, moment DESC, job DESC",
    "vehicle": "vehicle, moment DESC, job DESC",
    "bay": "bay, moment DESC, job DESC",
    "result": "result, moment DESC, job DESC",
}
LEFT = {
    "unsigned": "signatures = 0 AND result <> 'broken_off'",
    "signed": "signatures > 0",
    "stood_out": "doubts + taken_back + odd_moves + notes + unreadable > 0",
    "rehearsal": "is_rehearsal",
    "no_rehearsal": "NOT is_rehearsal",
}
DIGEST = ", ".join("job_name" if name == "job" else name for name in COLUMNS)
CANDIDATES = 40
MOST_CANDIDATES = 400
"""Jobs with all the words in one event or two neighbours, of which the words are looked at for one
page."""
MOST_COUNTED = 10_000
"""Jobs are counted so far: how many hundred thousand there are helps nobody, and takes longer each
year."""
HITS_EACH = 3
MOST_NAMES = 1_000
"""Of one kind, to choose from; any other is typed."""
NUL = "\0"
JOBS_OF_FIGURES = 2_000
"""The latest jobs of a bay, or of its site, that figures are made of."""
_JOB = """
    SELECT j.job, j.box, j.id, j.opened_utc, j.month, encode(j.opening_hash, 'hex'), j.last_seq,
        encode(j.head, 'hex'), b.name, s.name
    FROM store.job j JOIN store.box b USING (box) JOIN store.site s ON s.site = j.site
    WHERE j.box = %s AND j.id = %s
"""


_PARTS = """
    SELECT p.bay, p.part, p.state, p.sessions, p.latest_utc, p.changes
    FROM (SELECT bay, bool_or(state = 'changed') AS moved FROM reading.part GROUP BY bay
        ORDER BY moved DESC, bay LIMIT %s OFFSET %s) AS shown
    JOIN reading.part p USING (bay) ORDER BY moved DESC, bay, part
"""


@dataclass(frozen=True)
class StoredJob:
    """One job as the store has it."""

    job: int
    box: int
    id: str
    opened_utc: str
    month: Any
    opening: str
    last_seq: int
    head: str
    box_name: str
    site: str


class StoreReading:
    """The store in one transaction of somebody."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def choices(self) -> Choices:
        """Every name that occurs at the sites of this person."""
        return Choices(*map(self._names, ("vehicle", "bay", "technician", "result")))

    def _names(self, what: str) -> tuple[str, ...]:
        rows = self._connection.execute(
            "SELECT DISTINCT name FROM reading.name WHERE what = %s ORDER BY 1 LIMIT %s",
            (what, MOST_NAMES),
        )
        return tuple(name for (name,) in rows)

    def listed(self, filters: Filters, *, limit: int, offset: int, order: str) -> Page:
        """The jobs that fit."""
        where, values = self._conditions(filters)
        row = self._connection.execute(
            f"SELECT count(*) FROM (SELECT 1 FROM reading.job WHERE {where} "  # noqa: S608
            f"LIMIT {MOST_COUNTED + 1}) AS counted".encode(),
            values,
        ).fetchone()
        total = int(row[0]) if row is not None else 0
        rows = self._connection.execute(
            f"SELECT {DIGEST} FROM reading.job WHERE {where} "  # noqa: S608 - our words
            f"ORDER BY {ORDERS.get(order, ORDERS['newest'])} LIMIT %s OFFSET %s".encode(),
            (*values, limit + 1, offset),
        )
        found = tuple(Digest(*row) for row in rows)
        return Page(found[:limit], total if total <= MOST_COUNTED else None, len(found) > limit)

    def found(
        self, typed: str, filters: Filters, *, place: Place, limit: int, offset: int
    ) -> Found:
        """The jobs with the words."""
        finds: list[SessionHits] = []
        for find in self._with_words(typed, place):
            finds.append(find)
            if len(finds) > offset + limit:
                break
        return Found(tuple(finds[offset : offset + limit]), len(finds) > offset + limit)

    @property
    def knows_cars(self) -> bool:
        """What is known of cars stays on the boxes."""
        return False

    def visit(self, name: str) -> VisitSeen | None:
        """None: see `knows_cars`."""
        return None

    def left_of_visit(self, name: str) -> Left:
        """Nothing is known: see `knows_cars`."""
        return Left()

    def visits_of(self, words: str) -> tuple[VisitSeen, ...]:
        """None: see `knows_cars`."""
        return ()

    def last_time(self, session_id: str) -> str:
        """None: see `knows_cars`."""
        return ""

    def told(self, session_id: str) -> Told:
        """All events of one job."""
        job = self.job(session_id)
        rows = self._connection.execute(EVENTS, (job.month, job.box, job.job)).fetchall()
        return Told(session_id, job.opened_utc, tuple(_whole(session_id, job, rows)))

    def kept(self, session_id: str) -> KeptSession:
        """The job for its report; every hash is made anew, signatures are looked at."""
        job = self.job(session_id)
        rows = self._connection.execute(EVENTS, (job.month, job.box, job.job)).fetchall()
        look = Look(
            None,
            frozenset(),
            self.roll(job.box),
            lambda _known, _place: True,
            {},
            redactions_of(self._connection, job.job).get(job.job, {}),
        )
        walk = Walk(job.id.encode(), job.opened_utc, look)
        findings = tuple(walk.findings(_raw(job.opening, rows)))
        if (len(rows), rows[-1][6] if rows else job.opening) != (job.last_seq, job.head):
            raise RecordError(
                "the store does not hold this job as it took it; tell its keeper",
                said="store-job-changed",
            )
        events = tuple(_whole(session_id, job, rows))
        integrity = Integrity(job.head, job.last_seq, findings, tuple(look.signings))
        return KeptSession(fold(session_id, events), job.opened_utc, integrity)

    def steadiness(self, bay: str, *, skip: int, most: int) -> Steadiness:
        """Whether floors and stands are as they were; verdicts are made when jobs come."""
        bays = self._names("bay")
        bay = known_bay(bay, bays)
        charts = self._connection.execute(
            "SELECT chart FROM reading.chart WHERE bay = %s", (bay,)
        ).fetchall()
        of_measure = sorted(
            (chart_of(row[0]) for row in charts), key=lambda chart: MEASURES.index(chart.measure)
        )
        rows = self._connection.execute(_PARTS, (most, skip)).fetchall()
        every, changed, unknown, count = one(
            self._connection,
            "SELECT count(DISTINCT bay), count(*) FILTER (WHERE state = 'changed'), "
            "count(*) FILTER (WHERE state = 'too few'), "
            "(SELECT count(*) FROM reading.summary WHERE bay = %s) FROM reading.part",
            (bay,),
        )
        parts = tuple(part_of(*row) for row in rows)
        return Steadiness(bays, bay, count, tuple(of_measure), parts, every, changed, unknown)

    def together(self, bay: str, technician: str) -> Together:
        """What the jobs of one bay say together."""
        bays, technicians = self._names("bay"), self._names("technician")
        bay = known_bay(bay, bays)
        of_bay = self._figures("measures, stages, heard", "bay = %s", bay)
        asked = [row for row in of_bay if technician in ("", row[1])]
        of_site = self._figures(
            "measures",
            "site IN (SELECT site FROM reading.name WHERE what = 'bay' AND name = %s)",
            bay,
        )
        return Together(
            bays,
            technicians,
            bay,
            technician,
            len(asked),
            repeatability_of(_values(of_bay, 1), "technician"),
            repeatability_of(
                _values([row for row in of_site if technician in ("", row[1])], 0), "bay"
            ),
            hearing_rates_of((n, how, times) for row in asked for n, how, times in row[4]),
            stage_times_of(one for row in asked for one in row[3].items()),
        )

    def job(self, session_id: str) -> StoredJob:
        """The job by its name on the pages; raises `RecordError` where this person has none."""
        box, _, job_id = session_id.partition(":")
        row = None
        if box.isascii() and box.isdigit() and len(box) < 10:
            row = self._connection.execute(_JOB, (int(box), job_id)).fetchone()
        if row is None:
            raise RecordError(
                f"the store shows you no job {session_id!r}; list them to see which",
                said="store-no-job",
                job=session_id,
            )
        return StoredJob(*row)

    def roll(self, box: int) -> Roll:
        """Who may sign at that box, by its office."""
        kinds = [PersonEnrolled.KIND, PersonRemoved.KIND, PinChanged.KIND]
        rows = self._connection.execute(
            "SELECT e.sequence, e.kind::text, e.at_utc, e.monotonic_ns, e.clock_trusted, e.body, "
            "encode(e.hash, 'hex'), encode(coalesce(before.hash, j.opening_hash), 'hex') "
            "FROM store.job j JOIN store.event e USING (month, box, job) "
            "LEFT JOIN store.event before ON before.month = j.month AND before.box = j.box "
            "AND before.job = j.job AND before.sequence = e.sequence - 1 "
            "WHERE j.box = %s AND j.id = %s AND e.kind = ANY (%s) ORDER BY e.sequence",
            (box, OFFICE, kinds),
        ).fetchall()
        events = []
        for *row, previous in rows:
            (event,) = stored_events(OFFICE, previous, [row])
            if isinstance(event, StoredEvent):
                events.append(event)
        office = self._connection.execute(
            "SELECT job FROM store.job WHERE box = %s AND id = %s", (box, OFFICE)
        ).fetchone()
        unproven = redactions_of(self._connection, office[0]).get(office[0], {}) if office else {}
        return roll_of(events, unproven)

    def _figures(self, figures: str, where: str, value: str) -> list[tuple[Any, ...]]:
        return self._connection.execute(
            f"SELECT bay, technician, {figures} FROM reading.summary "  # noqa: S608 - our words
            f"WHERE {where} ORDER BY moment DESC, job DESC LIMIT {JOBS_OF_FIGURES}".encode(),
            (value,),
        ).fetchall()

    def _with_words(self, typed: str, place: Place) -> Iterator[SessionHits]:
        query = asked(typed, place)
        if not query.every:
            return
        before: tuple[Any, int] = ("infinity", 1 << 62)
        looked_at = 0
        with Matching(typed, place) as matching:
            while looked_at < MOST_CANDIDATES:
                rows = self._connection.execute(
                    "SELECT job, moment FROM store.jobs_with(%s::tsquery, %s::tsquery, %s, %s, %s)",
                    (query.every, query.together, *before, CANDIDATES),
                ).fetchall()
                looked_at += len(rows)
                yield from self._hits([job for job, _ in rows], matching)
                if len(rows) < CANDIDATES:
                    return
                before = (rows[-1][1], rows[-1][0])

    def _hits(self, jobs: list[int], matching: Matching) -> Iterator[SessionHits]:
        """What these jobs hold of the words, in this order."""
        rows = self._connection.execute(
            f"SELECT told, {DIGEST} FROM unnest(%s::bigint[]) WITH ORDINALITY AS asked (job, place)"  # noqa: S608
            " JOIN reading.words USING (job) JOIN reading.job USING (job) ORDER BY place".encode(),
            (jobs,),
        )
        for told, *digest in rows:
            hits = matching.hits(json.loads(told), HITS_EACH + 1)
            if hits:
                yield SessionHits(Digest(*digest), tuple(hits[:HITS_EACH]), len(hits) > HITS_EACH)

    def _conditions(self, filters: Filters) -> tuple[str, tuple[Any, ...]]:
        parts, values = ["true"], list[Any]()
        if filters.since:
            parts.append("moment >= %s")
            values.append(_moment(filters.since))
        if filters.until:
            parts.append("moment < %s")
            values.append(_moment(filters.until, days_later=1))
        for what in ("vehicle", "bay", "technician", "result"):
            if wanted := getattr(filters, what).strip():
                if NUL in wanted:
                    # The engine's texts cannot hold it, so no name does.
                    parts.append("false")
                    continue
                parts.append(
                    f"{what} = ANY (ARRAY(SELECT name FROM reading.name WHERE what = '{what}' "  # noqa: S608
                    "AND strpos(lower(name), lower(%s)) > 0))"
                    if what != "result"
                    else "result = %s"
                )
                values.append(wanted)
        if filters.only in LEFT:
            parts.append(LEFT[filters.only])
        return " AND ".join(parts), tuple(values)


def _whole(session_id: str, job: StoredJob, rows: Sequence[Sequence[Any]]) -> Iterator[StoredEvent]:
    """The job's events; raises `RecordError` where one cannot be read."""
    for event in stored_events(session_id, job.opening, rows):
        if isinstance(event, tuple):
            raise RecordError(f"event {event[0]} of this job cannot be read")
        yield event


def _raw(opening: str, rows: Sequence[Sequence[Any]]) -> Iterator[Row]:
    """The rows as they are looked at: bytes, each with the hash before it."""
    previous = opening.encode()
    for seq, kind, at_utc, monotonic_ns, trusted, body, hashed in rows:
        yield (
            seq,
            kind.encode(),
            at_utc.encode(),
            monotonic_ns,
            int(trusted),
            body.encode(),
            previous,
            hashed.encode(),
        )
        previous = hashed.encode()


def _values(rows: Sequence[Sequence[Any]], group: int) -> Iterator[tuple[str, str, float]]:
    """(measure, group, value), the groups in order and the oldest first."""
    oldest_first = list(rows)
    oldest_first.reverse()
    for row in sorted(oldest_first, key=lambda row: str(row[group])):
        for measure, value in row[2].items():
            yield measure, row[group], value


def _moment(told: str, days_later: int = 0) -> datetime:
    try:
        return parse_rfc3339(told)
    except RecordError:
        pass
    try:
        begin = datetime.fromisoformat(day_of(told)).replace(tzinfo=UTC)
        return begin + timedelta(days=days_later)
    except OverflowError as error:
        raise CompanionError(
            f"{told!r} is a day that no job was done on", said="store-no-day", day=told
        ) from error

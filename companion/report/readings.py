"""The accepted readings of jobs as rows for a spreadsheet, each with what became of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from companion.facts.answers import Accepted
from companion.record.exported import ReadingRow
from companion.record.port import StoredEvent
from companion.report.fold import fold
from companion.report.view import Kept, SessionView


def reading_rows(events: Iterable[StoredEvent]) -> Iterator[ReadingRow]:
    """A row for every accepted reading of the jobs, in order, also for one taken back later.

    The events of a job have to lie together, in their order.
    """
    for session_id, of_session in groupby(events, key=lambda event: event.session_id):
        view = fold(session_id, of_session)
        for reading in view.readings:
            yield _row(reading, view)


def _row(reading: Kept[Accepted], view: SessionView) -> ReadingRow:
    taken, decided = reading.fact, view.decision_on(reading)
    return ReadingRow(
        session_id=view.session_id,
        seq=reading.event.seq,
        at_utc=reading.event.at_utc,
        reading_id=taken.reading_id,
        title=taken.title,
        value=taken.value,
        unit=taken.unit,
        direction=taken.direction or "",
        spoken=taken.spoken,
        u=taken.u,
        low=None if decided is None else decided.low,
        high=None if decided is None else decided.high,
        answer="" if decided is None else decided.answer,
        set_aside=_set_aside(reading),
        attempts=taken.attempts,
    )


def _set_aside(reading: Kept[Accepted]) -> str:
    if reading.measured_again:
        return f"measured again: {reading.measured_again}"
    return reading.taken_back

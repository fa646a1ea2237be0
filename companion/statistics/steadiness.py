"""Is a bay's floor, or its stand, still as it was? A chart a measure, a verdict a part.

All charts of all bays are looked at together: the chance that a shop in which nothing moved sees
any of them called changed is at most `STATED_LEVEL`, however many bays there are and however often
its readings are rounded.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from statistics import median
from typing import Literal

from companion.statistics.change_point import change_point, holm
from companion.statistics.summary import FLOOR_MEASURES, MEASURES, STAND_MEASURES
from companion.statistics.watching import LEAST_VALUES, watched

STATED_LEVEL = 0.05
"""The chance of any chart called changed in a shop at rest is at most this."""
LEVEL = 0.043
"""What adjusted p-values are held against: below the level that is stated, as a p-value out of
shuffles is itself only known to a fortieth."""
MOST_SESSIONS_CHARTED = 60
WATCH_BEGINS_ANEW_EVERY = 500

State = Literal["too few", "steady", "changed"]
_LATEST = """
    SELECT bay, name, count, id, opened_utc, value FROM (
      SELECT bay, name, session.id AS id, opened_utc, value,
        COUNT(*) OVER (PARTITION BY bay, name) AS count,
        number, ROW_NUMBER() OVER (PARTITION BY bay, name ORDER BY number DESC) AS back
      FROM measure JOIN session USING (number)
    ) WHERE back <= ? ORDER BY bay, name, number
"""
PARTS = {"floor": FLOOR_MEASURES, "stand": STAND_MEASURES}


@dataclass(frozen=True)
class Point:
    """One session's first value of a measure."""

    session_id: str
    opened_utc: str
    value: float


@dataclass(frozen=True)
class Chart:
    """One measure of one bay, its latest sessions in the order of recording.

    `skipped` counts the earlier ones; `place` is the number of points before the likeliest change;
    `adjusted_p` the chance of one as clear in a shop at rest, all its charts counted; None with too
    few points.
    """

    bay: str
    measure: str
    points: tuple[Point, ...]
    skipped: int = 0
    place: int = 0
    p_value: float | None = None
    adjusted_p: float | None = None

    @property
    def values(self) -> tuple[float, ...]:
        """The values alone."""
        return tuple(point.value for point in self.points)

    @property
    def state(self) -> State:
        """What is said of it."""
        if self.adjusted_p is None:
            return "too few"
        return "changed" if self.adjusted_p <= LEVEL else "steady"

    @property
    def levels(self) -> tuple[float, ...]:
        """The median; of a changed chart, the medians before and since."""
        if self.state != "changed":
            return (median(self.values),)
        return median(self.values[: self.place]), median(self.values[self.place :])

    @property
    def changed_at(self) -> Point | None:
        """The first session after the change."""
        return self.points[self.place] if self.state == "changed" else None


@dataclass(frozen=True)
class Part:
    """The floor or the stand of one bay: its state, and the charts that say so, earliest first."""

    bay: str
    name: str
    charts: tuple[Chart, ...]

    @property
    def sessions(self) -> int:
        """The sessions of the measure that has the most."""
        return max((len(c.points) + c.skipped for c in self.charts), default=0)

    @property
    def state(self) -> State:
        """Changed where any chart is, steady where one can tell."""
        states = {chart.state for chart in self.charts}
        return "changed" if "changed" in states else "steady" if "steady" in states else "too few"

    @property
    def changed(self) -> tuple[Chart, ...]:
        """The charts that changed, in the order in which they did."""
        return tuple(
            sorted(
                (chart for chart in self.charts if chart.state == "changed"),
                key=lambda chart: chart.points[chart.place].opened_utc,
            )
        )


@dataclass(frozen=True)
class PartTold:
    """A part in one line: `changes` are measures with the opening of the first session after."""

    bay: str
    name: str
    state: State
    sessions: int
    latest_utc: str
    changes: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Watched:
    """The latest job of a bay made the watch of one measure signal; `since` is when it began."""

    bay: str
    measure: str
    at: Point
    since: Point


def charts(store: sqlite3.Connection) -> tuple[Chart, ...]:
    """Every chart of every bay, by bay and then in the order of `MEASURES`."""
    rows = store.execute(_LATEST, (MOST_SESSIONS_CHARTED,))
    found = []
    for (bay, measure, count), kept in groupby(rows, key=lambda row: (row[0], row[1], row[2])):
        if measure in MEASURES:
            points = tuple(Point(*row[3:]) for row in kept)
            found.append(Chart(bay, measure, points, count - len(points)))
    return tuple(sorted(judged(found), key=lambda c: (c.bay, MEASURES.index(c.measure))))


def signals(store: sqlite3.Connection) -> tuple[Watched, ...]:
    """What the watch says of the latest job of each bay: nothing, mostly."""
    found = []
    for bay, measure, points in _series(store):
        # It begins at the same session for hundreds of jobs, so that each job is watched once.
        begin = max(0, len(points) // WATCH_BEGINS_ANEW_EVERY - 1) * WATCH_BEGINS_ANEW_EVERY
        for signal in watched([point.value for point in points[begin:]]):
            if begin + signal.place == len(points) - 1:
                found.append(Watched(bay, measure, points[-1], points[begin + signal.since]))
    return tuple(found)


def _series(store: sqlite3.Connection) -> Iterator[tuple[str, str, list[Point]]]:
    """Each measure of each bay with its points in the order of recording."""
    rows = store.execute(
        "SELECT bay, name, session.id, opened_utc, value FROM measure JOIN session USING (number) "
        "ORDER BY bay, name, number"
    )
    for (bay, measure), kept in groupby(rows, key=lambda row: (row[0], row[1])):
        if measure in MEASURES:
            yield bay, measure, [Point(*row[2:]) for row in kept]


def judged(found: Sequence[Chart]) -> list[Chart]:
    """The charts with their verdicts, each knowing of all the others."""
    told = [place for place, chart in enumerate(found) if len(chart.points) >= LEAST_VALUES]
    changes = [change_point(found[place].values, LEVEL / len(told)) for place in told]
    kept = list(found)
    for place, change, adjusted in zip(
        told, changes, holm([change.p_value for change in changes]), strict=True
    ):
        kept[place] = replace(
            kept[place], place=change.place, p_value=change.p_value, adjusted_p=adjusted
        )
    return kept


def told_of(part: Part) -> PartTold:
    """The part in one line."""
    return PartTold(
        part.bay,
        part.name,
        part.state,
        part.sessions,
        max((chart.points[-1].opened_utc for chart in part.charts), default=""),
        tuple(
            (chart.measure, moved.opened_utc)
            for chart in part.changed
            if (moved := chart.changed_at) is not None
        ),
    )


def parts_told(found: Iterable[Chart]) -> tuple[PartTold, ...]:
    """The floor and the stand of each bay that has a chart, each in one line."""
    return tuple(map(told_of, parts(found)))


def parts(found: Iterable[Chart]) -> tuple[Part, ...]:
    """The floor and the stand of each bay that has a chart."""
    by_bay: dict[str, list[Chart]] = defaultdict(list)
    for chart in found:
        by_bay[chart.bay].append(chart)
    return tuple(
        Part(bay, name, tuple(chart for chart in kept if chart.measure in measures))
        for bay, kept in by_bay.items()
        for name, measures in PARTS.items()
    )

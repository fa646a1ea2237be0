"""Is a bay's floor, or its stand, still as it was? A chart a measure, a verdict a part.

All charts of all bays are looked at together: the chance that a shop in which nothing moved sees
any of them called changed is at most `LEVEL`, however many bays there are and however often its
readings are rounded.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from statistics import median
from typing import Literal

from companion.review.statistics.change_point import change_point, draws_for, holm
from companion.review.statistics.summary import FLOOR_MEASURES, MEASURES, STAND_MEASURES
from companion.review.statistics.watching import LEAST_VALUES, watched

LEVEL = 0.045
"""The chance of any chart called changed in a shop at rest; with the watch, five in a hundred."""
MOST_SESSIONS_CHARTED = 60
WATCH_BEGINS_ANEW_EVERY = 500

State = Literal["too few", "steady", "changed"]
PARTS = {"floor": FLOOR_MEASURES, "stand": STAND_MEASURES}


@dataclass(frozen=True)
class Point:
    """One session's first value of a measure."""

    session_id: str
    opened_utc: str
    value: float


@dataclass(frozen=True)
class Chart:
    """One measure of one bay, its latest sessions in time order; `skipped` counts earlier ones.

    `place` is the number of points before the likeliest change; `adjusted_p` the chance of one as
    clear in a shop at rest, all its charts counted; None with too few points. `signalled` says that
    the latest session made the watch signal.
    """

    bay: str
    measure: str
    points: tuple[Point, ...]
    skipped: int = 0
    place: int = 0
    p_value: float | None = None
    adjusted_p: float | None = None
    signalled: bool = False

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

    @property
    def signalled(self) -> tuple[Chart, ...]:
        """The charts in which the latest job made the watch signal."""
        return tuple(chart for chart in self.charts if chart.signalled)


def charts(store: sqlite3.Connection) -> tuple[Chart, ...]:
    """Every chart of every bay, by bay and then in the order of `MEASURES`."""
    rows = store.execute(
        "SELECT bay, name, session.id, opened_utc, value FROM measure JOIN session USING (number) "
        "ORDER BY bay, name, opened_utc, id"
    )
    found = [
        _chart(bay, measure, [Point(*row[2:]) for row in kept])
        for (bay, measure), kept in groupby(rows, key=lambda row: (row[0], row[1]))
        if measure in MEASURES
    ]
    return tuple(sorted(judged(found), key=lambda c: (c.bay, MEASURES.index(c.measure))))


def judged(found: Sequence[Chart]) -> list[Chart]:
    """The charts with their verdicts, each knowing of all the others."""
    told = [place for place, chart in enumerate(found) if len(chart.points) >= LEAST_VALUES]
    draws = draws_for(len(told), LEVEL)
    changes = [change_point(found[place].values, draws) for place in told]
    kept = list(found)
    for place, change, adjusted in zip(
        told, changes, holm([change.p_value for change in changes]), strict=True
    ):
        kept[place] = replace(
            kept[place], place=change.place, p_value=change.p_value, adjusted_p=adjusted
        )
    return kept


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


def _chart(bay: str, measure: str, points: list[Point]) -> Chart:
    # The watch begins at the same session for hundreds of jobs, so that each job is watched once.
    begin = max(0, len(points) // WATCH_BEGINS_ANEW_EVERY - 1) * WATCH_BEGINS_ANEW_EVERY
    signals = watched([point.value for point in points[begin:]])
    shown = tuple(points[-MOST_SESSIONS_CHARTED:])
    return Chart(
        bay,
        measure,
        shown,
        len(points) - len(shown),
        signalled=any(begin + signal.place == len(points) - 1 for signal in signals),
    )

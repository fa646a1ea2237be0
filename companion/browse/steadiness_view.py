"""What the statistics page shows of drift: one table of all bays, and the charts of one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from markupsafe import Markup

from companion.browse.moments import day, day_and_time, local
from companion.browse.rendering import address
from companion.browse.units import unit_and_way, unit_of
from companion.facts.figures import Quantity
from companion.report.pictures.time_chart import Dated, time_chart
from companion.report.wording import Wording
from companion.statistics.questions import Steadiness
from companion.statistics.steadiness import Chart, PartTold
from companion.statistics.watching import LEAST_VALUES

DECIMALS = {"mm": 2, "deg": 3}


@dataclass(frozen=True)
class BayRow:
    """One bay's line of the table: its floor, its stand."""

    bay: str
    href: str
    sessions: int
    latest: str
    floor: Cell
    stand: Cell


@dataclass(frozen=True)
class Cell:
    """The state of one part, the day of its first change, and what says so."""

    state: str
    since: str = ""
    changes: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True)
class ChartView:
    """One chart with its words, and where its values stand."""

    anchor: str
    title: str
    picture: Markup
    state: str
    told: str
    values_href: str


def bay_rows(parts: Sequence[PartTold], wording: Wording) -> list[BayRow]:
    """A line for each bay, in the order of the parts."""
    rows = []
    for bay in dict.fromkeys(part.bay for part in parts):
        floor, stand = (part for part in parts if part.bay == bay)
        rows.append(
            BayRow(
                bay,
                f"{address('/statistics', bay=bay)}#charts",
                max(floor.sessions, stand.sessions),
                day(max(floor.latest_utc, stand.latest_utc)),
                _cell(floor, wording),
                _cell(stand, wording),
            )
        )
    return rows


def summed_up(found: Steadiness, wording: Wording) -> str:
    """The table in one sentence."""
    changed, unknown, parts = found.changed, found.unknown, 2 * found.bays_in_all
    if changed:
        told = wording("drift-changed", changed=changed, of=parts)
    elif unknown == parts:
        told = wording("drift-too-few", least=LEAST_VALUES)
    else:
        told = wording("drift-steady")
    if unknown and unknown < parts:
        told = f"{told} {wording('drift-unknown', unknown=unknown)}"
    return told


def chart_views(charts: Sequence[Chart], wording: Wording) -> list[ChartView]:
    """The charts of one bay."""
    # The charts of a bay are of the same jobs.
    jobs = {point.session_id: point.opened_utc for chart in charts for point in chart.points}
    places = {
        job: (local(opened_utc), day_and_time(opened_utc), address("/session", id=job))
        for job, opened_utc in jobs.items()
    }
    return [_view(chart, places, wording) for chart in charts]


def chart_values(chart: Chart, wording: Wording) -> list[tuple[str, str, str]]:
    """The values of a chart, the newest first: when, the way to the job, and the value."""
    return [
        (
            day_and_time(point.opened_utc),
            address("/session", id=point.session_id),
            _amount(chart, point.value, wording),
        )
        for point in reversed(chart.points)
    ]


def _cell(part: PartTold, wording: Wording) -> Cell:
    changes = tuple(
        (wording.title_of(measure), day(opened_utc), f"#{_anchor(measure)}")
        for measure, opened_utc in part.changes
    )
    return Cell(part.state, changes[0][1] if changes else "", changes)


def _anchor(measure: str) -> str:
    return f"drift-{measure.replace('_', '-')}"


def _view(
    chart: Chart, places: Mapping[str, tuple[datetime, str, str]], wording: Wording
) -> ChartView:
    """`places`: of each job when it was, the same in words, and where it is."""
    anchor, title = _anchor(chart.measure), wording.title_of(chart.measure)
    told = _told(chart, wording)
    points = [
        Dated(at, point.value, where, f"{when}: {_amount(chart, point.value, wording)}")
        for point in chart.points
        for at, when, where in (places[point.session_id],)
    ]
    place = chart.place if chart.state == "changed" else 0
    picture = time_chart(
        anchor,
        title,
        unit_and_way(chart.measure, wording),
        wording("chart-told", count=len(points), told=told),
        points,
        chart.levels,
        place,
        wording,
    )
    values_href = address("/statistics/values", bay=chart.bay, measure=chart.measure)
    return ChartView(anchor, title, picture, chart.state, told, values_href)


def _told(chart: Chart, wording: Wording) -> str:
    count = len(chart.points)
    levels = [_amount(chart, level, wording) for level in chart.levels]
    moved = chart.changed_at
    if moved is not None:
        last = day(chart.points[chart.place - 1].opened_utc)
        first = day(moved.opened_utc)
        when = wording("chart-on", day=first)
        if first != last:
            when = wording("chart-between", before=last, after=first)
        told = wording("chart-changed", when=when, before=levels[0], after=levels[1])
    elif chart.state == "steady":
        told = wording("chart-steady", median=levels[0])
    else:
        told = wording("chart-too-few", count=count, least=LEAST_VALUES)
    earlier = wording("chart-earlier", count=chart.skipped) if chart.skipped else ""
    return f"{told} {earlier}".strip()


def _amount(chart: Chart, value: float, wording: Wording) -> str:
    unit = unit_of(chart.measure)
    return wording.amount(Quantity(value, None, unit), chart.measure, DECIMALS.get(unit, 3))

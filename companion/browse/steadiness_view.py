"""What the statistics page shows of drift: one table of all bays, and the charts of one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from companion.browse.moments import day, day_and_time, local
from companion.browse.rendering import address
from companion.browse.units import unit_and_way, unit_of
from companion.facts.figures import Quantity
from companion.report.pictures.time_chart import Dated, time_chart
from companion.report.wording import Wording
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
    """One chart with its words, and its values, the newest first, as a way to each job."""

    anchor: str
    title: str
    picture: Markup
    state: str
    told: str
    values: tuple[tuple[str, str, str], ...]


def bay_rows(parts: Sequence[PartTold], wording: Wording) -> list[BayRow]:
    """A line for each bay, those with a change first."""
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
    return sorted(rows, key=lambda row: "changed" not in (row.floor.state, row.stand.state))


def summed_up(rows: Sequence[BayRow], wording: Wording) -> str:
    """The table in one sentence."""
    cells = [cell for row in rows for cell in (row.floor, row.stand)]
    changed = sum(cell.state == "changed" for cell in cells)
    unknown = sum(cell.state == "too few" for cell in cells)
    if changed:
        told = wording("drift-changed", changed=changed, of=len(cells))
    elif unknown == len(cells):
        told = wording("drift-too-few", least=LEAST_VALUES)
    else:
        told = wording("drift-steady")
    if unknown and unknown < len(cells):
        told = f"{told} {wording('drift-unknown', unknown=unknown)}"
    return told


def chart_views(charts: Sequence[Chart], wording: Wording) -> list[ChartView]:
    """The charts of one bay."""
    return [_view(chart, wording) for chart in charts]


def _cell(part: PartTold, wording: Wording) -> Cell:
    changes = tuple(
        (wording.title_of(measure), day(opened_utc), f"#{_anchor(measure)}")
        for measure, opened_utc in part.changes
    )
    return Cell(part.state, changes[0][1] if changes else "", changes)


def _anchor(measure: str) -> str:
    return f"drift-{measure.replace('_', '-')}"


def _view(chart: Chart, wording: Wording) -> ChartView:
    anchor, title = _anchor(chart.measure), wording.title_of(chart.measure)
    told = _told(chart, wording)
    values = tuple(
        (
            day_and_time(point.opened_utc),
            address("/session", id=point.session_id),
            _amount(chart, point.value, wording),
        )
        for point in chart.points
    )
    points = [
        Dated(local(point.opened_utc), point.value, where, f"{when}: {shown}")
        for point, (when, where, shown) in zip(chart.points, values, strict=True)
    ]
    place = chart.place if chart.state == "changed" else 0
    picture = time_chart(
        anchor,
        f"{title}, {unit_and_way(chart.measure, wording)}",
        wording("chart-told", count=len(points), told=told),
        points,
        chart.levels,
        place,
        wording,
    )
    return ChartView(anchor, title, picture, chart.state, told, values[::-1])


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

"""What the statistics page shows of drift: one table of all bays, and the charts of one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from companion.browse.moments import day, day_and_time, local
from companion.browse.rendering import address
from companion.facts.figures import Quantity
from companion.report.pictures.time_chart import Dated, time_chart
from companion.report.wording import amount, name_of, title_of, unit_sign
from companion.statistics.steadiness import Chart, Part
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


def bay_rows(parts: Sequence[Part]) -> list[BayRow]:
    """A line for each bay, those with a change first."""
    rows = []
    for bay in dict.fromkeys(part.bay for part in parts):
        floor, stand = (part for part in parts if part.bay == bay)
        points = [chart.points[-1] for part in (floor, stand) for chart in part.charts]
        rows.append(
            BayRow(
                bay,
                f"{address('/statistics', bay=bay)}#charts",
                max(floor.sessions, stand.sessions),
                day(max(point.opened_utc for point in points)),
                _cell(floor),
                _cell(stand),
            )
        )
    return sorted(rows, key=lambda row: "changed" not in (row.floor.state, row.stand.state))


def summed_up(rows: Sequence[BayRow]) -> str:
    """The table in one sentence."""
    cells = [cell for row in rows for cell in (row.floor, row.stand)]
    changed = sum(cell.state == "changed" for cell in cells)
    unknown = sum(cell.state == "too few" for cell in cells)
    if changed:
        told = f"{changed} of {len(cells)} floors and stands changed."
    elif unknown == len(cells):
        told = f"There are too few sessions to tell; {LEAST_VALUES} of a bay are needed."
    else:
        told = "No floor and no stand changed."
    if unknown and unknown < len(cells):
        told += f" For {unknown} there are too few sessions to tell."
    return told


def chart_views(charts: Sequence[Chart]) -> list[ChartView]:
    """The charts of one bay."""
    return [_view(chart) for chart in charts]


def _cell(part: Part) -> Cell:
    changes = tuple(
        (title_of(chart.measure), day(moved.opened_utc), f"#{_anchor(chart)}")
        for chart in part.changed
        if (moved := chart.changed_at) is not None
    )
    return Cell(part.state, changes[0][1] if changes else "", changes)


def _anchor(chart: Chart) -> str:
    return f"drift-{chart.measure.replace('_', '-')}"


def _view(chart: Chart) -> ChartView:
    anchor, title = _anchor(chart), title_of(chart.measure)
    told = _told(chart)
    points = [
        Dated(
            local(point.opened_utc),
            point.value,
            address("/session", id=point.session_id),
            f"{day_and_time(point.opened_utc)}: {_amount(chart, point.value)}",
        )
        for point in chart.points
    ]
    place = chart.place if chart.state == "changed" else 0
    picture = time_chart(
        anchor,
        f"{title}, {_unit(chart.measure)}",
        f"{len(points)} sessions. {told}",
        points,
        chart.levels,
        place,
    )
    values = tuple(
        (day_and_time(point.opened_utc), address("/session", id=point.session_id), shown)
        for point in reversed(chart.points)
        for shown in (_amount(chart, point.value),)
    )
    return ChartView(anchor, title, picture, chart.state, told, values)


def _told(chart: Chart) -> str:
    count = len(chart.points)
    earlier = f" {chart.skipped} earlier sessions are not shown." if chart.skipped else ""
    levels = [_amount(chart, level) for level in chart.levels]
    moved = chart.changed_at
    if moved is not None:
        last = day(chart.points[chart.place - 1].opened_utc)
        first = day(moved.opened_utc)
        when = f"on {first}" if first == last else f"between {last} and {first}"
        told = f"Changed {when}: the median went from {levels[0]} to {levels[1]}."
    elif chart.state == "steady":
        told = f"Steady: median {levels[0]}."
    else:
        told = f"Too few to tell: {count} sessions, {LEAST_VALUES} are needed."
    return told + earlier


def _amount(chart: Chart, value: float) -> str:
    unit = chart.measure.rpartition("_")[2]
    return amount(Quantity(value, None, unit), chart.measure, DECIMALS.get(unit, 3))


def _unit(measure: str) -> str:
    positive = name_of(measure).positive
    sign = unit_sign(measure.rpartition("_")[2])
    return f"{sign}, + is {positive}" if positive else sign

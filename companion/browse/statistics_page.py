"""What many sessions say together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request

from companion.browse import asked
from companion.browse.rendering import page
from companion.browse.shelf import Shelf
from companion.browse.steadiness_view import bay_rows, chart_views, summed_up
from companion.report.wording import name_of, plain_number, title_of, unit_sign, with_unit
from companion.statistics import questions
from companion.statistics.figures_check import open_summaries
from companion.statistics.questions import (
    Choice,
    HearingRate,
    Repeatability,
    StageTime,
)
from companion.statistics.small_multiples import Row, rows_picture
from companion.statistics.steadiness import STATED_LEVEL, charts, parts

MOST_GROUPS_DRAWN = 12


@dataclass(frozen=True)
class ComponentsRow:
    """One measure's line of the table of components."""

    title: str
    within: str
    between: str
    share: str
    f_ratio: str
    groups: str


def statistics(shelf: Shelf, request: Request) -> str:
    """Drift, repeatability, hearing and time for one bay, of one technician or of all."""
    with shelf.archive() as archive, open_summaries(archive) as store:
        bays, technicians = questions.bays_and_technicians(store)
        bay = asked.text(request, "bay")
        bay = bay if bay in bays else (bays[0] if bays else "")
        technician = asked.text(request, "technician")
        choice = Choice(bay, technician)
        found = charts(store)
        by_technician = questions.repeatability(store, "technician", Choice(bay=bay))
        by_bay = questions.repeatability(store, "bay", Choice(technician=technician))
        hearing = questions.hearing_rates(store, choice)
        times = questions.stage_times(store, choice)
        count = questions.session_count(store, choice)
    rows = bay_rows(parts(found))
    return page(
        "statistics.html.j2",
        title="Statistics",
        bays=bays,
        technicians=technicians,
        bay=bay,
        technician=technician,
        count=count,
        rows=rows,
        summed_up=summed_up(rows),
        percent=round(100 * STATED_LEVEL),
        charts=chart_views([chart for chart in found if chart.bay == bay]),
        repeats=[
            ("By technician, in this bay", [_components(found) for found in by_technician]),
            ("By bay and its stand", [_components(found) for found in by_bay]),
        ],
        spread_pictures=[_spread(found) for found in by_technician],
        hearing=hearing,
        hearing_pictures=_hearing_pictures(hearing),
        times_picture=_times_picture(times),
    )


def _components(found: Repeatability) -> ComponentsRow:
    parts, unit = found.components, unit_sign(found.measure.rpartition("_")[2])
    f_ratio = parts.f_ratio
    return ComponentsRow(
        title_of(found.measure),
        with_unit(f"{math.sqrt(parts.within):.3f}", unit),
        with_unit(f"{math.sqrt(parts.between):.3f}", unit),
        f"{100 * parts.share_between:.0f} %",
        f"{f_ratio:.2f} ({parts.between_df}, {parts.within_df})",
        ", ".join(f"{group.name or 'not named'} ({group.count})" for group in parts.groups[:12])
        + (f" and {len(parts.groups) - 12} more" if len(parts.groups) > 12 else ""),
    )


def _spread(found: Repeatability) -> Markup:
    rows = []
    for group in found.components.groups[:MOST_GROUPS_DRAWN]:
        spread = 2 * (group.standard_deviation or 0.0)
        told = f"{group.mean:.3f}, n {group.count}"
        low, high = group.mean - spread, group.mean + spread
        rows.append(Row(group.name or "not named", low, group.mean, high, told))
    return rows_picture(
        f"spread-{found.measure.replace('_', '-')}",
        title_of(found.measure),
        "; ".join(f"{row.name}: mean {row.told}" for row in rows),
        rows,
        unit=_unit(found.measure),
        name_width=120.0,
        width=480.0,
    )


def _hearing_pictures(rates: Sequence[HearingRate]) -> list[Markup]:
    if not rates:
        return []
    refused = [_rate_row(rate, rate.refused, rate.answers, rate.refused_interval) for rate in rates]
    denied = [
        _rate_row(rate, rate.denied, rate.answers - rate.refused, rate.denied_interval)
        for rate in rates
    ]
    return [
        rows_picture(
            name,
            title,
            "; ".join(f"{row.name}: {row.told}" for row in rows),
            rows,
            unit="% of answers",
            from_zero=True,
            name_width=130.0,
            width=480.0,
        )
        for name, title, rows in (
            ("refused", "Refused", refused),
            ("denied", "Denied when said back", denied),
        )
    ]


def _rate_row(rate: HearingRate, hits: int, trials: int, ends: tuple[float, float]) -> Row:
    share = 100 * hits / trials if trials else 0.0
    told = f"{share:.1f} % of {trials}"
    return Row(rate.noise_words, 100 * ends[0], share, 100 * ends[1], told)


def _times_picture(times: Sequence[StageTime]) -> Markup | None:
    if not times:
        return None
    rows = [
        Row(
            stage.title or "no name",
            stage.low_s / 60,
            stage.median_s / 60,
            stage.high_s / 60,
            f"{plain_number(stage.median_s / 60, 1)} min, {100 * stage.share:.0f} %",
        )
        for stage in times[:24]
    ]
    return rows_picture(
        "stage-times",
        "Minutes by stage, the longest first",
        "; ".join(f"{row.name}: {row.told}" for row in rows),
        rows,
        unit="minutes",
        from_zero=True,
    )


def _unit(measure: str) -> str:
    ending = measure.rpartition("_")[2]
    positive = name_of(measure).positive
    sign = unit_sign(ending)
    return f"{sign}, + is {positive}" if positive else sign

"""What many sessions say together."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup
from starlette.requests import Request

from companion.browse import asked
from companion.browse.listing_page import pages_of
from companion.browse.port import PageSource
from companion.browse.rendering import address
from companion.browse.steadiness_view import bay_rows, chart_values, chart_views, summed_up
from companion.browse.units import unit_and_way, unit_of
from companion.errors import RecordError
from companion.report.wording import Wording
from companion.statistics.questions import HearingRate, Repeatability, StageTime
from companion.statistics.small_multiples import Row, rows_picture
from companion.statistics.steadiness import STATED_LEVEL
from companion.statistics.summary import NOISE_STEP_DB

MOST_GROUPS_DRAWN = 12
BAYS_A_PAGE = 25


@dataclass(frozen=True)
class ComponentsRow:
    """One measure's line of the table of components."""

    title: str
    within: str
    between: str
    share: str
    f_ratio: str
    groups: str


def statistics(source: PageSource, request: Request) -> str:
    """Whether floors and stands drift: a table of the bays, and the charts of one."""
    number = asked.page_number(request)
    with source.reading() as reading:
        told = reading.steadiness(
            asked.text(request, "bay"), skip=(number - 1) * BAYS_A_PAGE, most=BAYS_A_PAGE
        )
    wording = source.wording
    pages = -(-told.bays_in_all // BAYS_A_PAGE)
    return source.page(
        "statistics.html.j2",
        here="statistics",
        title=wording("page-statistics"),
        told=told,
        rows=bay_rows(told.parts, wording),
        pages=pages_of("/statistics", {"bay": told.bay}, number, pages, number < pages),
        summed_up=summed_up(told, wording),
        percent=round(100 * STATED_LEVEL),
        charts=chart_views(told.charts, wording),
    )


def values(source: PageSource, request: Request) -> str:
    """The values of one chart, each a way to its job."""
    with source.reading() as reading:
        told = reading.steadiness(asked.text(request, "bay"), skip=0, most=0)
    measure = asked.text(request, "measure")
    chart = next((chart for chart in told.charts if chart.measure == measure), None)
    if chart is None:
        raise RecordError(
            "no such chart; choose one on the page of statistics", said="no-such-chart"
        )
    wording = source.wording
    return source.page(
        "values.html.j2",
        here="statistics",
        title=wording("values-and-jobs-of", title=wording.title_of(chart.measure)),
        bay=told.bay,
        back=address("/statistics", bay=told.bay),
        rows=chart_values(chart, wording),
    )


def repeats(source: PageSource, request: Request) -> str:
    """Repeatability, hearing and time for one bay, of one technician or of all."""
    with source.reading() as reading:
        told = reading.together(asked.text(request, "bay"), asked.text(request, "technician"))
    wording = source.wording
    return source.page(
        "repeats.html.j2",
        here="statistics",
        title=wording("page-repeats"),
        told=told,
        repeats=[
            (
                "repeats-by-technician",
                [_components(found, wording) for found in told.by_technician],
            ),
            ("repeats-by-bay", [_components(found, wording) for found in told.by_bay]),
        ],
        spread_pictures=[_spread(found, wording) for found in told.by_technician],
        hearing=[(rate, _noise(rate, wording)) for rate in told.hearing],
        hearing_pictures=_hearing_pictures(told.hearing, wording),
        times_picture=_times_picture(told.times, wording),
    )


def _components(found: Repeatability, wording: Wording) -> ComponentsRow:
    parts, unit = found.components, unit_of(found.measure)
    groups = [f"{_named(group.name, wording)} ({group.count})" for group in parts.groups]
    if len(groups) > MOST_GROUPS_DRAWN:
        more = wording("and-more", count=len(groups) - MOST_GROUPS_DRAWN)
        groups = [*groups[:MOST_GROUPS_DRAWN], more]
    return ComponentsRow(
        wording.title_of(found.measure),
        wording.with_unit(wording.number(math.sqrt(parts.within), 3), unit),
        wording.with_unit(wording.number(math.sqrt(parts.between), 3), unit),
        wording.share(100 * parts.share_between),
        f"{wording.number(parts.f_ratio, 2)} ({parts.between_df}, {parts.within_df})",
        ", ".join(groups),
    )


def _named(name: str, wording: Wording) -> str:
    return name or wording("not-named")


def _spread(found: Repeatability, wording: Wording) -> Markup:
    rows = []
    for group in found.components.groups[:MOST_GROUPS_DRAWN]:
        spread = 2 * (group.standard_deviation or 0.0)
        told = f"{wording.number(group.mean, 3)}, n {group.count}"
        low, high = group.mean - spread, group.mean + spread
        rows.append(Row(_named(group.name, wording), low, group.mean, high, told))
    return rows_picture(
        f"spread-{found.measure.replace('_', '-')}",
        wording.title_of(found.measure),
        "; ".join(wording("spread-told", name=row.name, mean=row.told) for row in rows),
        rows,
        wording=wording,
        unit=unit_and_way(found.measure, wording),
        name_width=120.0,
        width=480.0,
    )


def _hearing_pictures(rates: Sequence[HearingRate], wording: Wording) -> list[Markup]:
    if not rates:
        return []
    refused = [
        _rate_row(rate, rate.refused, rate.answers, rate.refused_interval, wording)
        for rate in rates
    ]
    denied = [
        _rate_row(rate, rate.denied, rate.answers - rate.refused, rate.denied_interval, wording)
        for rate in rates
    ]
    return [
        rows_picture(
            name,
            wording(f"hearing-{name}"),
            "; ".join(f"{row.name}: {row.told}" for row in rows),
            rows,
            wording=wording,
            unit=wording("percent-of-answers"),
            from_zero=True,
            name_width=130.0,
            width=480.0,
        )
        for name, rows in (("refused", refused), ("denied", denied))
    ]


def _rate_row(
    rate: HearingRate, hits: int, trials: int, ends: tuple[float, float], wording: Wording
) -> Row:
    share = 100 * hits / trials if trials else 0.0
    told = wording("share-of", share=wording.share(share, 1), of=trials)
    return Row(_noise(rate, wording), 100 * ends[0], share, 100 * ends[1], told)


def _noise(rate: HearingRate, wording: Wording) -> str:
    """The step of noise in words."""
    low = rate.noise_low_dbfs
    if low is None:
        return wording("noise-level-not-kept")
    ends = [wording.number(level, 0) for level in (low, low + NOISE_STEP_DB)]
    return wording("noise-from-to", low=ends[0], high=ends[1])


def _times_picture(times: Sequence[StageTime], wording: Wording) -> Markup | None:
    if not times:
        return None
    rows = [
        Row(
            stage.title or wording("not-named"),
            stage.low_s / 60,
            stage.median_s / 60,
            stage.high_s / 60,
            f"{wording.number(stage.median_s / 60, 1)} min, {wording.share(100 * stage.share)}",
        )
        for stage in times[:24]
    ]
    return rows_picture(
        "stage-times",
        wording("times-title"),
        "; ".join(f"{row.name}: {row.told}" for row in rows),
        rows,
        wording=wording,
        unit=wording("times-unit"),
        from_zero=True,
    )

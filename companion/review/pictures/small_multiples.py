"""Many small charts of one kind: values over sessions, spreads by group, rates, times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from companion.review.pictures import svg
from companion.review.statistics.control_chart import ControlChart
from companion.review.wording import plain_number

PANEL_WIDTH, PANEL_HEIGHT = 420.0, 190.0
ROW_HEIGHT = 26.0
PX_A_LETTER = 7.0


def control_picture(name: str, title: str, description: str, chart: ControlChart) -> Markup:
    """One control chart; values that complete a rule are drawn as squares."""
    flagged = {signal.place for signal in chart.signals}
    low = min(*chart.values, chart.low)
    high = max(*chart.values, chart.high)
    room = 0.08 * (high - low) or 0.01
    up = svg.Axis(low - room, high + room, PANEL_HEIGHT - 28, 34)
    across = svg.Axis(0.5, len(chart.values) + 0.5, 58, PANEL_WIDTH - 12)
    points = [(across.at(n), up.at(value)) for n, value in enumerate(chart.values, start=1)]
    band = svg.rectangle(
        (across.start_px, up.at(chart.high)),
        across.end_px - across.start_px,
        up.at(chart.low) - up.at(chart.high),
        "limits",
    )
    centre_y = up.at(chart.centre)
    return svg.picture(
        name,
        PANEL_WIDTH,
        PANEL_HEIGHT,
        title,
        description,
        svg.label((8, 20), title, "strong"),
        band,
        *_left_scale(up),
        svg.line((across.start_px, centre_y), (across.end_px, centre_y), "axis"),
        svg.path(points, "trend"),
        *(_point(point, place in flagged) for place, point in enumerate(points)),
        svg.label((across.start_px, PANEL_HEIGHT - 8), "earliest", "small"),
        svg.label((across.end_px, PANEL_HEIGHT - 8), "latest", "small", "end"),
    )


def _left_scale(up: svg.Axis) -> list[Markup]:
    ticks = up.ticks(4)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    places = next((n for n in range(4) if abs(step * 10**n - round(step * 10**n)) < 1e-6), 4)
    return [
        svg.label((52, up.at(tick) + 4), plain_number(tick, places), "small", "end")
        for tick in ticks
    ]


def _point(at: svg.Point, is_flagged: bool) -> Markup:
    if is_flagged:
        return svg.rectangle((at[0] - 4, at[1] - 4), 8, 8, "flagged")
    return svg.dot(at, 2.6, "noise-dot")


@dataclass(frozen=True)
class Row:
    """One line of a picture: a name, a middle with a range about it, and words at its end."""

    name: str
    low: float
    middle: float
    high: float
    told: str


def rows_picture(
    name: str,
    title: str,
    description: str,
    rows: Sequence[Row],
    *,
    unit: str,
    from_zero: bool = False,
    name_width: float = 190.0,
    width: float = 760.0,
) -> Markup:
    """Rows under one scale: a bar from low to high with a mark at the middle."""
    lows, highs = [row.low for row in rows], [row.high for row in rows]
    low = 0.0 if from_zero else min(lows)
    high = max(highs)
    room = 0.05 * (high - low) or 0.01
    across = svg.Axis(low - (0 if from_zero else room), high + room, name_width, width - 150)
    bottom = 40 + ROW_HEIGHT * len(rows)
    ticks = across.ticks(6)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    places = next((n for n in range(5) if abs(step * 10**n - round(step * 10**n)) < 1e-6), 5)
    grid = [
        part
        for tick in ticks
        for part in (
            svg.line((across.at(tick), 34), (across.at(tick), bottom), "grid"),
            svg.label(
                (across.at(tick), bottom + 16), plain_number(tick, places), "small", "middle"
            ),
        )
    ]
    return svg.picture(
        name,
        width,
        bottom + 26,
        title,
        description,
        svg.label((8, 20), title, "strong"),
        svg.label((width - 142, bottom + 16), unit, "small"),
        *grid,
        *(_row(row, 40 + ROW_HEIGHT * (place + 0.5), across) for place, row in enumerate(rows)),
    )


def _row(row: Row, y: float, across: svg.Axis) -> Markup:
    left, right = across.at(row.low), across.at(row.high)
    return svg.element(
        "g",
        svg.label(
            (across.start_px - 10, y + 4),
            shortened(row.name, int(across.start_px / PX_A_LETTER)),
            "small",
            "end",
        ),
        svg.rectangle((left, y - 5), max(right - left, 1.0), 10, "spread", 2),
        svg.rectangle((across.at(row.middle) - 1.5, y - 8), 3, 16, "middle"),
        svg.label((across.end_px + 10, y + 4), row.told, "small"),
    )


def shortened(told: str, most: int) -> str:
    """The text, cut with a sign where it is longer than that."""
    return told if len(told) <= most else told[: most - 1] + "…"

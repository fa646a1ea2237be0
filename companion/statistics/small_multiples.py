"""Many small charts of one kind: spreads by group, rates, times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from companion.report.pictures import svg
from companion.report.wording import Wording

ROW_HEIGHT = 26.0
PX_A_LETTER = 7.0


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
    wording: Wording,
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
                (across.at(tick), bottom + 16), wording.number(tick, places), "small", "middle"
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

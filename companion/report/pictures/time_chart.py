"""Values over the days on which they were measured, each a way to its job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from markupsafe import Markup

from companion.report.pictures import svg
from companion.report.wording import Wording

WIDTH, HEIGHT = 420.0, 214.0
LEFT, RIGHT, TOP, BOTTOM = 58.0, WIDTH - 14, 48.0, HEIGHT - 30
DAYS_BETWEEN_TICKS = (1, 2, 4, 7, 14, 28, 56, 91, 182, 365, 730, 1825, 3650)
MOST_TICKS = 4
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Dated:
    """One point: when (in the reader's own time), what, where it leads and what it says."""

    at: datetime
    value: float
    href: str
    told: str


def time_chart(
    name: str,
    title: str,
    scale: str,
    description: str,
    points: Sequence[Dated],
    levels: Sequence[float],
    place: int,
    wording: Wording,
) -> Markup:
    """The points, and the level of them all or (two) before and from point number `place` on.

    `scale`: the unit, and which way is positive; on a line of its own, for want of room.
    """
    values = [point.value for point in points]
    room = 0.1 * (max(values) - min(values)) or abs(values[0]) * 0.01 or 0.01
    up = svg.Axis(min(values) - room, max(values) + room, BOTTOM, TOP)
    first, last = points[0].at, max(points[-1].at, points[0].at + timedelta(hours=1))
    across = svg.Axis(first.timestamp(), last.timestamp(), LEFT + 6, RIGHT - 6)
    moved = len(levels) > 1
    edge = (
        (across.at(points[place - 1].at.timestamp()) + across.at(points[place].at.timestamp())) / 2
        if moved
        else RIGHT
    )
    ends = ((LEFT, edge), (edge, RIGHT)) if moved else ((LEFT, RIGHT),)
    return svg.element(
        "svg",
        svg.element("title", f"{title}, {scale}", id=f"{name}-title"),
        svg.element("desc", description, id=f"{name}-desc"),
        svg.label((8, 20), title, "strong"),
        svg.label((8, 36), scale, "small"),
        *_value_scale(up, wording),
        *_days(first, last, across),
        *(
            svg.line((start, up.at(level)), (end, up.at(level)), "level")
            for level, (start, end) in zip(levels, ends, strict=True)
        ),
        *([svg.line((edge, TOP), (edge, BOTTOM), "moved")] if moved else []),
        *(
            _point(point, (across.at(point.at.timestamp()), up.at(point.value)), n >= place > 0)
            for n, point in enumerate(points)
        ),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {WIDTH:g} {HEIGHT:g}",
        role="group",
        aria_labelledby=f"{name}-title {name}-desc",
        class_="picture",
    )


def _point(point: Dated, at: svg.Point, is_after: bool) -> Markup:
    """A point with room for a finger; the table of the values is the keyboard's way."""
    shown = (
        svg.rectangle((at[0] - 3.5, at[1] - 3.5), 7, 7, "flagged reach")
        if is_after
        else svg.dot(at, 3, "noise-dot reach")
    )
    return svg.element("a", svg.element("title", point.told), shown, href=point.href, tabindex=-1)


def _value_scale(up: svg.Axis, wording: Wording) -> list[Markup]:
    ticks = up.ticks(4)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else 1.0
    places = next((n for n in range(4) if abs(step * 10**n - round(step * 10**n)) < 1e-6), 4)
    return [
        part
        for tick in ticks
        for part in (
            svg.line((LEFT, up.at(tick)), (RIGHT, up.at(tick)), "grid"),
            svg.label((LEFT - 6, up.at(tick) + 4), wording.number(tick, places), "small", "end"),
        )
    ]


def _days(first: datetime, last: datetime, across: svg.Axis) -> list[Markup]:
    """Ticks at midnights, so few that their dates stand beside each other."""
    midnight = first.replace(hour=0, minute=0, second=0, microsecond=0) + DAY
    count = max(0, (last - midnight) // DAY + 1)
    step = next((n for n in DAYS_BETWEEN_TICKS if count <= n * MOST_TICKS), count or 1)
    ticks = [midnight + n * DAY for n in range(0, count, step)]
    if not ticks:
        return [svg.label((LEFT, HEIGHT - 10), f"{first:%Y-%m-%d}", "small")]
    return [
        part
        for tick in ticks
        for x in (across.at(tick.timestamp()),)
        for part in (
            svg.line((x, BOTTOM), (x, BOTTOM + 5), "axis"),
            svg.label(
                (min(max(x, LEFT + 26), RIGHT - 32), HEIGHT - 10),
                f"{tick:%Y-%m-%d}",
                "small",
                "middle",
            ),
        )
    ]

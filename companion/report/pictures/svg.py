"""Small helpers to write SVG: every text and attribute is escaped here, nowhere else."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from markupsafe import Markup, escape

Point = tuple[float, float]


def element(name: str, *children: object, **attributes: object) -> Markup:
    """One element. `class_` becomes class, other underscores become hyphens, floats are short."""
    told = "".join(
        [
            f' {_attribute(key)}="{_told(value)}"'
            for key, value in attributes.items()
            if value is not None
        ]
    )
    inside = "".join([escape(child) for child in children])
    return Markup(f"<{name}{told}>{inside}</{name}>")  # noqa: S704 - every part is escaped above


@cache
def _attribute(key: str) -> str:
    return key.rstrip("_").replace("_", "-")


def _told(value: object) -> str:
    # Numbers have nothing to escape, and there are thousands of them in a picture.
    return _short(value) if isinstance(value, float | int) else escape(value)


def _short(value: object) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)


def picture(
    name: str, width: float, height: float, title: str, description: str, *children: object
) -> Markup:
    """A whole picture with its title and description for those who do not see it."""
    return element(
        "svg",
        element("title", title, id=f"{name}-title"),
        element("desc", description, id=f"{name}-desc"),
        *children,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {width:g} {height:g}",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
        class_="picture",
    )


def line(start: Point, end: Point, class_: str) -> Markup:
    """A straight line."""
    return element("line", x1=start[0], y1=start[1], x2=end[0], y2=end[1], class_=class_)


def path(points: Iterable[Point], class_: str, closed: bool = False) -> Markup:
    """A line through the points."""
    drawn = "M" + " L".join(f"{_short(float(x))},{_short(float(y))}" for x, y in points)
    return element("path", d=drawn + (" Z" if closed else ""), class_=class_)


def rectangle(corner: Point, width: float, height: float, class_: str, radius: float = 0) -> Markup:
    """A rectangle from its upper left corner."""
    return element(
        "rect", x=corner[0], y=corner[1], width=width, height=height, rx=radius, class_=class_
    )


def dot(centre: Point, radius: float, class_: str) -> Markup:
    """A filled circle."""
    return element("circle", cx=centre[0], cy=centre[1], r=radius, class_=class_)


def label(
    at: Point, told: str, class_: str = "", anchor: str = "start", turn_deg: float | None = None
) -> Markup:
    """Text; `anchor` is start, middle or end."""
    return element(
        "text",
        told,
        x=at[0],
        y=at[1],
        text_anchor=anchor,
        class_=class_ or None,
        transform=None if turn_deg is None else f"rotate({turn_deg:g} {at[0]:g} {at[1]:g})",
    )


def turned(point: Point, about: Point, clockwise_deg: float) -> Point:
    """The point turned clockwise on the page (whose y runs down) about another."""
    cosine, sine = math.cos(math.radians(clockwise_deg)), math.sin(math.radians(clockwise_deg))
    x, y = point[0] - about[0], point[1] - about[1]
    return (about[0] + x * cosine - y * sine, about[1] + x * sine + y * cosine)


@dataclass(frozen=True)
class Axis:
    """A straight scale from values to places on the page."""

    low: float
    high: float
    start_px: float
    end_px: float

    def at(self, value: float) -> float:
        """The place of a value."""
        share = (value - self.low) / (self.high - self.low)
        return self.start_px + share * (self.end_px - self.start_px)

    def ticks(self, about: int = 5) -> list[float]:
        """Round values along the scale, about so many."""
        step = round_step((self.high - self.low) / about)
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [place * step for place in range(first, last + 1)]


def round_step(least: float) -> float:
    """The smallest of 1, 2, 5, 10, 20, ... (and their fractions) that is not below `least`."""
    if least <= 0 or not math.isfinite(least):
        return 1.0
    power = 10.0 ** math.floor(math.log10(least))
    return next(step * power for step in (1, 2, 5, 10) if step * power >= least * (1 - 1e-9))


def round_factor(most: float, largest: float) -> int:
    """The largest of 1, 2, 5, 10, 20, ... up to `largest` that is not above `most`."""
    steps = [head * 10**power for power in range(4) for head in (1, 2, 5)]
    return max([step for step in steps if step <= min(most, largest)], default=1)

"""Where the aim is inside its limits: a window with the limits as its frame."""

from __future__ import annotations

from markupsafe import Markup

from companion.display.moment import AimShown
from companion.language.words import Words
from companion.report.pictures import svg

WIDTH, HEIGHT = 800.0, 700.0
CENTRE, HALF = (400.0, 270.0), 190.0
DRAWN_AT_MOST = 1.3
"""An aim far outside is drawn at the edge of the picture: its figure says where it is."""


def aim_picture(aim: AimShown, words: Words) -> Markup:
    """The aim as a cross in the window of the limits, doubt drawn as a ring of twice its size."""
    yaw, elevation = aim.yaw.value or 0.0, aim.elevation.value or 0.0
    # As the driver sees it: left on the left, up on top.
    x = CENTRE[0] - _share(yaw, aim.yaw_tolerance_deg) * HALF
    y = CENTRE[1] - _share(elevation, aim.elevation_tolerance_deg) * HALF
    figures = (
        words("picture-sideways", amount=words.angle(aim.yaw, "left", "right")),
        words("picture-height", amount=words.angle(aim.elevation, "up", "down")),
    )
    limits = words(
        "picture-limits",
        yaw=words.amount(f"{aim.yaw_tolerance_deg:g}", "deg", ""),
        elevation=words.amount(f"{aim.elevation_tolerance_deg:g}", "deg", ""),
    )
    ring = svg.element(
        "ellipse",
        cx=x,
        cy=y,
        rx=max(16.0, 2 * (aim.yaw.u or 0) / aim.yaw_tolerance_deg * HALF),
        ry=max(16.0, 2 * (aim.elevation.u or 0) / aim.elevation_tolerance_deg * HALF),
        class_="ring",
    )
    return svg.picture(
        "aim",
        WIDTH,
        HEIGHT,
        words("picture-aim"),
        f"{'; '.join(figures)}; {limits}",
        svg.label((CENTRE[0], 34), words("picture-as-the-driver-sees"), "seen", "middle"),
        svg.rectangle((CENTRE[0] - HALF, CENTRE[1] - HALF), 2 * HALF, 2 * HALF, "window"),
        svg.line((CENTRE[0] - HALF, CENTRE[1]), (CENTRE[0] + HALF, CENTRE[1]), "axis"),
        svg.line((CENTRE[0], CENTRE[1] - HALF), (CENTRE[0], CENTRE[1] + HALF), "axis"),
        ring,
        svg.line((x - 34, y), (x + 34, y), "cross"),
        svg.line((x, y - 34), (x, y + 34), "cross"),
        svg.label((CENTRE[0] - HALF - 18, CENTRE[1] + 12), words("picture-left"), "side", "end"),
        svg.label((CENTRE[0] + HALF + 18, CENTRE[1] + 12), words("picture-right"), "side"),
        svg.label((CENTRE[0], 508), limits, "seen", "middle"),
        svg.label((CENTRE[0], 588), figures[0], "figure", "middle"),
        svg.label((CENTRE[0], 668), figures[1], "figure", "middle"),
    )


def _share(value: float, tolerance: float) -> float:
    return max(-DRAWN_AT_MOST, min(DRAWN_AT_MOST, value / tolerance))

"""Where the aim is inside its limits: a window with the limits as its frame."""

from __future__ import annotations

from markupsafe import Markup

from companion.display.moment import AimShown
from companion.review.pictures import svg
from companion.review.wording import amount

WIDTH, HEIGHT = 800.0, 700.0
CENTRE, HALF = (400.0, 270.0), 190.0
DRAWN_AT_MOST = 1.3
"""An aim far outside is drawn at the edge of the picture: its figure says where it is."""


def aim_picture(aim: AimShown) -> Markup:
    """The aim as a cross in the window of the limits, doubt drawn as a ring of twice its size."""
    yaw, elevation = aim.yaw.value or 0.0, aim.elevation.value or 0.0
    # As the driver sees it: left on the left, up on top.
    x = CENTRE[0] - _share(yaw, aim.yaw_tolerance_deg) * HALF
    y = CENTRE[1] - _share(elevation, aim.elevation_tolerance_deg) * HALF
    figures = (
        f"sideways {amount(aim.yaw, 'aim_yaw_deg', 2)}",
        f"height {amount(aim.elevation, 'aim_elevation_deg', 2)}",
    )
    limits = (
        f"limits ±{aim.yaw_tolerance_deg:g}° sideways, ±{aim.elevation_tolerance_deg:g}° height"
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
        "The aim within its limits",
        f"{'; '.join(figures)}; {limits}",
        svg.label((CENTRE[0], 34), "As the driver sees it", "seen", "middle"),
        svg.rectangle((CENTRE[0] - HALF, CENTRE[1] - HALF), 2 * HALF, 2 * HALF, "window"),
        svg.line((CENTRE[0] - HALF, CENTRE[1]), (CENTRE[0] + HALF, CENTRE[1]), "axis"),
        svg.line((CENTRE[0], CENTRE[1] - HALF), (CENTRE[0], CENTRE[1] + HALF), "axis"),
        ring,
        svg.line((x - 34, y), (x + 34, y), "cross"),
        svg.line((x, y - 34), (x, y + 34), "cross"),
        svg.label((CENTRE[0] - HALF - 18, CENTRE[1] + 12), "left", "side", "end"),
        svg.label((CENTRE[0] + HALF + 18, CENTRE[1] + 12), "right", "side"),
        svg.label((CENTRE[0], 508), limits, "seen", "middle"),
        svg.label((CENTRE[0], 588), figures[0], "figure", "middle"),
        svg.label((CENTRE[0], 668), figures[1], "figure", "middle"),
    )


def _share(value: float, tolerance: float) -> float:
    return max(-DRAWN_AT_MOST, min(DRAWN_AT_MOST, value / tolerance))

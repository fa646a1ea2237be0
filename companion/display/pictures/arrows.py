"""Fat arrows, seen from four metres: a shaft, a head and a dark edge, never colour alone."""

from __future__ import annotations

import math

from markupsafe import Markup

from companion.report.pictures import svg

SHAFT, HEAD_WIDTH, HEAD_LENGTH = 22.0, 66.0, 52.0


def straight(tail: svg.Point, tip: svg.Point) -> Markup:
    """An arrow from tail to tip."""
    length = math.hypot(tip[0] - tail[0], tip[1] - tail[1])
    along = ((tip[0] - tail[0]) / length, (tip[1] - tail[1]) / length)
    across = (-along[1], along[0])
    neck = length - HEAD_LENGTH

    def at(forward: float, aside: float) -> svg.Point:
        return (
            tail[0] + along[0] * forward + across[0] * aside,
            tail[1] + along[1] * forward + across[1] * aside,
        )

    half, head = SHAFT / 2, HEAD_WIDTH / 2
    outline = [
        *(at(0, half), at(neck, half), at(neck, head), at(length, 0)),
        *(at(neck, -head), at(neck, -half), at(0, -half)),
    ]
    return svg.path(outline, "arrow", closed=True)


def spiral(
    centre: svg.Point, outer: float, inner: float, turns: float
) -> tuple[Markup, Markup, Markup]:
    """An arrow of more than one turn from outside inwards; clockwise counts positive."""
    steps = int(abs(turns) * 60)

    def at(share: float) -> svg.Point:
        radius = outer - (outer - inner) * share
        return svg.turned((centre[0], centre[1] - radius), centre, 360.0 * turns * share)

    end, before = at(1.0), at(1.0 - 0.02 / abs(turns))
    heading = math.atan2(end[1] - before[1], end[0] - before[0])

    def off(length: float, angle: float) -> svg.Point:
        return (end[0] + length * math.cos(angle), end[1] + length * math.sin(angle))

    line = [at(step / steps) for step in range(steps + 1)]
    head = [off(30, heading), off(26, heading + 2.0), off(26, heading - 2.0)]
    return (
        svg.path(line, "spiral-edge"),
        svg.path(line, "spiral"),
        svg.path(head, "arrow", closed=True),
    )


def round_about(centre: svg.Point, radius: float, start_deg: float, sweep_deg: float) -> Markup:
    """An arrow along a circle; angles are clockwise from the top, on the page."""
    steps = max(12, int(abs(sweep_deg) / 4))
    head_deg = math.degrees(HEAD_LENGTH / radius) * math.copysign(1, sweep_deg)
    neck_deg = start_deg + sweep_deg - head_deg

    def at(distance: float, angle_deg: float) -> svg.Point:
        return svg.turned((centre[0], centre[1] - distance), centre, angle_deg)

    angles = [start_deg + (neck_deg - start_deg) * step / steps for step in range(steps + 1)]
    half, head = SHAFT / 2, HEAD_WIDTH / 2
    outline = [
        *(at(radius + half, angle) for angle in angles),
        at(radius + head, neck_deg),
        at(radius, start_deg + sweep_deg),
        at(radius - head, neck_deg),
        *(at(radius - half, angle) for angle in reversed(angles)),
    ]
    return svg.path(outline, "arrow", closed=True)

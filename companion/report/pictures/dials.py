"""The screw turns of each round as dials: how far, and which way round."""

from __future__ import annotations

import math
from fractions import Fraction

from markupsafe import Markup

from companion.facts.aim import ScrewPlan
from companion.report.pictures import svg
from companion.report.view import SessionView
from companion.report.wording import Wording

DIAL_WIDTH, DIAL_HEIGHT, RADIUS = 156.0, 180.0, 38.0
ARC_POINTS_PER_TURN = 48


def dials(view: SessionView, wording: Wording) -> tuple[Markup, ...]:
    """One picture a round, one dial a screw."""
    return tuple(
        _round(plan, view, place, wording) for place, plan in enumerate(view.screw_plans, start=1)
    )


def _round(plan: ScrewPlan, view: SessionView, place: int, wording: Wording) -> Markup:
    in_file_order = list(view.opened.screw_names)
    turned = sorted(
        plan.turns.items(),
        key=lambda turn: in_file_order.index(turn[0]) if turn[0] in in_file_order else 99,
    )
    named = [(wording.screw(screw_id), turns, wording.turns(turns)) for screw_id, turns in turned]
    told = "; ".join(f"{name}: {in_words}" for name, _, in_words in named)
    drawn = [
        _dial(name, turns, DIAL_WIDTH * column, wording)
        for column, (name, turns, _) in enumerate(named)
    ]
    title = wording("dials-title", round=plan.round)
    width = DIAL_WIDTH * max(1, len(plan.turns))
    return svg.picture(
        f"dials-{place}",
        width,
        DIAL_HEIGHT,
        title,
        told or wording("not-turned"),
        svg.label((10, 20), title, "strong"),
        *drawn,
    )


def _dial(name: str, turns: Fraction, left: float, wording: Wording) -> Markup:
    # Which way stands below how far: in some languages both do not fit beside each other.
    below = [wording("not-turned")]
    if turns:
        way = "clockwise" if turns > 0 else "anticlockwise"
        below = [wording.words.turns(turns), wording.words.direction(way)]
    centre = (left + DIAL_WIDTH / 2, 76.0)
    ticks = [
        svg.line(
            svg.turned((centre[0], centre[1] - RADIUS - 2), centre, quarter * 90.0),
            svg.turned((centre[0], centre[1] - RADIUS - 8), centre, quarter * 90.0),
            "tick",
        )
        for quarter in range(4)
    ]
    return svg.element(
        "g",
        svg.dot(centre, RADIUS, "dial"),
        *ticks,
        *(_turn_arrow(centre, float(turns)) if turns else ()),
        svg.label((centre[0], DIAL_HEIGHT - 44), name, "", "middle"),
        *(
            svg.label((centre[0], DIAL_HEIGHT - 26 + 16 * row), told, "small strong", "middle")
            for row, told in enumerate(below)
        ),
    )


def _turn_arrow(centre: svg.Point, turns: float) -> tuple[Markup, ...]:
    """A spiral from twelve o'clock inwards, one ring a turn, with a head at its end."""
    steps = max(8, math.ceil(abs(turns) * ARC_POINTS_PER_TURN))
    outer, per_turn = RADIUS - 7, min(9.0, (RADIUS - 16) / max(1.0, abs(turns)))

    def at(share: float) -> svg.Point:
        radius = outer - per_turn * abs(turns) * share
        return svg.turned((centre[0], centre[1] - radius), centre, 360.0 * turns * share)

    end = at(1.0)
    before = at(1.0 - min(1.0, 0.04 / abs(turns)))
    heading = math.atan2(end[1] - before[1], end[0] - before[0])

    def off(length: float, angle: float) -> svg.Point:
        return (end[0] + length * math.cos(angle), end[1] + length * math.sin(angle))

    head = [off(8, heading), off(7, heading + 2.4), off(7, heading - 2.4)]
    return (
        svg.path([at(step / steps) for step in range(steps + 1)], "turn"),
        svg.path(head, "turn-head", closed=True),
    )

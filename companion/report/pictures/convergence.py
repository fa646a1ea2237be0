"""The aim round by round, with its doubt and the entered limits."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from companion.facts.figures import Quantity
from companion.report.pictures import svg
from companion.report.tables import when
from companion.report.view import SessionView
from companion.report.wording import Wording

WIDTH, PANEL_WIDTH, HEIGHT = 760.0, 380.0, 226.0
AXES = ("aim_yaw_deg", "aim_elevation_deg")


def convergence(view: SessionView, wording: Wording) -> Markup | None:
    """Two panels, sideways and up or down; None when no aim was worked out."""
    panels, told = [], []
    for place, name in enumerate(AXES):
        known = [entry for entry in view.aim_history(name) if entry[1].value is not None]
        if known:
            panels.append(_panel(view, name, known, place * PANEL_WIDTH, wording))
            rounds = ", ".join(
                f"{wording.amount(aim, name)} {when(number, wording)}" for number, aim in known
            )
            told.append(f"{wording.title_of(name)}: {rounds}")
    if not panels:
        return None
    note = wording("rounds-note")
    return svg.picture(
        "rounds",
        WIDTH,
        HEIGHT,
        wording("rounds-title"),
        "; ".join(told) + ". " + note,
        *panels,
        svg.label((16, HEIGHT - 10), note, "small"),
    )


def _panel(
    view: SessionView,
    name: str,
    aims: Sequence[tuple[int, Quantity]],
    left: float,
    wording: Wording,
) -> Markup:
    known = wording.name_of(name)
    low, high = view.aim_limits(name)
    reach = [abs(aim.value or 0) + 2 * (aim.u or 0) for _, aim in aims]
    reach += [abs(limit) for limit in (low, high) if limit is not None]
    most = max(max(reach) * 1.15, 0.01)
    up = svg.Axis(-most, most, HEIGHT - 64, 44)
    across = svg.Axis(0.5, len(aims) + 0.5, left + 64, left + PANEL_WIDTH - 20)
    return svg.element(
        "g",
        svg.label((left + 16, 24), known.title, "strong"),
        _limits_band(across, up, low, high),
        _scale(across, up, left, wording),
        svg.label((across.end_px - 6, up.end_px + 12), known.positive, "small halo", "end"),
        svg.label((across.end_px - 6, up.start_px - 5), known.negative, "small halo", "end"),
        svg.path(
            [(across.at(n), up.at(a.value or 0)) for n, (_, a) in enumerate(aims, 1)], "trend"
        ),
        *(
            _aim(across.at(n), _named(after, wording), wording.amount(aim, name), aim, up, n)
            for n, (after, aim) in enumerate(aims, 1)
        ),
    )


def _limits_band(
    across: svg.Axis, up: svg.Axis, low: float | None, high: float | None
) -> Markup | str:
    if low is None or high is None:
        return ""
    top, bottom = up.at(high), up.at(low)
    width = across.end_px - across.start_px
    return svg.rectangle((across.start_px, top), width, bottom - top, "limits")


def _scale(across: svg.Axis, up: svg.Axis, left: float, wording: Wording) -> Markup:
    lines = []
    for tick in up.ticks(7):
        y = up.at(tick)
        places = 0 if up.high >= 5 else 1 if up.high >= 0.5 else 2
        class_ = "axis" if tick == 0 else "grid"
        lines.append(svg.line((across.start_px, y), (across.end_px, y), class_))
        told = wording.with_unit(wording.number(abs(tick), places), "deg")
        lines.append(svg.label((left + 56, y + 4), told, "small", "end"))
    return svg.element("g", *lines)


def _named(after: int, wording: Wording) -> str:
    """What stands below a look at the aim: the round before it."""
    return wording("rounds-round", round=after) if after else when(after, wording)


def _aim(x: float, below: str, told: str, aim: Quantity, up: svg.Axis, number: int) -> Markup:
    """One look at the aim; figures stand by turns above and below, so that they do not meet."""
    value, spread = aim.value or 0.0, 2 * (aim.u or 0.0)
    y = up.at(value)
    top, bottom = up.at(value + spread), up.at(value - spread)
    figure_y = bottom + 16 if number % 2 == 0 else top - 8
    return svg.element(
        "g",
        svg.line((x, top), (x, bottom), "bar"),
        svg.line((x - 6, top), (x + 6, top), "bar"),
        svg.line((x - 6, bottom), (x + 6, bottom), "bar"),
        svg.dot((x, y), 5, "reading"),
        svg.label((x, figure_y), told, "small halo", "middle"),
        svg.label((x, up.start_px + 18), below, "small", "middle"),
    )
